"""A file is what it was or what it was to become, whatever goes wrong between."""

import errno
import os
import stat
from datetime import datetime
from pathlib import Path

import pytest

from planner.records import BadInput, Pressures, Truck
from planner.store import PROFILE, TRUCK, Store, StoreError, atomic_write, kinds, record_files, recycle_bin
from planner.store.locking import LOCK
from planner.store.os_errors import shown_name, told_errors

OUT = [
    (errno.ENOSPC, "the disk is full: free some space and try again"),
    (errno.EACCES, "permission is denied: get permission to write there, or start with --profiles and another folder"),
    (errno.EROFS, "the disk is read-only: copy the folder to another place"),
    (errno.EIO, "Input/output error: check the disk and try again"),
]


def contents(folder):
    files = [path for path in folder.rglob("*") if path.is_file() and path.name != LOCK]
    return {str(path.relative_to(folder)): path.read_bytes() for path in files}


def refusing(number):
    def refuse(*args, **kwargs):
        raise OSError(number, os.strerror(number))

    return refuse


@pytest.mark.parametrize(("number", "said"), OUT)
@pytest.mark.parametrize("step", ["open", "fsync", "replace"])
def test_a_write_that_fails_leaves_the_old_file_and_nothing_else(folder, store, monkeypatch, step, number, said):
    before = contents(folder)
    changed = store.read_profile("wood-lot").replaced(pressures=Pressures(rear_left="42 psi"))
    if step == "open":
        monkeypatch.setattr(atomic_write, "open", refusing(number), raising=False)
    else:
        monkeypatch.setattr(os, step, refusing(number))
    with pytest.raises(StoreError, match=rf"^wood-lot\.toml: cannot be written: {said}"):
        store.write(changed, "wood-lot")
    with pytest.raises(StoreError, match=said):
        store.save_as(changed, "Another")
    with pytest.raises(StoreError, match=said):
        store.rename("wood-lot", "Another")
    assert contents(folder) == before


def test_a_write_that_is_interrupted_leaves_the_old_file_and_nothing_else(folder, store, monkeypatch):
    def interrupted(*args):
        raise KeyboardInterrupt

    before = contents(folder)
    changed = store.read_profile("wood-lot").replaced(left_share=0.4)
    monkeypatch.setattr(os, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        store.write(changed)
    assert contents(folder) == before


def test_the_new_content_is_on_the_disk_before_it_takes_the_name(folder, store, monkeypatch):
    steps = []
    sync, replace = os.fsync, os.replace

    def watched_sync(handle):
        steps.append("folder" if stat.S_ISDIR(os.fstat(handle).st_mode) else "file")
        sync(handle)

    def watched_replace(old, new):
        assert "left_share = 0.4" in Path(old).read_text("utf-8")
        assert Path(old).parent == Path(new).parent
        steps.append("replace")
        replace(old, new)

    monkeypatch.setattr(os, "fsync", watched_sync)
    monkeypatch.setattr(os, "replace", watched_replace)
    store.write(store.read_profile("wood-lot").replaced(left_share=0.4))
    assert steps == ["file", "replace", "folder"]


def test_a_disk_that_cannot_sync_folders_still_takes_the_file(folder, store, monkeypatch):
    sync = os.fsync

    def files_only(handle):
        if stat.S_ISDIR(os.fstat(handle).st_mode):
            raise OSError(errno.EINVAL, os.strerror(errno.EINVAL))
        sync(handle)

    monkeypatch.setattr(os, "fsync", files_only)
    store.write(store.read_profile("wood-lot").replaced(left_share=0.4))
    assert store.read_profile("wood-lot").left_share == 0.4


def test_a_system_that_cannot_open_folders_still_takes_the_file(folder, store, monkeypatch):
    monkeypatch.delattr(os, "O_DIRECTORY")
    store.write(store.read_profile("wood-lot").replaced(left_share=0.4))
    assert store.read_profile("wood-lot").left_share == 0.4


def test_a_file_keeps_who_may_read_it_and_a_new_one_gets_the_usual(folder, store):
    path = folder / "wood-lot.toml"
    path.chmod(0o604)
    changed = store.read_profile("wood-lot").replaced(left_share=0.4)
    store.write(changed)
    assert stat.S_IMODE(path.stat().st_mode) == 0o604
    mask = os.umask(0o022)
    os.umask(mask)
    store.save_as(changed, "Another")
    assert stat.S_IMODE((folder / "another.toml").stat().st_mode) == 0o666 & ~mask


@pytest.mark.parametrize(("number", "said"), OUT)
def test_a_move_that_fails_leaves_the_file(folder, store, monkeypatch, number, said):
    before = contents(folder)
    receipt = store.delete("wood-lot")
    recycle_bin = contents(folder)
    with monkeypatch.context() as patch:
        patch.setattr(os, "rename", refusing(number))
        with pytest.raises(StoreError, match=rf"wood-lot\.toml: cannot be brought back: {said}"):
            store.restore(receipt)
        assert contents(folder) == recycle_bin
    store.restore(receipt)
    monkeypatch.setattr(os, "rename", refusing(number))
    with pytest.raises(StoreError, match=rf"wood-lot\.toml: cannot be moved to the bin: {said}"):
        store.delete("wood-lot")
    assert contents(folder) == before


def test_a_rename_whose_last_step_fails_has_changed_nothing(folder, store, monkeypatch):
    before, real = contents(folder), Path.unlink

    def unlink(path, *args, **kwargs):
        if path.name == "flatbed.toml":
            raise OSError(errno.EACCES, os.strerror(errno.EACCES))
        real(path, *args, **kwargs)

    monkeypatch.setattr(Path, "unlink", unlink)
    with pytest.raises(StoreError, match=r"^trucks/flatbed\.toml: cannot be removed: permission is denied"):
        store.rename("flatbed", "Old flatbed", TRUCK)
    assert contents(folder) == before


def test_a_rename_that_can_neither_be_ended_nor_taken_back_has_both_files_and_says_so(folder, store, monkeypatch):
    monkeypatch.setattr(Path, "unlink", refusing(errno.EACCES))
    with pytest.raises(BadInput, match=r"^trucks/flatbed\.toml: cannot be removed: permission is denied") as caught:
        store.rename("flatbed", "Old flatbed", TRUCK)
    assert "trucks/old-flatbed.toml: could not be undone" in str(caught.value)
    assert store.trucks() == ["flatbed", "old-flatbed"]
    assert store.check() == []


def test_a_folder_that_cannot_be_listed_is_told(folder, store, monkeypatch):
    monkeypatch.setattr(os, "scandir", refusing(errno.EACCES))
    with pytest.raises(ValueError, match="trucks: cannot be read: permission is denied"):
        store.trucks()
    with pytest.raises(ValueError, match="profiles: cannot be read: permission is denied"):
        store.entries(PROFILE)


def test_an_error_without_a_number_is_told():
    with (
        pytest.raises(StoreError, match=r"x\.toml: cannot be written: OSError: check the disk"),
        told_errors("x.toml", "written"),
    ):
        raise OSError


def test_a_file_may_not_grow_past_what_is_read(folder, store, monkeypatch):
    before = contents(folder)
    monkeypatch.setattr(record_files, "LARGEST", 100)
    with pytest.raises(StoreError, match=r"would be larger than 0 MB: delete old entries, such as readings"):
        store.write(store.read_profile("wood-lot").replaced(left_share=0.4))
    assert contents(folder) == before


def test_more_readings_than_are_read_are_not_written(folder, store, monkeypatch):
    profile = store.read_profile("wood-lot")
    before = contents(folder)
    many = profile.replaced(readings=profile.readings * 5001)
    with pytest.raises(ValueError, match=r"wood-lot\.toml: holds a list or table of more than 5000: delete old"):
        store.write(many)
    assert contents(folder) == before


@pytest.mark.parametrize("wrong", ["schema = 1\n", "schema = \n", None])
def test_a_text_that_would_not_read_as_the_record_is_not_written(folder, store, monkeypatch, wrong):
    before = contents(folder)
    profile = store.read_profile("wood-lot")
    monkeypatch.setattr(
        record_files.toml_layout, "changed_text", lambda text, old, new: text + "\n" if wrong is None else wrong
    )
    with pytest.raises(StoreError, match=r"wood-lot\.toml: is laid out so that the planner cannot change it"):
        store.write(profile.replaced(left_share=0.4))
    assert contents(folder) == before


def test_two_deleted_at_the_same_instant_both_lie_in_the_bin(folder, store, monkeypatch):
    class Still(datetime):
        @classmethod
        def now(cls, tz=None):
            return cls(2026, 5, 4, 7, 30, 0, 999_999, tz)

    profile = store.read_profile("wood-lot")
    monkeypatch.setattr(recycle_bin, "datetime", Still)
    first = store.delete("wood-lot")
    store.write(profile.replaced(left_share=0.4))
    second = store.delete("wood-lot")
    assert first.binned == "20260504-073000-999999-profile-wood-lot.toml"
    assert second.binned == "20260504-073001-000000-profile-wood-lot.toml"
    assert sorted(os.listdir(folder / "bin")) == [first.binned, second.binned]


def test_names_in_messages_are_short_and_printable():
    assert shown_name("mill") == '"mill"'
    assert shown_name("a\x1b[31m‮b\n") == '"a?[31m?b?"'
    assert shown_name("x" * 1000) == f'"{"x" * 60}…"'


def test_kinds_say_where_their_files_lie():
    folders = ["bags/", "trucks/", "trailers/", "", "slips/"]
    assert [kind.file("x") for kind in kinds.KINDS] == [f"{folder}x.toml" for folder in folders]
    assert kinds.TRUCK.record is Truck


def test_a_store_makes_its_folders_when_it_first_writes(folder, store, tmp_path):
    new = Store(tmp_path / "new")
    new.folder.mkdir()
    assert new.profiles() == new.trucks() == new.trailers() == []
    assert list(new.folder.iterdir()) == []
    assert new.write(store.read_truck("flatbed")) == "flatbed"
    assert new.trucks() == ["flatbed"]
