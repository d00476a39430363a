"""Reading, listing and writing a folder of files that name each other."""

import os
import tomllib
from datetime import UTC, datetime

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.records import BadInput, Cargo, CornerReading, Pressures, Profile, Reading, Stance
from planner.store import PROFILE, TRAILER, TRUCK, Store, StoreError, is_slug
from planner.store import slug as slug_of
from planner.store.locking import LOCK
from planner.store.record_files import Shelf

HOSTILE = ["../x", "con", "a/b", "x" * 300, "\x00", "‮lot", "<b>", "🪵", "", "../wood-lot", "wood-lot.toml", "Wood lot"]


def refusal(call, *args, **kwargs):
    """The one line that a refused call gives."""
    with pytest.raises(BadInput) as caught:
        call(*args, **kwargs)
    (line,) = str(caught.value).splitlines()
    return line


def contents(folder):
    files = [path for path in folder.rglob("*") if path.is_file() and path.name != LOCK]
    return {str(path.relative_to(folder)): path.read_bytes() for path in files}


# Reading


def test_the_three_kinds_are_listed_and_read(store):
    assert (store.trucks(), store.trailers(), store.profiles()) == (["flatbed"], ["log-arch"], ["wood-lot"])
    assert store.read_truck("flatbed").name == "Flatbed"
    assert store.read_trailer("log-arch").name == "Log arch"
    assert store.read_profile("wood-lot") == store.read(PROFILE, "wood-lot")


def test_an_outfit_is_a_profile_with_what_it_names(store):
    outfit = store.read_outfit("wood-lot")
    assert (outfit.slug, outfit.profile.name) == ("wood-lot", "Wood lot")
    assert (outfit.truck.name, outfit.trailer.name) == ("Flatbed", "Log arch")
    store.write(Profile(name="Alone", truck="flatbed"))
    assert store.read_outfit("alone").trailer is None


def test_a_name_that_is_not_there_offers_the_nearest(store):
    assert refusal(store.read_profile, "wood-lott") == (
        'wood-lott.toml: no profile has that name, got "wood-lott": did you mean wood-lot?'
    )
    assert refusal(store.read_truck, "xyz") == 'trucks/xyz.toml: no truck has that name, got "xyz": choose from flatbed'


def test_a_name_in_an_empty_folder_offers_none(tmp_path):
    assert refusal(Store(tmp_path).read_trailer, "x").endswith("make a trailer first")


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_are_refused_before_the_disk_is_touched(store, folder, name):
    (folder.parent / "x.toml").write_text("schema = 1\n", "utf-8")
    before = contents(folder.parent)
    for call in (store.read_profile, store.read_truck, store.read_outfit, store.delete):
        line = refusal(call, name)
        assert line.isprintable()
        assert len(line) < 200
    with pytest.raises(BadInput):
        store.write(store.read_profile("wood-lot"), name)
    with pytest.raises(BadInput):
        store.rename(name, "Other")
    assert contents(folder.parent) == before


def test_all_that_is_wrong_with_a_file_is_told_with_its_name(store, folder):
    (folder / "trucks/bad.toml").write_text('schema = 1\nname = "Bad"\nwheelbase = "3 psi"\n', "utf-8")
    with pytest.raises(BadInput) as caught:
        store.read_truck("bad")
    assert {problem.file for problem in caught.value.problems} == {"trucks/bad.toml"}
    assert {"wheelbase", "gvwr", "front"} <= {problem.field for problem in caught.value.problems}


def test_damaged_files_hide_no_others(store, folder, profile_text):
    damaged = {
        "bytes": b"\xff\xfe\x00",
        "empty": b"",
        "half": profile_text.encode()[: profile_text.index("Saw") + 2],
        "junk": b"\n".join(b"key%d = %d" % (i, i) for i in range(10_000)),
        "newer": profile_text.replace("schema = 1", "schema = 2").encode(),
        "unit": profile_text.replace('"40 lb"', '"40 psi"').encode(),
    }
    for name, raw in damaged.items():
        (folder / f"{name}.toml").write_bytes(raw)
    (folder / "folder.toml").mkdir()
    (folder / "gone.toml").symlink_to("nothing.toml")
    (folder / "Not a slug.toml").write_text(profile_text, "utf-8")
    (folder / ".hidden.toml").write_text("", "utf-8")
    (folder / "notes.txt").write_text("", "utf-8")
    entries = {entry.slug: entry for entry in store.entries(PROFILE)}
    assert sorted(entries) == sorted([*damaged, "Not a slug", "folder", "gone", "wood-lot"])
    assert [name for name, entry in entries.items() if entry.record is not None] == ["wood-lot"]
    for name in entries.keys() - {"wood-lot"}:
        assert entries[name].problems
        assert all(problem.file == f"{name}.toml" and problem.remedy for problem in entries[name].problems)
        assert entries[name].name == name
    assert entries["Not a slug"].problems[0].remedy == "rename it to not-a-slug.toml"
    assert "Not a slug" not in store.profiles()
    assert entries["wood-lot"].name == "Wood lot"


def test_an_entry_knows_when_its_file_was_changed(store, folder, monkeypatch):
    os.utime(folder / "wood-lot.toml", (1_777_000_000, 1_777_000_000))
    (entry,) = store.entries(PROFILE)
    assert entry.modified == datetime.fromtimestamp(1_777_000_000, UTC)


def test_a_file_that_goes_while_it_is_listed_is_told(store, folder, monkeypatch):
    real = Shelf.files

    def vanishing(shelf):
        found = real(shelf)
        (folder / "wood-lot.toml").unlink(missing_ok=True)
        return found

    monkeypatch.setattr(Shelf, "files", vanishing)
    (entry,) = store.entries(PROFILE)
    assert entry.problems[0].rule == "no profile has that name"
    assert entry.modified == datetime.fromtimestamp(0, UTC)


def test_a_profile_whose_truck_and_trailer_are_not_there_says_both(store, folder, profile_text):
    text = profile_text.replace('"flatbed"', '"flatbeed"').replace('"log-arch" ', '"Log arch" ')
    (folder / "lost.toml").write_text(text, "utf-8")
    with pytest.raises(BadInput) as caught:
        store.read_outfit("lost")
    assert str(caught.value).splitlines() == [
        'lost.toml: truck: no truck has that name, got "flatbeed": did you mean flatbed?',
        'lost.toml: trailer: no trailer has that name, got "Log arch": did you mean log-arch?',
    ]


def test_a_profile_whose_parts_do_not_fit_says_so(store, folder, profile_text):
    (folder / "odd.toml").write_text(profile_text.replace('"receiver"', '"reciever"'), "utf-8")
    assert refusal(store.read_outfit, "odd").startswith("odd.toml: hitch: ")


def test_check_tells_all_that_is_wrong_once(store, folder, profile_text):
    assert store.check() == []
    (folder / "trucks/flatbed.toml").write_text("schema = 1\nname = 3\n", "utf-8")
    (folder / "lost.toml").write_text(profile_text.replace('"log-arch" ', '"loog-arch" '), "utf-8")
    (folder / "torn.toml").write_text("torn", "utf-8")
    problems = store.check()
    assert len(problems) == len(set(problems))
    assert {(problem.file, problem.field) for problem in problems} > {
        ("trucks/flatbed.toml", "name"),
        ("lost.toml", "trailer"),
        ("torn.toml", ""),
    }


# A profile from anywhere


def test_a_profile_elsewhere_takes_what_lies_beside_it_or_else_the_folders(store, tmp_path, profile_text, truck_text):
    there = tmp_path / "there"
    (there / "trucks").mkdir(parents=True)
    (there / "Any Name.toml").write_text(profile_text, "utf-8")
    assert store.read_profile_path(there / "Any Name.toml").truck == store.read_truck("flatbed")
    (there / "trucks/flatbed.toml").write_text(truck_text.replace("4.2 m", "4.5 m"), "utf-8")
    outfit = store.read_profile_path(there / "Any Name.toml")
    assert (outfit.slug, outfit.truck.wheelbase, outfit.trailer.name) == ("Any Name", 4.5, "Log arch")


def test_a_profile_elsewhere_that_cannot_be_read_says_so(store, tmp_path, profile_text):
    assert "is not there: check the path" in refusal(store.read_profile_path, tmp_path / "x.toml")
    assert refusal(store.read_profile_path, tmp_path / "x\0.toml").endswith("is not a path: check the spelling")
    bad = tmp_path / "bad.toml"
    bad.write_text(profile_text.replace("[stance]", "[stanse]"), "utf-8")
    assert refusal(store.read_profile_path, bad).startswith(f"{bad}: ")
    bad.write_text(profile_text.replace("flatbed", "other"), "utf-8")
    assert refusal(store.read_profile_path, bad).startswith(f"{bad}: truck: no truck has that name")


# Writing


def test_a_record_goes_back_where_it_came_from(store, folder):
    before = contents(folder)
    profile = store.read_profile("wood-lot").replaced(pressures=Pressures(rear_left="42 psi"))
    assert store.write(profile) == "wood-lot"
    after = contents(folder)
    assert [name for name in after if after[name] != before.get(name)] == ["wood-lot.toml"]
    assert store.read_profile("wood-lot") == profile
    assert b"# lives under the seat" in after["wood-lot.toml"]


def test_nothing_changed_writes_nothing(store, folder, monkeypatch):
    monkeypatch.setattr(os, "replace", None)  # would raise
    for record in (store.read_profile("wood-lot"), store.read_truck("flatbed"), store.read_trailer("log-arch")):
        assert is_slug(store.write(record))


def test_a_file_is_read_as_it_is_whatever_it_was_and_whatever_its_times_say(store, folder, profile_text):
    path = folder / "wood-lot.toml"
    for name in ("Lot one", "Lot two", "Lot one", "Lot two"):
        path.write_text(profile_text.replace("Wood lot", name), "utf-8")
        os.utime(path, ns=(0, 0))
        assert store.read_profile("wood-lot").name == name


def test_a_file_that_names_itself_otherwise_is_written_by_its_slug(store, folder, profile_text):
    (folder / "odd.toml").write_text(profile_text.replace("Wood lot", "Something else"), "utf-8")
    profile = store.read_profile("odd").replaced(left_share=0.4)
    assert store.write(profile, "odd") == "odd"
    assert store.read_profile("odd") == profile
    assert store.profiles() == ["odd", "wood-lot"]


def test_two_names_with_one_slug_keep_a_file_each(store):
    profile = store.read_profile("wood-lot")
    others = [profile.replaced(name=name) for name in ("Wood Lot!", "wood lot", "Wood/lot")]
    assert [store.write(other) for other in others] == ["wood-lot-2", "wood-lot-3", "wood-lot-4"]
    assert [store.write(other.replaced(left_share=0.4)) for other in others] == [
        "wood-lot-2",
        "wood-lot-3",
        "wood-lot-4",
    ]
    assert store.read_profile("wood-lot") == profile
    assert store.read_profile("wood-lot-3").name == "wood lot"


def test_one_name_typed_in_two_ways_is_one_file(store):
    profile = store.read_profile("wood-lot").replaced(name="M\u00fchle")
    assert store.write(profile) == store.write(profile.replaced(name="Mu\u0308hle", left_share=0.4)) == "muhle"


def test_a_slug_that_holds_another_name_is_refused(store, folder):
    before = contents(folder)
    line = refusal(store.write, store.read_profile("wood-lot").replaced(name="Other"), "wood-lot")
    assert line == (
        'wood-lot.toml: holds another name, "Wood lot", got "Other": '
        "rename that one, or save this one under another name"
    )
    assert contents(folder) == before


def test_a_damaged_file_is_never_written_over(store, folder):
    profile = store.read_profile("wood-lot")
    (folder / "wood-lot.toml").write_text('name = "half', "utf-8")
    before = contents(folder)
    for slug in (None, "wood-lot"):
        line = refusal(store.write, profile, slug)
        assert line.startswith("wood-lot.toml: is damaged, so it was not overwritten (is not valid TOML: ")
        assert line.endswith(": fix or delete it, or save under another name")
    assert contents(folder) == before


def test_a_link_within_the_folder_stays_a_link(store, folder):
    (folder / "wood-lot.toml").rename(folder / "real.toml")
    (folder / "wood-lot.toml").symlink_to("real.toml")
    store.write(store.read_profile("wood-lot").replaced(left_share=0.4), "wood-lot")
    assert (folder / "wood-lot.toml").is_symlink()
    assert store.read_profile("real").left_share == 0.4


def test_a_kinds_folder_that_is_a_link_outside_takes_nothing(store, folder, tmp_path):
    truck = store.read_truck("flatbed")
    (folder / "trucks").rename(tmp_path / "outside")
    (folder / "trucks").symlink_to(tmp_path / "outside")
    assert "is a link to a place outside the folder" in refusal(store.read_truck, "flatbed")
    assert "is a link to a place outside the folder" in refusal(store.write, truck.replaced(name="Other"))
    assert sorted(os.listdir(tmp_path / "outside")) == ["flatbed.toml"]


def test_a_kinds_folder_that_is_a_circle_of_links_is_told(store, folder, tmp_path):
    trailer = store.read_trailer("log-arch")
    other = Store(tmp_path / "other")
    other.folder.mkdir()
    (other.folder / "trailers").symlink_to("trailers")
    with pytest.raises(StoreError, match=r"trailers/log-arch\.toml: cannot be written"):
        other.write(trailer)


def test_saved_under_another_name_it_is_a_file_of_its_own(store, folder):
    profile = store.read_profile("wood-lot")
    assert store.save_as(profile, "  Wood lot in winter ") == "wood-lot-in-winter"
    assert store.read_profile("wood-lot-in-winter") == profile.replaced(name="Wood lot in winter")
    assert "#" not in (folder / "wood-lot-in-winter.toml").read_text("utf-8")


def test_saved_like_another_it_takes_the_comments_along(store, folder):
    truck = store.read_truck("flatbed").replaced(gvwr="5 t")
    assert store.save_as(truck, "Flatbed, lighter", like="flatbed") == "flatbed-lighter"
    assert store.read_truck("flatbed-lighter") == truck.replaced(name="Flatbed, lighter")
    text = (folder / "trucks/flatbed-lighter.toml").read_text("utf-8")
    assert 'name = "Flatbed, lighter"   # painted on the door' in text


@pytest.mark.parametrize("like", [None, "wood-lot"])
def test_saved_like_itself_the_copy_is_written_all_the_same(store, like):
    profile = store.read_profile("wood-lot")
    store.save_as(profile, "Copy", like=like)
    assert store.profiles() == ["copy", "wood-lot"]


def test_a_name_that_is_taken_is_refused(store, folder):
    before = contents(folder)
    profile = store.read_profile("wood-lot")
    assert refusal(store.save_as, profile, "Wood lot") == (
        'wood-lot.toml: has that name already, got "Wood lot": choose another name'
    )
    assert refusal(store.save_as, profile, "WOOD LOT") == (
        'wood-lot.toml: has that name already, with other capital letters, got "WOOD LOT": choose another name'
    )
    assert contents(folder) == before


@pytest.mark.parametrize("name", ["", "x" * 300, "\x00", "a\u202eb", 7])
def test_a_name_that_cannot_stand_is_refused(store, folder, name):
    before = contents(folder)
    profile = store.read_profile("wood-lot")
    assert refusal(store.save_as, profile, name).startswith("the new profile: name: must be ")
    assert refusal(store.rename, "wood-lot", name).startswith("the new profile: name: must be ")
    assert contents(folder) == before


NAMES = st.text(min_size=1, max_size=40).filter(lambda name: name.isprintable() and name.strip())
LENGTHS = st.builds("{} {}".format, st.integers(-3, 3), st.sampled_from(["in", "cm"]))
PRESSURES = st.none() | st.builds("{} {}".format, st.integers(0, 100), st.just("psi"))
PROFILES = st.builds(
    Profile,
    name=NAMES,
    truck=st.just("flatbed"),
    left_share=st.sampled_from([0.5, 0.48, 1.0]),
    stance=st.builds(Stance, front=LENGTHS, lean=LENGTHS),
    cargo=st.lists(st.builds(Cargo, name=NAMES, weight=st.just("1 lb"), x=LENGTHS), max_size=4).map(tuple),
    pressures=st.none() | st.builds(Pressures, front_left=PRESSURES, rear_right=PRESSURES),
    readings=st.lists(
        st.builds(
            Reading,
            at=st.datetimes(datetime(2020, 1, 1), datetime(2030, 1, 1)),
            rear_left=st.builds(CornerReading, ride_height=st.just("20 in"), pressure=PRESSURES),
        ),
        max_size=3,
    ).map(lambda readings: tuple(sorted(readings, key=lambda reading: reading.at))),
)


@given(first=PROFILES, second=PROFILES)
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow])
def test_what_is_written_is_read_and_stays_in_the_folder(store, folder, first, second):
    slug = store.write(first)
    assert slug == slug_of(first.name)
    assert store.read_profile(slug) == first
    changed = second.replaced(name=first.name)
    assert store.write(changed) == slug
    assert store.read_profile(slug) == changed
    data = tomllib.loads((folder / f"{slug}.toml").read_text("utf-8"))
    assert list(data)[:3] == ["schema", "name", "truck"]
    assert store.profiles() == sorted([slug, "wood-lot"])
    assert sorted(os.listdir(folder.parent)) == ["profiles"]
    (folder / f"{slug}.toml").unlink()


# Rename, delete, undo


def test_renaming_moves_the_file_and_keeps_its_hand(store, folder):
    before = (folder / "wood-lot.toml").read_text("utf-8")
    assert store.rename("wood-lot", "Lot above the mill") == "lot-above-the-mill"
    assert store.profiles() == ["lot-above-the-mill"]
    after = (folder / "lot-above-the-mill.toml").read_text("utf-8")
    assert after == before.replace('"Wood lot"', '"Lot above the mill"')
    assert store.rename("lot-above-the-mill", "Wood lot") == "wood-lot"
    assert (folder / "wood-lot.toml").read_text("utf-8") == before


def test_renaming_within_one_slug_stays_in_the_file(store):
    assert store.rename("wood-lot", "WOOD LOT") == "wood-lot"
    assert store.read_profile("wood-lot").name == "WOOD LOT"
    assert store.rename("wood-lot", "WOOD LOT") == "wood-lot"


def test_renaming_takes_a_free_number_but_no_others_name(store):
    profile = store.read_profile("wood-lot")
    store.write(profile.replaced(name="Wood-Lot"))
    assert refusal(store.rename, "wood-lot-2", "Wood lot") == (
        'wood-lot.toml: has that name already, got "Wood lot": choose another name'
    )
    assert "with other capital letters" in refusal(store.rename, "wood-lot-2", "wood lot")
    assert store.rename("wood-lot-2", "Wood/lot") == "wood-lot-2"


@pytest.mark.parametrize("kind", [TRUCK, TRAILER])
def test_profiles_follow_a_truck_or_trailer_that_is_renamed(store, folder, kind):
    old = {"truck": "flatbed", "trailer": "log-arch"}[kind.name]
    assert store.rename(old, "New name", kind) == "new-name"
    assert getattr(store.read_profile("wood-lot"), kind.name) == "new-name"
    assert store.check() == []
    assert "# lives under the seat" in (folder / "wood-lot.toml").read_text("utf-8")


def test_a_damaged_profile_that_would_have_to_follow_stops_a_rename(store, folder, profile_text):
    (folder / "torn.toml").write_text(profile_text + "torn", "utf-8")
    before = contents(folder)
    assert refusal(store.rename, "flatbed", "New name", TRUCK).startswith("torn.toml: is damaged")
    assert contents(folder) == before


def test_a_damaged_file_is_not_renamed(store, folder):
    (folder / "torn.toml").write_text("torn", "utf-8")
    assert refusal(store.rename, "torn", "New name").startswith("torn.toml: is damaged")


def test_what_is_deleted_comes_back(store, folder):
    before = contents(folder)
    receipt = store.delete("wood-lot")
    assert store.profiles() == []
    assert contents(folder)[f"bin/{receipt.binned}"] == before["wood-lot.toml"]
    assert store.restore(receipt) == "wood-lot"
    assert contents(folder) == before
    assert refusal(store.restore, receipt).startswith("wood-lot.toml: is there again: rename or delete that profile")


def test_a_damaged_file_can_be_deleted_and_comes_back_damaged(store, folder):
    (folder / "trailers/torn.toml").write_text("torn", "utf-8")
    receipt = store.delete("torn", TRAILER)
    assert store.trailers() == ["log-arch"]
    store.restore(receipt)
    assert (folder / "trailers/torn.toml").read_text("utf-8") == "torn"


def test_what_has_left_the_bin_does_not_come_back(store, folder):
    receipt = store.delete("wood-lot")
    (folder / "bin" / receipt.binned).unlink()
    assert refusal(store.restore, receipt) == (
        f"bin/{receipt.binned}: is no longer in the bin: get it from your own backup"
    )


def test_deleting_what_is_not_there_offers_the_nearest(store):
    assert refusal(store.delete, "wood-lo").endswith("did you mean wood-lot?")


def test_a_truck_or_trailer_in_use_is_not_deleted(store, folder, profile_text):
    assert refusal(store.delete, "log-arch", TRAILER) == (
        "trailers/log-arch.toml: is used by profile wood-lot: choose another trailer there, or delete them first"
    )
    (folder / "torn.toml").write_text(profile_text + "torn", "utf-8")
    (folder / "other.toml").write_text("also torn", "utf-8")
    (folder / "folder.toml").mkdir()
    assert "is used by profiles torn, wood-lot: choose another truck there" in refusal(store.delete, "flatbed", TRUCK)
    for profile in ("torn", "wood-lot"):
        store.delete(profile)
    assert store.delete("flatbed", TRUCK).slug == "flatbed"
    assert store.trucks() == []


def test_what_there_is_of_a_kind_comes_as_people_sort_it(store):
    mill = store.read_trailer("log-arch")
    for name in ("Load 10", "Load 2", "Load 1"):
        store.save_as(mill.replaced(name=name), name)
    assert store.trailers() == ["load-1", "load-2", "load-10", "log-arch"]
    assert [one.slug for one in store.entries(TRAILER)] == store.trailers()
