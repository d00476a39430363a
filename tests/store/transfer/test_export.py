"""What is exported is imported to the byte; an import is shown before it is done, is done whole, and is undone."""

import os
import shutil
from threading import Thread

import pytest

from planner.records import BadInput, Pressures
from planner.store import PROFILE, TRAILER, TRUCK, Store, StoreError, atomic_write, history
from planner.store.transfer.export import export_all, export_profiles
from planner.store.transfer.import_zip import import_files, take_back
from planner.store.transfer.preview import preview_zip
from planner.store.transfer.zip_safety import open_zip, pack_files
from tests.store.children import contents

MARKED = b"\xef\xbb\xbf"
HOSTILE = [
    "<script>alert(1)</script>",
    "**bold** [link](javascript:alert(1))",
    "מִגְרָשׁ העצים",
    "🪵🚚 lot",
    "../../etc/passwd",
    "=cmd|' /C calc'!A0",
    "CON",
    "n" * 120,
]


@pytest.fixture
def other(tmp_path):
    """Another person's empty folder."""
    (tmp_path / "other").mkdir()
    return Store(tmp_path / "other")


def files(folder):
    """Return all files of a folder but those that only the planner reads."""
    return {
        path: raw for path, raw in contents(folder).items() if not path.startswith((".lock", "history", "bin", "cache"))
    }


def states(coming):
    return {item.file: item.state for item in coming.items}


def changed(data, file, old, new):
    """Return a zip with a text changed in one file."""
    inside = open_zip(data)
    assert old.encode() in inside[file]
    return pack_files(inside | {file: inside[file].replace(old.encode(), new.encode())})


def test_everything_goes_into_another_folder_to_the_byte(store, folder, other):
    odd = folder / "trailers/log-arch.toml"
    odd.write_bytes(MARKED + odd.read_bytes().replace(b"\n", b"\r\n"))
    data = export_all(store).data
    assert list(open_zip(data)) == ["trailers/log-arch.toml", "trucks/flatbed.toml", "wood-lot.toml"]
    assert export_all(store).data == data
    coming = preview_zip(data, other)
    assert set(states(coming).values()) == {"new"}
    assert contents(other.folder) == {}
    brought = import_files(coming, other)
    assert brought.said == "Brought in: 3 new."
    assert brought.notes == ()
    assert files(other.folder) == files(folder)
    assert other.read_outfit("wood-lot").profile.name == "Wood lot"
    assert set(states(preview_zip(data, other)).values()) == {"same"}


def test_one_profile_goes_with_its_truck_and_trailer_and_nothing_else(store, folder):
    store.save_as(store.read_profile("wood-lot").replaced(trailer=None, hitch=None), "Alone")
    store.save_as(store.read_truck("flatbed"), "Other truck")
    assert list(open_zip(export_profiles(store, ["alone"]).data)) == ["alone.toml", "trucks/flatbed.toml"]
    both = export_profiles(store, ["alone", "wood-lot"])
    assert len(open_zip(both.data)) == 4
    assert both.left_out == ()
    for path, raw in open_zip(both.data).items():
        assert (folder / path).read_bytes() == raw


def test_what_cannot_go_into_a_zip_is_told_of_in_it(store, folder):
    (folder / "torn.toml").write_bytes(b"name = \xff")
    (folder / "My lot.toml").write_text("x = 1", "utf-8")
    (folder / "away.toml").symlink_to("/etc/hostname")
    (folder / "pit.toml").mkdir()
    (folder / "trailers/log-arch.toml").unlink()
    made = export_all(store)
    inside = open_zip(made.data)
    assert inside["torn.toml"] == b"name = \xff"  # a copy of a damaged file is better than none
    told = inside["left-out.txt"].decode()
    for name in (
        "My lot.toml: must have a file name of",
        "away.toml: is a link to a place outside",
        "pit.toml: is a folder",
    ):
        assert name in told
    assert len(made.left_out) == 3
    gone = export_profiles(store, ["wood-lot", "torn", "nothing"])
    assert list(open_zip(gone.data)) == ["left-out.txt", "torn.toml", "trucks/flatbed.toml", "wood-lot.toml"]
    assert "log-arch" in open_zip(gone.data)["left-out.txt"].decode()


def test_an_import_shows_what_would_change_and_changes_nothing(store, folder):
    data = changed(export_all(store).data, "trucks/flatbed.toml", '"5200 kg"', '"5000 kg"')
    data = changed(data, "trailers/log-arch.toml", "axle_count = 1", "axle_count = 1  # spoked")
    data = pack_files(
        open_zip(data)
        | {
            "new-lot.toml": (folder / "wood-lot.toml").read_bytes().replace(b'"Wood lot"', b'"New lot"'),
            "torn.toml": b"schema = 1\nname = ",
            "old-code.toml": 'name = "Gr\u00fcn"'.encode("latin-1"),
            "My lot.toml": b"",
            "bin/wood-lot.toml": b"",
            "notes.txt": b"mine",
            "trucks/newer.toml": b'schema = 9\nname = "Newer"\n',
        }
    )
    before = contents(folder)
    coming = preview_zip(data, store)
    assert states(coming) == {
        "trucks/flatbed.toml": "differs",
        "trucks/newer.toml": "unusable",
        "trailers/log-arch.toml": "differs",
        "My lot.toml": "unusable",
        "new-lot.toml": "new",
        "old-code.toml": "unusable",
        "torn.toml": "unusable",
        "wood-lot.toml": "same",
        "bin/wood-lot.toml": "unusable",
        "notes.txt": "unusable",
    }
    assert (coming.count("differs"), coming.count("unusable"), coming.count("new")) == (2, 6, 1)
    found = {item.file: item for item in coming.items}
    (change,) = found["trucks/flatbed.toml"].changes
    assert (change.field, change.was, change.now) == ("gvwr", "5200 kg", "5000 kg")
    assert found["trailers/log-arch.toml"].changes == ()
    why = {item.file: str(BadInput(item.problems)) for item in coming.items if item.problems}
    assert "is not valid TOML" in why["torn.toml"]
    assert "is not UTF-8 text (line 1, byte 0xfc): save it again as UTF-8" in why["old-code.toml"]
    assert "rename it to my-lot.toml" in why["My lot.toml"]
    assert "is not one of the planner's files" in why["notes.txt"]
    assert "is not one of the planner's files" in why["bin/wood-lot.toml"]
    assert "made by a newer planner" in why["trucks/newer.toml"]
    assert contents(folder) == before
    brought = import_files(coming, store, "theirs")
    assert brought.said == "Brought in: 1 new, 2 replaced, the former in the bin."
    inside = open_zip(data)
    for file, item in found.items():
        if item.state != "unusable":
            assert (folder / file).read_bytes() == inside[file]
        else:
            assert not (folder / file).exists()


def test_a_zip_without_files_is_refused(store):
    with pytest.raises(StoreError, match=r"^the zip: is empty: choose a zip"):
        preview_zip(pack_files({}), store)
    with pytest.raises(StoreError, match=r"^mail: is not a zip"):
        preview_zip(b"", store, "mail")


@pytest.fixture
def differing(store):
    """What comes with another truck weight and other pressures."""
    data = changed(export_all(store).data, "trucks/flatbed.toml", '"5200 kg"', '"5000 kg"')
    saved = "\n[pressures]\nrear_left = '42 psi'\nrear_right = '40 psi'\n\n[[readings]]"
    return changed(data, "wood-lot.toml", "\n[[readings]]", saved)


def test_mine_are_kept_unless_theirs_are_asked_for(store, folder, differing):
    before = contents(folder)
    brought = import_files(preview_zip(differing, store), store)
    assert brought.said == "Brought in: 2 of yours kept as they are."
    assert brought.kept == ("trucks/flatbed.toml", "wood-lot.toml")
    assert {path: raw for path, raw in contents(folder).items() if path != ".lock"} == before


def test_theirs_replace_mine_which_go_to_the_bin_and_come_back(store, folder, differing):
    before = files(folder)
    brought = import_files(preview_zip(differing, store), store, "theirs")
    assert store.read_truck("flatbed").gvwr.text == "5000 kg"
    assert store.read_profile("wood-lot").pressures.rear_left.text == "42 psi"
    assert {one.receipt.slug: one.name for one in store.binned()} == {"flatbed": "Flatbed", "wood-lot": "Wood lot"}
    for one in store.binned():
        kind = TRUCK if one.receipt.slug == "flatbed" else PROFILE
        assert (folder / "bin" / one.receipt.binned).read_bytes() == before[kind.file(one.receipt.slug)]
    (entry,) = history.read_history(store, "wood-lot").kept
    assert (entry.reason, entry.pressures.rear_left.text) == ("imported", "42 psi")
    take_back(brought, store)
    assert files(folder) == before
    assert store.binned() == []
    assert [one.reason for one in history.read_history(store, "wood-lot").kept] == ["restored", "imported"]


def test_a_choice_for_one_file_goes_before_the_choice_for_all(store, differing):
    import_files(preview_zip(differing, store), store, "theirs", {"trucks/flatbed.toml": "mine"})
    assert store.read_truck("flatbed").gvwr.text == "5200 kg"
    assert store.read_profile("wood-lot").pressures is not None


def test_both_are_kept_and_what_came_belongs_together(store, folder, differing):
    before = files(folder)
    brought = import_files(preview_zip(differing, store), store, "both")
    assert brought.said == "Brought in: 2 under another name."
    assert [one.file for one in brought.written] == ["trucks/flatbed-brought-in.toml", "wood-lot-brought-in.toml"]
    outfit = store.read_outfit("wood-lot-brought-in")
    assert (outfit.profile.name, outfit.profile.truck) == ("Wood lot (brought in)", "flatbed-brought-in")
    assert (outfit.truck.name, outfit.truck.gvwr.text) == ("Flatbed (brought in)", "5000 kg")
    assert "# for the wood lot" in (folder / "wood-lot-brought-in.toml").read_text("utf-8")
    assert {path: raw for path, raw in files(folder).items() if path in before} == before
    again = import_files(preview_zip(differing, store), store, "both")
    assert [one.slug for one in again.written] == ["flatbed-brought-in-2", "wood-lot-brought-in-2"]
    take_back(again, store)
    take_back(brought, store)
    assert files(folder) == before
    assert len(store.binned()) == 4


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_come_and_go_as_text(store, folder, other, name):
    slug = store.save_as(store.read_profile("wood-lot"), name)
    import_files(preview_zip(export_profiles(store, [slug]).data, other), other)
    assert other.read_profile(slug).name == name
    data = changed(export_profiles(store, [slug]).data, f"{slug}.toml", "1/4 in", "1/8 in")
    before = contents(folder.parent)
    (item,) = [item for item in preview_zip(data, other).items if item.brings]
    assert item.name == name
    brought = import_files(preview_zip(data, other), other, "both")
    (one,) = brought.written
    assert other.read_profile(one.slug).name.endswith(" (brought in)")
    assert other.read_profile(one.slug).name[:20] == (name + " (brought in)")[:20]
    take_back(brought, other)
    after = {path: raw for path, raw in contents(folder.parent).items() if "/bin/" not in path}
    assert {path for path in after if not path.startswith("other/history")} == before.keys()


def test_what_is_named_and_nowhere_to_be_found_is_told_of(store, other):
    inside = open_zip(export_profiles(store, ["wood-lot"]).data)
    coming = preview_zip(pack_files({"wood-lot.toml": inside["wood-lot.toml"]}), other)
    (item,) = coming.items
    assert [problem.line() for problem in item.notes] == [
        f'wood-lot.toml: names the {kind} "{slug}", which is not in the zip and not here: bring in {kind}s/{slug}.toml '
        f"too, or name another {kind}"
        for kind, slug in (("truck", "flatbed"), ("trailer", "log-arch"))
    ]
    brought = import_files(coming, other)
    assert len(brought.notes) == 2
    (item,) = preview_zip(pack_files({"wood-lot.toml": inside["wood-lot.toml"] + b"\n"}), store).items
    assert item.notes == ()  # both are here


def test_a_truck_that_would_not_suit_those_who_stay_is_told_of(store, folder):
    data = changed(export_all(store).data, "trucks/flatbed.toml", 'name = "receiver"', 'name = "tow hook"')
    inside = open_zip(data)
    coming = preview_zip(pack_files({"trucks/flatbed.toml": inside["trucks/flatbed.toml"]}), store)
    (item,) = coming.items
    (note,) = item.notes
    assert (note.file, note.field) == ("wood-lot.toml", "hitch")
    brought = import_files(coming, store, "theirs")
    assert [problem.field for problem in brought.notes] == ["hitch"]
    (folder.parent / "empty").mkdir()
    (together,) = [
        one for one in preview_zip(data, Store(folder.parent / "empty")).items if one.file == "wood-lot.toml"
    ]
    assert [problem.field for problem in together.notes] == ["hitch"]


def test_two_of_one_name_are_told_of(store, folder):
    raw = (folder / "wood-lot.toml").read_bytes()
    (item,) = preview_zip(pack_files({"lot-two.toml": raw}), store).items
    assert 'has the same name as wood-lot.toml here, "Wood lot"' in item.notes[0].line()


def test_a_damaged_file_here_is_replaced_only_when_asked_and_lies_in_the_bin(store, folder):
    data = export_all(store).data
    (folder / "wood-lot.toml").write_bytes(b"torn \xff")
    coming = preview_zip(data, store)
    (item,) = [item for item in coming.items if item.state == "differs"]
    assert "the one here is damaged" in item.notes[0].line()
    import_files(coming, store)
    assert (folder / "wood-lot.toml").read_bytes() == b"torn \xff"
    brought = import_files(coming, store, "theirs")
    assert store.read_profile("wood-lot").name == "Wood lot"
    take_back(brought, store)
    assert (folder / "wood-lot.toml").read_bytes() == b"torn \xff"


@pytest.mark.parametrize("make", ["link", "folder", "giant"])
def test_what_is_no_plain_file_here_is_left_alone(store, folder, make):
    data = export_all(store).data
    place = folder / "wood-lot.toml"
    place.unlink()
    if make == "link":
        place.symlink_to("/etc/hostname")
    elif make == "folder":
        place.mkdir()
    else:
        place.write_bytes(b"#" * 1_000_001)
    (item,) = [item for item in preview_zip(data, store).items if item.file == "wood-lot.toml"]
    assert item.state == "unusable"
    import_files(preview_zip(data, store), store, "theirs")
    assert place.is_symlink() == (make == "link")
    assert place.is_dir() == (make == "folder")


def test_what_changed_here_after_the_look_is_not_written_over(store, folder, differing):
    coming = preview_zip(differing, store)
    store.write(store.read_profile("wood-lot").replaced(left_share=0.4), "wood-lot")
    before = contents(folder)
    with pytest.raises(StoreError, match=r"^wood-lot\.toml: was changed here after the zip was opened: open it again"):
        import_files(coming, store, "theirs")
    assert contents(folder) == before


def test_a_zip_in_the_place_of_a_profile_does_not_spoil_the_export(store, folder, other):
    (folder / "torn.toml").write_bytes(export_all(store).data)
    coming = preview_zip(export_all(store).data, other)
    assert (coming.count("new"), coming.count("unusable")) == (3, 1)
    ((problem,),) = [item.problems for item in coming.items if item.state == "unusable"]
    assert problem.line().startswith("torn.toml: is not UTF-8 text (line 1, ")


@pytest.mark.parametrize("fails_at", range(6))
@pytest.mark.parametrize("doing", ["laying ready", "moving"])
def test_a_disk_that_refuses_leaves_all_as_it_was(store, folder, differing, monkeypatch, doing, fails_at):
    inside = open_zip(differing)
    new = inside["wood-lot.toml"].replace(b'"Wood lot"', b'"A lot"')
    coming = preview_zip(pack_files(inside | {"a-lot.toml": new, "b-lot.toml": new.replace(b"A lot", b"B lot")}), store)
    before, calls = contents(folder), []
    where, name = (type(folder), "write_bytes") if doing == "laying ready" else (os, "replace")
    real = getattr(where, name)

    def full(path, *given):
        calls.append(path)
        if len(calls) == fails_at + 1:
            raise OSError(28, "No space left on device")
        return real(path, *given)

    monkeypatch.setattr(where, name, full)
    with pytest.raises(
        BadInput, match=r"the disk is full(.|\n)*the import: nothing was brought in; your folder is unchanged"
    ):
        import_files(coming, store, "theirs")
    assert contents(folder) == before
    assert store.binned() == []
    assert set(os.listdir(folder)) <= {".lock", "bin", "history", "trailers", "trucks", "wood-lot.toml"}


def test_a_file_that_cannot_be_taken_back_is_told_of(store, folder, differing, monkeypatch):
    coming, real = preview_zip(differing, store), os.replace

    def move(old, new):
        if str(new).endswith("profiles/wood-lot.toml"):
            monkeypatch.setattr(atomic_write, "replace_file", refuse)
            raise OSError(30, "Read-only file system")
        real(old, new)

    def refuse(path, data):
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr(os, "replace", move)
    with pytest.raises(BadInput, match=r"trucks/flatbed\.toml: could not be undone: if an import") as caught:
        import_files(coming, store, "theirs")
    assert "as it was" not in str(caught.value)
    assert not (folder / ".journal").exists()


def test_what_comes_while_an_import_is_laid_ready_stops_it(store, folder, other, differing):
    coming, told = preview_zip(differing, other), []

    def tell(done, of):
        told.append((done, of))
        if done == of - 1:
            (other.folder / "wood-lot.toml").write_text("mine", "utf-8")

    with pytest.raises(StoreError, match=r"^wood-lot\.toml: was changed here after the zip was opened"):
        import_files(coming, other, tell=tell)
    assert told == [(0, 3), (1, 3), (2, 3)]
    assert {name: raw for name, raw in contents(other.folder).items() if name != ".lock"} == {"wood-lot.toml": b"mine"}


def test_an_import_that_is_called_off_leaves_nothing(store, other, differing):
    class CalledOff(Exception):  # noqa: N818  # it is what happened
        pass

    def tell(done, of):
        if done == 2:
            raise CalledOff

    before = contents(other.folder)
    with pytest.raises(CalledOff):
        import_files(preview_zip(differing, other), other, tell=tell)
    assert contents(other.folder) == before
    assert [one for one in os.listdir(other.folder) if one.startswith(".staged")] == []


def test_other_writers_wait_for_the_moves_of_an_import_only(store, other, differing):
    """While files are laid ready another program may write; the locks are separate for each thread."""
    profile, written = store.read_profile("wood-lot"), []

    def tell(done, of):
        thread = Thread(target=lambda: written.append(other.write(profile.replaced(name=f"Lot {done}"))))
        thread.start()
        thread.join()

    import_files(preview_zip(differing, other), other, tell=tell)
    assert written == ["lot-0", "lot-1", "lot-2"]
    assert other.profiles() == ["lot-0", "lot-1", "lot-2", "wood-lot"]


def test_an_import_that_was_built_upon_is_not_undone(store, folder, other, differing):
    brought = import_files(preview_zip(differing, other), other)
    other.save_as(other.read_profile("wood-lot"), "Built upon")
    before = contents(other.folder)
    with pytest.raises(
        StoreError, match=r"^trucks/flatbed\.toml: is used by profile built-upon since it was brought in"
    ):
        take_back(brought, other)
    assert contents(other.folder) == before
    other.write(other.read_profile("wood-lot").replaced(left_share=0.4), "wood-lot")
    with pytest.raises(StoreError, match=r"^wood-lot\.toml: was changed since it was brought in"):
        take_back(brought, other)


def test_what_came_new_goes_to_the_bin_when_it_is_undone(store, other, differing):
    brought = import_files(preview_zip(differing, other), other)
    take_back(brought, other)
    assert other.profiles() == other.trucks() == other.trailers() == []
    assert len(other.binned()) == 3
    for one in other.binned():
        other.restore(one.receipt)
    assert other.read_outfit("wood-lot").profile.pressures == Pressures(rear_left="42 psi", rear_right="40 psi")


def test_the_demo_goes_round(tmp_path, other):
    from planner.store.folder import demo_folder

    home = tmp_path / "demo"
    shutil.copytree(demo_folder(), home)
    demo = Store(home)
    import_files(preview_zip(export_all(demo).data, other), other)
    assert files(other.folder) == files(home)
    assert len(other.read_profile("mill-on-the-hill-road").name) > 0
    assert [entry.problems for entry in other.entries(TRAILER)] == [()] * 3
