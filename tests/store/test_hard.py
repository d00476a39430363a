"""What a profile must outlive: the program killed in the middle of a save, many writers, full and read-only disks."""

import errno
import json
import os
import random
import signal
import subprocess
import sys
import time
from datetime import timedelta
from pathlib import Path

import pytest

from planner.store import PROFILE, StoreError, handy
from planner.store import disk as store_disk
from tests.store.children import LOTS, contents, count_of, counted

ROOT = Path(__file__).parents[2]
SAVES = 1000
WRITERS = 8


def start(*arguments, before=()):
    """Start one of the children."""
    command = [*before, sys.executable, "-m", "tests.store.children", *map(str, arguments)]
    pipes = dict.fromkeys(("stdin", "stdout", "stderr"), subprocess.PIPE)
    return subprocess.Popen(command, cwd=ROOT, text=True, **pipes)


class Doomed:
    """Processes that do something without end, one after the other, each killed in the middle of it."""

    def __init__(self, what, folder):
        self.child = start("over_and_over", what, folder)
        self.draw = random.Random(5)  # noqa: S311  # the same draws every time
        self.waiting = self._heard()

    def killed(self, least, most):
        """Let the process that waits do it some times, kill it somewhere in the next, and return the last it told."""
        self.child.stdin.write("!")
        self.child.stdin.flush()
        told = [self._heard() for _ in range(self.draw.randint(least, most))]
        time.sleep(self.draw.random() * 0.006)  # seconds; a save of the child takes about as long
        os.kill(self.waiting["process"], signal.SIGKILL)
        while not isinstance(line := self._heard(), dict):
            told.append(line)
        self.waiting = line
        assert not any(isinstance(one, dict) for one in told)  # else one ended by itself
        return told[-1]

    def _heard(self):
        line = self.child.stdout.readline()
        assert line, self.child.stderr.read()
        return json.loads(line)

    def __enter__(self):
        return self

    def __exit__(self, *args):
        self.child.stdin.close()  # which ends the one that waits
        self.child.kill()
        self.child.stdin = None
        _, errors = self.child.communicate()
        assert errors == ""


# Killed


def test_a_thousand_saves_with_kills_in_between_lose_nothing(store, folder):
    profile = store.read_profile("wood-lot")
    store.write(counted(profile, 1).replaced(readings=profile.readings * 8), "wood-lot")
    others = {name: raw for name, raw in contents(folder).items() if name != "wood-lot.toml"}
    first, count, kills = store.read_profile("wood-lot"), 1, 0
    with Doomed("saves", folder) as doomed:
        while count < SAVES:
            told = doomed.killed(10, 40)
            kills += 1
            profile = store.read_profile("wood-lot")
            count = count_of(profile)
            assert told <= count <= told + 1  # what was told is there; the save in hand is whole or not there at all
            assert profile == counted(first, count)
            assert store.check() == []
            assert store.profiles() == ["wood-lot"]
    assert kills >= SAVES / 50
    now = {name: raw for name, raw in contents(folder).items() if not name.endswith(".tmp")}
    assert now == others | {"wood-lot.toml": now["wood-lot.toml"]}
    # What the killed left half-written goes with the first save after an hour.
    for left in folder.glob(".*.tmp"):
        os.utime(left, (0, 0))
    store.write(counted(profile, 1), "wood-lot")
    assert list(folder.glob(".*.tmp")) == []


def test_killed_between_moves_a_profile_is_always_somewhere(store, folder):
    profile = store.read_profile("wood-lot")
    with Doomed("moves", folder) as doomed:
        for _ in range(30):
            doomed.killed(1, 6)
            assert store.check() == []
            here = [store.read_profile(slug).replaced(name="Wood lot") for slug in store.profiles()]
            assert here == [profile] * len(here)
            assert here or [one.name for one in store.binned()] == ["Wood lot"]
            _tidy(store)
            assert store.profiles() == ["wood-lot"]


def _tidy(store):
    """Put the profile back where it was, whatever the killed one was at."""
    if not store.profiles():
        store.restore(store.binned()[0].receipt)
    if store.profiles() == ["other-lot"]:
        store.rename("other-lot", "Wood lot")
    if "other-lot" in store.profiles():
        store.delete("other-lot")
    store.purge(timedelta(0))


# Many at once


def test_eight_writers_lose_no_update_unreported(store):
    profile = store.read_profile("wood-lot")
    for lot in LOTS:
        store.write(counted(profile, 1).replaced(name=lot.replace("-", " ")))
    out, errors = start("contend", store.folder, WRITERS, 200).communicate()
    assert errors == ""
    found = [json.loads(line) for line in out.splitlines()]
    assert len(found) == WRITERS
    saved = {lot: sum(one["saved"][lot] for one in found) for lot in LOTS}
    refused = sum(one["refused"] for one in found)
    assert sum(saved.values()) + refused == WRITERS * 200
    assert refused > 0  # else nobody came second, and this tests nothing
    assert {lot: count_of(store.read_profile(lot)) - 1 for lot in LOTS} == saved
    assert store.check() == []


# Full and read-only disks


def may_mount():
    """Tell whether this machine lets a test have a small disk of its own."""
    try:
        done = subprocess.run(["unshare", "-rm", "mount", "-t", "tmpfs", "tmpfs", "/mnt"], capture_output=True)
    except OSError:
        return False
    return done.returncode == 0


# A file size limit stands for the full disk everywhere; where mounting is allowed there is a real one too.
LIMITS = [
    ("short_files", "the file would be larger than allowed here: take out what is old"),
    *(
        [
            ("full_disk", "the disk is full: free some space and try again"),
            ("read_only_disk", "the disk can only be read: copy the folder to another place"),
        ]
        if may_mount()
        else []
    ),
]


@pytest.mark.parametrize(("limit", "said"), LIMITS)
def test_a_disk_that_takes_no_more_says_so_and_keeps_what_it_has(folder, tmp_path, limit, said):
    place = tmp_path / "disk"
    place.mkdir()
    mount = f'mount -t tmpfs -o size=256k tmpfs "{place}" && exec "$@"'
    before = () if limit == "short_files" else ("unshare", "-rm", "sh", "-c", mount, "sh")
    out, errors = start(limit, folder, place, before=before).communicate()
    assert errors == ""
    found = json.loads(out)
    files = {"write": "wood-lot.toml", "save_as": "another.toml", "new": "new.toml"}
    for call, line in found["told"].items():
        assert line.startswith(f"{files[call]}: cannot be written: {said}")
    assert found["whole"]
    assert found["after"]  # once there is room, it is saved


def test_a_folder_that_may_not_be_written_says_so_and_is_listed(store, folder, monkeypatch):
    # A folder's rights do not hold back whoever may do everything (root), so the system's answer is put in their place.
    real = os.open

    def refuse(path, flags, *args, **kwargs):
        if flags & os.O_CREAT and str(path).startswith(str(folder)):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
        return real(path, flags, *args, **kwargs)

    before, profile = contents(folder), store.read_profile("wood-lot")
    monkeypatch.setattr(os, "open", refuse)
    said = "permission is denied: allow it for you, or name another folder with --profiles"
    calls = [
        lambda: store.write(profile.replaced(left_share=0.4)),
        lambda: store.save_as(profile, "Wood-lot"),
        lambda: store.rename("wood-lot", "Other"),
        lambda: store.delete("wood-lot"),
    ]
    for call in calls:
        with pytest.raises(StoreError, match=rf"^wood-lot\S*\.toml: cannot be written: {said}|^other\.toml: .*{said}"):
            call()
    assert contents(folder) == before
    assert [entry.name for entry in store.entries(PROFILE)] == ["Wood lot"]


def test_a_folder_taken_away_is_said_and_not_made_anew(store, folder):
    profile = store.read_profile("wood-lot")
    folder.rename(folder.with_name("elsewhere"))
    calls = [
        lambda: store.write(profile),
        lambda: store.save_as(profile, "Other"),
        lambda: store.rename("wood-lot", "Other"),
        lambda: store.purge(timedelta(0)),
        lambda: store.read_profile("wood-lot"),
        lambda: store.delete("wood-lot"),
        lambda: handy.with_favourite(folder, "wood-lot", True),
        store.profiles,
        store.check,
        store.binned,
    ]
    for call in calls:
        with pytest.raises(StoreError, match=r"profiles: is no longer there: it was moved or deleted: put it back"):
            call()
    handy.was_used(folder, "wood-lot")
    assert not folder.exists()


def test_only_old_and_only_our_half_written_files_are_swept(folder):
    names = {
        "ours, old": f".x-{'0' * 32}.tmp",
        "ours, new": f".y-{'0' * 32}.tmp",
        "another's": ".notes.tmp",
        "a person's": "mine.tmp",
    }
    for name in names.values():
        (folder / name).write_text("", "utf-8")
        if name != names["ours, new"]:
            os.utime(folder / name, (0, 0))
    store_disk.sweep(folder)
    assert sorted(path.name for path in folder.glob("*tmp")) == sorted(
        names[one] for one in ("ours, new", "another's", "a person's")
    )
    store_disk.sweep(folder / "none")
