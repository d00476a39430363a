"""Side files that make no sense, are no files or are far too large: told, set aside, and in nobody's way."""

import json
import os
import time
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace

import pytest

from planner.front.session import draft_files
from planner.records import Pressures
from planner.store import PROFILE, StoreError, atomic_write, favourites, history, locking, reading
from planner.store import times as file_times
from planner.store.favourites import Handy

FIRM = Pressures.model_validate({"rear_left": "45 psi", "rear_right": "45 psi"})
YEAR_ONE = {"at": "0001-01-01T00:00:00+14:00", "reason": "saved", "pressures": None}
YEAR_LAST = {"at": "9999-12-31T23:59:59-14:00", "reason": "saved", "pressures": None}


def make(path, what, outside):
    """Put something into a file's place that is no plain file of moderate size."""
    path.parent.mkdir(exist_ok=True)
    if what == "pipe":
        os.mkfifo(path)
    elif what == "folder":
        path.mkdir()
    elif what == "link":
        outside.write_text("{}", "utf-8")
        path.symlink_to(outside)
    else:
        with open(path, "wb") as file:
            file.truncate(3_000_000_000)  # a hole: it takes no room


STRANGE = ["pipe", "folder", "link", "giant"]


@pytest.mark.parametrize("line", [YEAR_ONE, YEAR_LAST], ids=["year 1", "year 9999"])
def test_a_change_dated_out_of_all_time_is_left_out_and_told_of(store, folder, line):
    (folder / "history").mkdir()
    (folder / "history/wood-lot.jsonl").write_text(json.dumps(line) + "\n", "utf-8")
    history.write_profile(store, store.read_profile("wood-lot").replaced(pressures=FIRM), "wood-lot")
    found = history.read_history(store, "wood-lot")
    assert [one.reason for one in found.kept] == ["saved"]
    assert "has 1 of 2 lines that cannot be read" in found.problems[0].rule


def test_of_a_history_of_nonsense_no_more_than_fifty_lines_are_tried(store, folder, monkeypatch):
    tried = []
    real = history.read_record
    monkeypatch.setattr(history, "read_record", lambda *given: tried.append(1) or real(*given))
    bad = json.dumps(YEAR_ONE | {"at": "2026-05-04T07:30:00+00:00", "pressures": {"rear_left": "45"}})
    (folder / "history").mkdir()
    (folder / "history/wood-lot.jsonl").write_text(f"{bad}\n" * 5000, "utf-8")
    (problem,) = history.read_history(store, "wood-lot").problems
    assert problem.rule == "has 50 of 50 lines that cannot be read; the 4950 before them were not read"
    assert len(tried) == history.MOST_BAD


class Dated:
    """A file found in a folder, with another date."""

    def __init__(self, found, seconds):
        self.found, self.seconds = found, seconds

    def __getattr__(self, name):
        return getattr(self.found, name)

    def stat(self, *, follow_symlinks=True):
        was = self.found.stat(follow_symlinks=follow_symlinks)
        at = {"st_mtime": float(self.seconds), "st_mtime_ns": self.seconds * 10**9, "st_ctime_ns": was.st_ctime_ns}
        return SimpleNamespace(**at, st_size=was.st_size, st_ino=was.st_ino)


@pytest.mark.parametrize("seconds", [-(10**11), 253_402_300_800, 10**13, 10**18])  # the second: the year 10000
def test_a_file_dated_out_of_all_time_is_listed_as_undated(store, folder, monkeypatch, seconds):
    real = os.scandir

    @contextmanager
    def scanned(path):  # as another disk may have it; not every disk of a test machine keeps such dates
        with real(path) as found:
            yield [Dated(one, seconds) for one in found]

    monkeypatch.setattr(os, "scandir", scanned)
    (entry,) = store.entries(PROFILE)
    assert entry.name == "Wood lot"
    assert entry.modified == datetime(1970, 1, 1, tzinfo=UTC)


def test_a_date_that_cannot_be_is_none_and_others_stand_in_every_zone(tmp_path, monkeypatch):
    assert file_times.of_file(10**13) is None
    assert file_times.of_text("0001-01-01T00:00:00+00:00") is None
    assert file_times.of_text("2026-05-04T07:30:00") is None  # no offset
    assert file_times.of_text(5) is None
    assert file_times.of_text("2026-05-04T07:30:00+02:00") == datetime(2026, 5, 4, 5, 30, tzinfo=UTC)
    file = tmp_path / "lot.toml"
    file.write_text("", "utf-8")
    for zone in ("Etc/GMT+12", "Etc/GMT-14"):
        monkeypatch.setenv("TZ", zone)
        time.tzset()
        assert file_times.LAST.astimezone()
        assert file_times.FIRST.astimezone()
        assert atomic_write.written_on(file) is not None
        os.utime(file, (0, 2**34 - 1))  # the last that ext4 keeps: the year 2514
        assert atomic_write.written_on(file) is not None
        os.utime(file)
    monkeypatch.undo()
    time.tzset()


@pytest.mark.parametrize("what", STRANGE)
def test_favourites_that_are_no_plain_file_are_told_of_and_set_aside(store, folder, tmp_path, what):
    make(folder / favourites.FILE, what, tmp_path / "mine")
    assert favourites.read_favourites(folder) == Handy()
    (problem,) = store.check()
    assert problem.file == favourites.FILE
    favourites.with_favourite(folder, "wood-lot", True)
    assert favourites.read_favourites(folder).favourites == {"wood-lot"}
    assert os.path.lexists(folder / ".handy.1.aside")
    assert store.check() == []
    assert what != "link" or (tmp_path / "mine").read_text("utf-8") == "{}"


def test_favourites_that_make_no_sense_are_set_aside_whole(store, folder):
    (folder / favourites.FILE).write_text('{"favourites": ["wood-lot"', "utf-8")
    assert [problem.rule for problem in store.check()] == ["is damaged"]
    favourites.was_used(folder, "wood-lot")
    assert set(favourites.read_favourites(folder).used) == {"wood-lot"}
    assert (folder / ".handy.1.aside").read_text("utf-8") == '{"favourites": ["wood-lot"'


@pytest.mark.parametrize("what", STRANGE)
def test_a_draft_that_is_no_plain_file_has_no_content_and_can_be_set_aside(folder, tmp_path, what):
    make(folder / "drafts/wood-lot.json", what, tmp_path / "mine")
    found = draft_files.read_draft(folder, "wood-lot")
    assert found.content is None
    assert found.tag == draft_files.tag_of(folder, "wood-lot") != draft_files.GONE
    assert os.path.lexists(folder / draft_files.set_draft_aside(folder, "wood-lot"))
    assert draft_files.read_draft(folder, "wood-lot") == draft_files.Draft(draft_files.GONE, None)


def test_no_draft_is_written_into_a_folder_that_is_gone(folder):
    folder.rename(folder.with_name("elsewhere"))
    with pytest.raises(StoreError, match="is no longer there"):
        draft_files.write_draft(folder, "wood-lot", {})
    assert not folder.exists()


@pytest.mark.parametrize("what", ["pipe", "folder", "link"])
def test_a_lock_that_is_no_plain_file_is_told_of(store, folder, tmp_path, what):
    make(folder / locking.LOCK, what, tmp_path / "mine")
    with pytest.raises(StoreError, match=r"^\.lock: is not an ordinary file: delete it"):
        store.write(store.read_profile("wood-lot").replaced(left_share=0.4))


def test_a_pipe_that_comes_after_the_look_does_not_keep_a_reader_waiting(folder, monkeypatch):
    file = folder / "wood-lot.toml"
    status = file.stat()
    file.unlink()
    os.mkfifo(file)
    monkeypatch.setattr(type(file), "stat", lambda self, **given: status)
    assert reading.read_bytes(file, "wood-lot.toml") == b""


def test_nobody_waits_for_another_program_to_look_at_a_profile(store, folder, monkeypatch):
    waits = []
    real = locking.alone

    def alone(*given, patience=None):
        waits.append(patience)
        return real(*given, patience=patience)

    monkeypatch.setattr(favourites, "alone", alone)
    favourites.was_used(folder, "wood-lot", datetime.now(UTC) - timedelta(days=1))
    favourites.was_used(folder, "wood-lot")
    assert waits == [0.0, 0.0]
    assert "wood-lot" in favourites.read_favourites(folder).used


def test_renaming_what_is_gone_says_so(store, folder):
    (folder / "wood-lot.toml").unlink()
    with pytest.raises(StoreError, match=r"^wood-lot\.toml: is gone: renamed or deleted somewhere else"):
        store.rename("wood-lot", "Other")
