"""Charts of bags in files of their own: trucks name them, and all that is done with files is done with them."""

import pytest

from planner import open_folder, read_truck
from planner.records import BadInput
from planner.store import BAG, TRUCK, Store, StoreError
from planner.store.checking import check_files
from planner.store.transfer.export import export_all, export_profiles
from planner.store.transfer.import_zip import import_files, take_back
from planner.store.transfer.preview import preview_zip
from planner.store.transfer.zip_safety import open_zip, pack_files
from tests.store.conftest import TWIN

NAMED = '[rear.bag]\nchart = "twin"   # the maker\'s\nfitted_height = "150 mm"\nvolume = "5 L"\n'


@pytest.fixture
def charted(folder, truck_text):
    """The folder with a truck whose rear bags have a chart of their own."""
    start, rest = truck_text.split("[rear.bag]")
    (folder / "trucks/flatbed.toml").write_text(f"{start}{NAMED}\n[[hitches]]{rest.split('[[hitches]]')[1]}")
    (folder / "bags").mkdir()
    (folder / "bags/twin.toml").write_text(TWIN)
    return folder


@pytest.fixture
def store(charted):
    return Store(charted)


def lines(problems):
    return [one.line() for one in problems]


def test_a_truck_is_read_with_its_chart(store, charted):
    assert store.bags() == ["twin"]
    assert store.check() == []
    truck = store.read_outfit("wood-lot").truck
    assert truck.rear.bag.pressures == pytest.approx((2e5, 4e5, 6e5))
    assert truck == store.read_truck("flatbed") == read_truck(charted / "trucks/flatbed.toml")
    assert not store.read(TRUCK, "flatbed").rear.bag.whole
    assert open_folder(charted).read_truck("flatbed").to_toml() == store.read(TRUCK, "flatbed").to_toml()


def test_a_chart_that_is_not_there_is_told_with_the_nearest(store, charted):
    (charted / "bags/twin.toml").rename(charted / "bags/twins.toml")
    told = 'rear.bag.chart: no bag has that name, got "twin": did you mean twins?'
    assert lines(store.check()) == [f"trucks/flatbed.toml: {told}"]
    with pytest.raises(BadInput, match=r"rear\.bag\.chart: no bag has that name"):
        store.read_outfit("wood-lot")
    truck = charted / "trucks/flatbed.toml"
    assert lines(check_files(store, [truck])) == [f"{truck}: {told}"]


def test_a_damaged_chart_is_told_as_its_own(store, charted):
    chart = charted / "bags/twin.toml"
    chart.write_text(TWIN.replace("12400", "5400"))
    told = 'load[1][1]: must be > 8000 N, or more pressure would carry less load (at "2 bar" it is "6000 N")'
    assert all(told in line for line in (*lines(store.check()), *lines(check_files(store, [chart]))))
    assert lines(store.check())[0].startswith("bags/twin.toml: ")


def test_a_chart_outside_a_folder_is_known_by_its_fields(store, tmp_path):
    (tmp_path / "sheet.toml").write_text(TWIN)
    assert check_files(store, [tmp_path / "sheet.toml"]) == []


def test_a_chart_in_use_is_not_deleted(store, charted):
    with pytest.raises(StoreError, match=r"bags/twin.toml: is used by truck flatbed: choose another bag there"):
        store.delete("twin", BAG)
    text = (charted / "trucks/flatbed.toml").read_text()
    (charted / "trucks/flatbed.toml").write_text(text.replace("gvwr", "gwvr"))  # damaged, and seems to name it
    with pytest.raises(StoreError, match=r"is used by truck flatbed"):
        store.delete("twin", BAG)
    (charted / "trucks/flatbed.toml").write_text(text.replace('chart = "twin"', 'chart = "other"'))
    receipt = store.delete("twin", BAG)
    assert [one.receipt.kind.name for one in store.binned()] == ["bag"]
    assert store.restore(receipt) == "twin"
    assert (charted / "bags/twin.toml").read_text() == TWIN


def test_trucks_follow_a_chart_that_is_renamed_and_keep_their_comments(store, charted):
    assert store.rename("twin", "Rear pair", BAG) == "rear-pair"
    text = (charted / "trucks/flatbed.toml").read_text()
    assert 'chart = "rear-pair"   # the maker\'s' in text
    assert store.check() == []
    store.rename("rear-pair", "Twin", BAG)
    assert (charted / "trucks/flatbed.toml").read_text() == text.replace("rear-pair", "twin")
    assert (charted / "bags/twin.toml").read_text() == TWIN


def test_a_truck_in_the_bin_follows_too(store, charted):
    (charted / "wood-lot.toml").unlink()
    receipt = store.delete("flatbed", TRUCK)
    store.rename("twin", "Rear pair", BAG)
    store.restore(receipt)
    assert store.read_truck("flatbed").rear.bag.chart == "rear-pair"


def test_a_changed_row_keeps_the_rest_of_the_file(store, charted):
    chart = store.read(BAG, "twin")
    store.write(chart.replaced(load_at=["2 bar", "4 bar", "6.2 bar"]), "twin")
    changed = (charted / "bags/twin.toml").read_text()
    assert changed == TWIN.replace('"6 bar"', '"6.2 bar"')
    loads = [list(row) for row in chart.load]
    loads[1][1] = "12500 N"
    store.write(chart.replaced(load=loads), "twin")
    assert "# the row that matters" in (charted / "bags/twin.toml").read_text()


def test_a_new_chart_reads_back(store):
    chart = store.read(BAG, "twin")
    assert store.save_as(chart, "Twin again", "twin") == "twin-again"
    assert store.read(BAG, "twin-again") == chart.replaced(name="Twin again")
    fresh = store.write(chart.replaced(name="Fresh"))
    assert store.read(BAG, fresh).load == chart.load


def test_a_whole_truck_is_written_as_it_was_typed(store, charted):
    text = (charted / "trucks/flatbed.toml").read_text()
    store.write(store.read_truck("flatbed").replaced(gvwr="5300 kg"), "flatbed")
    assert (charted / "trucks/flatbed.toml").read_text() == text.replace("5200 kg", "5300 kg")


def test_charts_go_out_and_come_in_with_the_trucks_that_name_them(store, tmp_path):
    data = export_profiles(store, ["wood-lot"]).data
    assert set(open_zip(data)) == {"bags/twin.toml", "trucks/flatbed.toml", "trailers/log-arch.toml", "wood-lot.toml"}
    assert "bags/twin.toml" in open_zip(export_all(store).data)
    (tmp_path / "other").mkdir()
    other = Store(tmp_path / "other")
    brought = import_files(preview_zip(data, other), other)
    assert brought.notes == ()
    assert other.read_outfit("wood-lot").truck == store.read_outfit("wood-lot").truck
    take_back(brought, other)
    assert other.bags() == []


def test_a_truck_names_the_chart_that_came_beside_another(store, charted):
    data = export_profiles(store, ["wood-lot"]).data
    chart = charted / "bags/twin.toml"
    chart.write_text(TWIN.replace("18900", "19100"))
    truck = charted / "trucks/flatbed.toml"
    truck.write_text(truck.read_text().replace("5200 kg", "5100 kg"))
    import_files(preview_zip(data, store), store, "both")
    assert store.bags() == ["twin", "twin-brought-in"]
    beside = next(slug for slug in store.trucks() if slug != "flatbed")
    assert store.read_truck(beside).rear.bag.chart == "twin-brought-in"
    assert store.read_truck("flatbed").rear.bag.chart == "twin"


def test_a_zip_without_the_chart_says_so(store, tmp_path):
    inside = open_zip(export_profiles(store, ["wood-lot"]).data)
    del inside["bags/twin.toml"]
    (tmp_path / "other").mkdir()
    other = Store(tmp_path / "other")
    told = (
        'trucks/flatbed.toml: names the bag "twin", which is not in the zip and not here: bring in bags/twin.toml too'
    )
    coming = preview_zip(pack_files(inside), other)
    notes = {item.file: lines(item.notes) for item in coming.items if item.notes}
    whole = [f"{told}, or name another bag"]
    assert notes == {"trucks/flatbed.toml": whole, "wood-lot.toml": whole}  # the profile names the truck that lacks it
    brought = import_files(coming, other)
    missing = 'trucks/flatbed.toml: rear.bag.chart: no bag has that name, got "twin"'
    assert [line.startswith(missing) for line in lines(brought.notes)] == [True]
    take_back(brought, other)
    alone = pack_files({"trucks/flatbed.toml": inside["trucks/flatbed.toml"]})
    brought = import_files(preview_zip(alone, other), other)
    assert [line.startswith(missing) for line in lines(brought.notes)] == [True]


def test_a_chart_that_would_not_suit_a_truck_that_stays_is_told_of(store):
    taller = TWIN.replace('"80 mm", "150 mm"', '"160 mm", "190 mm"')
    coming = preview_zip(pack_files({"bags/twin.toml": taller.encode()}), store)
    (item,) = coming.items
    (note,) = item.notes
    assert note.line().startswith("trucks/flatbed.toml: rear.bag.fitted_height: ")
    brought = import_files(coming, store, "theirs")
    assert brought.notes == (note,)
    assert store.check() == [note]
