"""What a profile must outlive: the program killed in the middle of a save, many writers, full and read-only disks."""

import errno
import json
import os
import subprocess
from datetime import timedelta

import pytest

from planner.records import BadInput
from planner.store import PROFILE, TRAILER, TRUCK, StoreError, favourites, journal
from planner.store import atomic_write as store_disk
from planner.store.journal import JOURNAL
from planner.store.transfer.import_zip import import_files, take_back
from planner.store.transfer.preview import preview_zip
from planner.store.transfer.zip_safety import open_zip
from tests.store.children import LOTS, contents, count_of, counted
from tests.store.doomed import (
    Doomed,
    bring_back,
    check_import,
    check_rename,
    fill,
    mail,
    put_back,
    records,
    start,
)

SAVES = 1000
WRITERS = 8


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


@pytest.mark.parametrize("seed", [5, 6])
def test_killed_in_an_import_all_of_it_is_there_or_nothing(store, folder, seed):
    """Also in its undoing; a few kills each, `tests/bench/kills.py` has hundreds."""
    data = mail(store, 12)
    (folder.parent / "mail.zip").write_bytes(data)
    before, inside = records(folder), open_zip(data)
    after = before | inside
    with Doomed("imports", folder, within=0.05, seed=seed) as doomed:
        for _ in range(6):
            doomed.killed(0, 1)
            if check_import(store, before, after):
                bring_back(store, before)
    assert [name for name in contents(folder) if name.startswith(".journal")] == []


def test_killed_in_the_renaming_of_a_truck_there_is_one_that_all_name(store, folder):
    fill(store, 5)
    with Doomed("renames", folder, within=0.04) as doomed:
        for _ in range(10):
            doomed.killed(0, 1)
            put_back(store, check_rename(store))
    assert store.trucks() == ["flatbed"]


def stopped_at(call, act):
    """Let a process do something and end without a word at the n-th move of a file; return whether it came so far."""
    moves, real = [0], {name: getattr(os, name) for name in ("replace", "rename", "unlink")}

    def move(name):
        def moved(*given, **named):
            moves[0] += 1
            if moves[0] > call:
                os._exit(7)
            return real[name](*given, **named)

        return moved

    if (process := os.fork()) == 0:
        for name in real:
            setattr(os, name, move(name))
        try:
            act()
        finally:
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(process, 0)[1]) == 7


def test_stopped_at_any_move_of_an_import_or_its_undoing_it_is_whole_or_undone(store, folder):
    data = mail(store, 3)
    before, inside = records(folder), open_zip(data)
    after, seen, call = before | inside, set(), 0

    def act():
        take_back(import_files(preview_zip(data, store), store, "theirs"), store)

    while stopped_at(call, act):
        seen.add(check_import(store, before, after))
        assert not (folder / JOURNAL).exists()
        bring_back(store, before)
        call += 1
    assert seen == {True, False}
    assert call > 2 * len(inside)  # it was stopped at each file, on the way there and back


def test_stopped_at_any_move_of_a_renaming_all_profiles_name_the_one_truck(store, folder):
    fill(store, 3)
    seen, call = set(), 0
    while stopped_at(call, lambda: store.rename("flatbed", "Other truck", TRUCK)):
        seen.add(truck := check_rename(store))
        put_back(store, truck)
        call += 1
    assert seen == {"flatbed", "other-truck"}
    assert call >= 5


def test_a_half_done_change_is_shown_where_nothing_can_be_written(store, folder, monkeypatch):
    """A reader that may not finish it reads what is there."""

    def refuse(home):
        raise StoreError(JOURNAL, "cannot be finished", "wait")

    (folder / JOURNAL).mkdir()
    monkeypatch.setattr(journal, "finish", refuse)
    assert store.profiles() == ["wood-lot"]
    with pytest.raises(StoreError, match="cannot be finished"):
        store.delete("wood-lot")


@pytest.mark.parametrize(
    "plan",
    [
        "",
        "{",
        "[[]]",
        '[["put", "../outside.toml", "0"]]',
        '[["put", "trucks/../../outside.toml", "0"]]',
        '[["put", "/etc/outside.toml", "0"]]',
        '[["put", ".lock", "0"]]',
        '[["put", "outside.toml", "../wood-lot.toml"]]',
        '[["move", "outside.toml", "../profiles/wood-lot.toml"]]',
        '[["move", "../outside.toml", "wood-lot.toml"]]',
        '[["remove", "../mine.toml", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"]]',
        '[["burn", "wood-lot.toml", "0"]]',
        None,
        "[" * 100_000,
    ],
)
def test_a_journal_that_no_planner_wrote_is_set_aside_and_nothing_in_it_is_done(store, folder, plan):
    (folder.parent / "mine.toml").write_text("", "utf-8")
    before = contents(folder.parent)
    (folder / JOURNAL).mkdir()
    (folder / JOURNAL / "0").write_text("strange", "utf-8")
    if plan is not None:
        (folder / JOURNAL / "plan.json").write_text(plan, "utf-8")
    assert store.profiles() == ["wood-lot"]
    assert not (folder / JOURNAL).exists()
    assert (folder / ".journal.1.aside/0").read_text("utf-8") == "strange"
    now = {path: raw for path, raw in contents(folder.parent).items() if ".aside" not in path}
    assert now == before


def test_a_journal_that_the_disk_does_not_let_be_read_stays_to_be_finished(store, folder, monkeypatch):
    (folder / JOURNAL).mkdir()
    (folder / JOURNAL / "plan.json").write_text("[]", "utf-8")

    def refuse(*given, **named):
        raise OSError(errno.EIO, "Input/output error")

    with monkeypatch.context() as patch:
        patch.setattr("planner.store.reading.open", refuse, raising=False)
        with pytest.raises(BadInput, match=r"plan\.json: cannot be read"):
            journal.finish(folder)
    assert (folder / JOURNAL / "plan.json").exists()
    assert store.profiles() == ["wood-lot"]
    assert not (folder / JOURNAL).exists()


def test_a_journal_that_moves_through_a_link_is_set_aside(store, folder, tmp_path):
    (tmp_path / "away").mkdir()
    (tmp_path / "away/lot.jsonl").write_text("mine", "utf-8")
    (folder / "history").symlink_to(tmp_path / "away")
    (folder / JOURNAL).mkdir()
    plan = '[["move", "bin/lot.jsonl", "history/lot.jsonl"]]'
    (folder / JOURNAL / "plan.json").write_text(plan, "utf-8")
    assert store.profiles() == ["wood-lot"]
    assert (folder / ".journal.1.aside").is_dir()
    assert (tmp_path / "away/lot.jsonl").read_text("utf-8") == "mine"


def test_a_deleted_profile_follows_the_new_name_of_its_truck(store, folder):
    profile, was = store.read_profile("wood-lot"), (folder / "wood-lot.toml").read_text("utf-8")
    receipt = store.delete("wood-lot")
    store.rename("flatbed", "North flatbed", TRUCK)
    store.rename("log-arch", "North arch", TRAILER)
    store.restore(receipt)
    assert store.read_outfit("wood-lot").profile == profile.replaced(truck="north-flatbed", trailer="north-arch")
    now = (folder / "wood-lot.toml").read_text("utf-8")
    assert now == was.replace('"flatbed"', '"north-flatbed"').replace('"log-arch"', '"north-arch"')


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
    ("short_files", "the file would be too large for this disk: delete old entries"),
    *(
        [
            ("full_disk", "the disk is full: free some space and try again"),
            ("read_only_disk", "the disk is read-only: copy the folder to another place"),
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
    said = "permission is denied: get permission to write there, or start with --profiles and another folder"
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
        lambda: favourites.with_favourite(folder, "wood-lot", True),
        store.profiles,
        store.check,
        store.binned,
    ]
    for call in calls:
        with pytest.raises(StoreError, match=r"profiles: is no longer there: it was moved or deleted: put it back"):
            call()
    favourites.was_used(folder, "wood-lot")
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
    store_disk.sweep_temporary(folder)
    assert sorted(path.name for path in folder.glob("*tmp")) == sorted(
        names[one] for one in ("ours, new", "another's", "a person's")
    )
    store_disk.sweep_temporary(folder / "none")
