"""Slips in the folder: they name truck and trailer, follow a renaming, and several files are written together."""

import pytest

from planner.errors import BadInput, ConflictError
from planner.records import Slip
from planner.store import PROFILE, SLIP, TRAILER, TRUCK
from planner.store.slip_files import read_slip_path, with_named
from planner.store.transfer.export import export_all
from planner.store.transfer.import_zip import import_files
from planner.store.transfer.preview import preview_zip
from planner.store.transfer.zip_safety import open_zip, pack_files


@pytest.fixture
def slip(store):
    new = Slip(name="Weighbridge", truck="flatbed", trailer="log-arch", alone={"front_axle": "1900 kg"})
    return store.write(new)


def test_a_slip_is_kept_beside_the_others(store, folder, slip):
    assert (folder / "slips" / "weighbridge.toml").exists()
    assert store.slugs(SLIP) == ["weighbridge"]
    assert [one.name for one in store.entries(SLIP)] == ["Weighbridge"]
    assert store.check() == []


@pytest.mark.parametrize(("kind", "old"), [(TRUCK, "flatbed"), (TRAILER, "log-arch")])
def test_it_follows_a_truck_or_trailer_that_is_renamed(store, slip, kind, old):
    assert store.rename(old, "New name", kind) == "new-name"
    assert getattr(store.read(SLIP, slip), kind.name) == "new-name"


def test_a_slip_in_the_bin_follows_too(store, slip):
    receipt = store.delete(slip, SLIP)
    store.rename("flatbed", "New name", TRUCK)
    store.restore(receipt)
    assert store.read(SLIP, slip).truck == "new-name"


def test_a_slip_that_comes_with_a_truck_names_that_one(store, slip):
    inside = open_zip(export_all(store).data)
    former = {name: inside[name] for name in ("trucks/flatbed.toml", "slips/weighbridge.toml")}
    store.write(store.read(TRUCK, "flatbed").replaced(gvwr="5100 kg"), "flatbed")
    store.write(store.read(SLIP, slip).replaced(scale="another"), slip)
    import_files(preview_zip(pack_files(former), store), store, "both")
    assert store.read(SLIP, "weighbridge-brought-in").truck == "flatbed-brought-in"
    assert store.read(SLIP, slip).truck == "flatbed"


def test_a_damaged_slip_keeps_nobody_from_renaming(store, folder, slip):
    (folder / "slips" / "torn.toml").write_text("schema = 1\nname = ")
    assert store.rename("flatbed", "New name", TRUCK) == "new-name"
    assert store.read(SLIP, slip).truck == "new-name"


def test_a_truck_that_slips_name_may_go(store, slip):
    store.delete("wood-lot", PROFILE)
    store.delete("flatbed", TRUCK)
    with pytest.raises(BadInput, match="truck: no truck has that name"):
        with_named(store, store.read(SLIP, slip), "slip")


def test_it_is_deleted_and_comes_back(store, slip):
    receipt = store.delete(slip, SLIP)
    assert store.slugs(SLIP) == []
    assert [one.receipt for one in store.binned()] == [receipt]
    assert store.restore(receipt) == slip


def test_a_file_from_anywhere_finds_what_it_names_in_the_folder(store, tmp_path):
    path = tmp_path / "ticket.toml"
    path.write_text('truck = "flatbed"\n[alone]\nfront_axle = "1900 kg"\n')
    found = read_slip_path(store, path)
    assert (found.slip.name, found.truck.name, found.trailer) == ("ticket", "Flatbed", None)
    path.write_text('truck = "flatbed"\nhitch = "nose"\n[alone]\nfront_axle = "1900 kg"\n')
    with pytest.raises(BadInput, match="hitch: must be a hitch on the Flatbed"):
        read_slip_path(store, path)


def test_files_are_written_together_or_not_at_all(store):
    truck, trailer = store.read_truck("flatbed"), store.read_trailer("log-arch")
    new = truck.replaced(gcwr="11000 kg"), trailer.replaced(track="1.9 m")
    store.write_together([(new[0], "flatbed", truck), (new[1], "log-arch", trailer)])
    assert (store.read_truck("flatbed"), store.read_trailer("log-arch")) == new
    with pytest.raises(ConflictError):
        store.write_together([(truck, "flatbed", new[0]), (trailer, "log-arch", trailer)])
    assert (store.read_truck("flatbed"), store.read_trailer("log-arch")) == new
    store.write_together([])


def test_what_is_not_there_is_not_made(store):
    truck = store.read_truck("flatbed")
    store.delete("wood-lot", PROFILE)
    store.delete("flatbed", TRUCK)
    with pytest.raises(BadInput, match="is gone"):
        store.write_together([(truck, "flatbed", truck)])
