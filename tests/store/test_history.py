"""Every change of pressures is kept with date and reason; two are compared, one is restored; damage hinders nothing."""

import json
import os
from datetime import UTC, datetime, timedelta

import pytest

from planner.records import BadInput, Pressures
from planner.store import Store, StoreError, atomic_write, history, trail
from planner.store.history import Kept, compare_corners

SOFT, FIRM = Pressures(rear_left="40 psi", rear_right="38 psi"), Pressures(rear_left="45 psi", rear_right="2,9 bar")
LONG_AGO = 1_700_000_000


@pytest.fixture
def lot(store):
    return store.read_profile("wood-lot")


@pytest.fixture
def twice(store, lot):
    """A profile that was saved twice, the second time trimmed."""
    history.write_profile(store, lot.replaced(pressures=SOFT), "wood-lot")
    history.write_profile(
        store, store.read_profile("wood-lot").replaced(pressures=FIRM), "wood-lot", "trimmed", note="yard"
    )
    return store


def told(store, slug="wood-lot"):
    """Return reasons and rear left pressures, the newest first."""
    return [
        (one.reason, one.pressures.rear_left.text if one.pressures else None)
        for one in history.read_history(store, slug).kept
    ]


def test_each_change_is_kept_with_date_and_reason(twice):
    found = history.read_history(twice, "wood-lot")
    assert [(one.reason, one.pressures, one.note) for one in found.kept] == [
        ("trimmed", FIRM, "yard"),
        ("saved", SOFT, ""),
    ]
    assert found.problems == ()
    assert all(timedelta(0) <= datetime.now(UTC) - one.at < timedelta(minutes=5) for one in found.kept)
    assert [one.pressures.rear_right.text for one in found.kept] == ["2,9 bar", "38 psi"]


def test_the_same_pressures_saved_again_are_no_change(twice, folder):
    before = (folder / "history/wood-lot.jsonl").read_bytes()
    profile = twice.read_profile("wood-lot")
    history.write_profile(twice, profile.replaced(left_share=0.4), "wood-lot")
    assert twice.read_profile("wood-lot").left_share == 0.4
    assert (folder / "history/wood-lot.jsonl").read_bytes() == before


def test_a_profile_that_never_had_pressures_has_no_history(store, folder, lot):
    history.write_profile(store, lot.replaced(left_share=0.4), "wood-lot")
    assert history.read_history(store, "wood-lot").kept == ()
    assert not (folder / "history").exists()


def test_pressures_from_before_the_history_are_its_first_entry(store, folder, lot):
    store.write(lot.replaced(pressures=SOFT), "wood-lot")
    os.utime(folder / "wood-lot.toml", (LONG_AGO, LONG_AGO))
    (found,) = history.read_history(store, "wood-lot").kept
    assert (found.reason, found.at, found.pressures) == ("found", datetime.fromtimestamp(LONG_AGO, UTC), SOFT)
    history.write_profile(store, lot.replaced(pressures=FIRM), "wood-lot")
    assert told(store) == [("saved", "45 psi"), ("found", "40 psi")]
    assert history.read_history(store, "wood-lot").kept[1].at == datetime.fromtimestamp(LONG_AGO, UTC)


def test_a_change_by_hand_is_found_out(twice, folder):
    file = folder / "wood-lot.toml"
    file.write_text(file.read_text("utf-8").replace('"45 psi"', '"50 psi"'), "utf-8")
    assert told(twice) == [("by hand", "50 psi"), ("trimmed", "45 psi"), ("saved", "40 psi")]
    assert len((folder / "history/wood-lot.jsonl").read_text("utf-8").splitlines()) == 2  # looking writes nothing
    profile = twice.read_profile("wood-lot")
    history.write_profile(twice, profile.replaced(pressures=None), "wood-lot")
    assert told(twice) == [("saved", None), ("by hand", "50 psi"), ("trimmed", "45 psi"), ("saved", "40 psi")]


def test_two_are_compared_corner_by_corner():
    corners = {one.corner: one for one in compare_corners(SOFT, FIRM)}
    assert list(corners) == ["front_left", "front_right", "rear_left", "rear_right"]
    assert corners["rear_left"].difference == pytest.approx(5 * 6894.757, rel=1e-6)
    assert corners["rear_right"].difference == pytest.approx(2.9e5 - 38 * 6894.757, rel=1e-6)
    assert corners["front_left"].difference is None
    assert all(one.difference is None for one in compare_corners(None, FIRM))


def test_one_is_restored_by_a_save_with_its_own_entry_and_that_is_undone(twice, folder):
    before = (folder / "wood-lot.toml").read_bytes()
    old = history.read_history(twice, "wood-lot").kept[-1]
    was = history.restore(twice, "wood-lot", old)
    assert was == FIRM
    assert twice.read_profile("wood-lot").pressures == SOFT
    assert b"# for the wood lot" in (folder / "wood-lot.toml").read_bytes()
    newest = history.read_history(twice, "wood-lot").kept[0]
    assert (newest.reason, newest.note) == ("restored", f"as of {old.at.isoformat(timespec='minutes')}")
    history.put_pressures(twice, "wood-lot", was)
    assert (folder / "wood-lot.toml").read_bytes() == before
    assert told(twice) == [("restored", "45 psi"), ("restored", "40 psi"), ("trimmed", "45 psi"), ("saved", "40 psi")]


def test_pressures_that_no_longer_fit_the_truck_are_not_restored(twice, folder):
    before = (folder / "wood-lot.toml").read_bytes()
    front = Kept(datetime.now(UTC), "saved", Pressures(front_left="30 psi"))
    with pytest.raises(BadInput, match=r'pressures.front_left: the front axle of "Flatbed" has no bag'):
        history.restore(twice, "wood-lot", front)
    assert (folder / "wood-lot.toml").read_bytes() == before
    with pytest.raises(BadInput, match="no profile has that name"):
        history.restore(twice, "nothing", front)


def test_a_stale_save_is_refused_and_not_in_the_history(twice, lot):
    with pytest.raises(StoreError, match="was changed somewhere else"):
        history.write_profile(twice, lot.replaced(pressures=None), "wood-lot", expected=lot)
    assert len(told(twice)) == 2


def test_a_new_profile_begins_its_own(store, folder, lot):
    slug = history.write_profile(store, lot.replaced(name="New lot", pressures=SOFT))
    assert told(store, slug) == [("saved", "40 psi")]
    (folder / "history/copy.jsonl").write_text("of another one\n", "utf-8")
    copy = history.save_profile_as(store, lot.replaced(pressures=FIRM), "Copy", like=slug)
    assert told(store, copy) == [("saved", "45 psi")]
    assert (folder / "history/copy.1.aside").read_text("utf-8") == "of another one\n"


def test_it_follows_a_new_name_the_bin_and_the_way_back(twice, folder):
    lines = (folder / "history/wood-lot.jsonl").read_bytes()
    to = twice.rename("wood-lot", "North lot")
    for _ in range(2):  # whoever calls it again does no harm
        trail.move_trail(folder, "wood-lot", to)
    assert told(twice, to) == [("trimmed", "45 psi"), ("saved", "40 psi")]
    receipt = twice.delete(to)
    for _ in range(2):
        trail.bin_trail(folder, receipt)
    assert os.listdir(folder / "history") == []
    assert [one.name for one in twice.binned()] == ["North lot"]
    twice.restore(receipt)
    for _ in range(2):
        trail.restore_trail(folder, receipt)
    assert (folder / "history/north-lot.jsonl").read_bytes() == lines
    receipt = twice.delete(to)
    trail.bin_trail(folder, receipt)
    trail.purge_trail(folder, twice.purge(timedelta(days=-1)))
    assert os.listdir(folder / "bin") == []


def test_another_history_in_the_way_is_set_aside_not_written_over(twice, folder):
    (folder / "history/north-lot.jsonl").write_text("left over\n", "utf-8")
    twice.rename("wood-lot", "North lot")
    trail.move_trail(folder, "wood-lot", "north-lot")
    assert len(told(twice, "north-lot")) == 2
    assert (folder / "history/north-lot.1.aside").read_text("utf-8") == "left over\n"


DAMAGE = [
    b"\xff\xfe\x00",
    b"{",
    b"null",
    b"[]",
    b"[" * 100_000,
    b'{"at": 1, "reason": "saved", "pressures": null}',
    b'{"at": "2026-05-04T07:30:00", "reason": "saved", "pressures": null}',  # whose clock?
    b'{"at": "2026-05-04T07:30:00+00:00", "reason": "guessed", "pressures": null}',
    b'{"at": "2026-05-04T07:30:00+00:00", "reason": ["saved"], "pressures": null}',
    b'{"at": "2026-05-04T07:30:00+00:00", "reason": "saved", "pressures": {"rear_left": "9**9**9 psi"}}',
    b'{"at": "2026-05-04T07:30:00+00:00", "reason": "saved", "pressures": {"middle": "9 psi"}}',
    b'{"at": "2026-05-04T07:30:00+00:00", "reason": "saved", "pressures": null, "note": "\\u202e"}',
    b'{"at": "2026-05-04T07:30:00+00:00", "reason": "saved", "pressures": null, "note": 7}',
    b'{"at": ' + b"9" * 5000 + b"}",
]


@pytest.mark.parametrize("line", DAMAGE, ids=range(len(DAMAGE)))
def test_a_damaged_line_is_told_of_and_hinders_nothing(twice, folder, line):
    file = folder / "history/wood-lot.jsonl"
    first, second = file.read_bytes().splitlines()
    file.write_bytes(first + b"\n" + line + b"\n" + second)  # and the end of the last line is missing
    found = history.read_history(twice, "wood-lot")
    assert [one.reason for one in found.kept] == ["trimmed", "saved"]
    assert found.problems[0].line().startswith("history/wood-lot.jsonl: has 1 of 3 lines that cannot be read")
    history.write_profile(twice, twice.read_profile("wood-lot").replaced(pressures=SOFT), "wood-lot")
    assert told(twice)[0] == ("saved", "40 psi")
    assert file.read_bytes().splitlines()[:3] == [first, line, second]


@pytest.mark.parametrize("make", ["link", "folder", "giant", "pipe"])
def test_a_history_that_is_no_plain_file_hinders_nothing(twice, folder, tmp_path, make):
    file = folder / "history/wood-lot.jsonl"
    file.unlink()
    (tmp_path / "mine").write_text("mine", "utf-8")
    if make == "link":
        file.symlink_to(tmp_path / "mine")
    elif make == "folder":
        file.mkdir()
    elif make == "pipe":
        os.mkfifo(file)
    else:
        file.write_bytes(b"#" * 1_000_001)
    found = history.read_history(twice, "wood-lot")
    assert len(found.problems) == 1
    assert [one.reason for one in found.kept] == ["found"]
    history.write_profile(twice, twice.read_profile("wood-lot").replaced(pressures=SOFT), "wood-lot")
    assert told(twice) == [("saved", "40 psi"), ("found", "45 psi")]
    assert os.path.lexists(folder / "history/wood-lot.1.aside")
    assert (tmp_path / "mine").read_text("utf-8") == "mine"


def test_a_disk_that_refuses_the_history_still_saves_the_profile(twice, monkeypatch):
    real = atomic_write.replace_file

    def refuse(path, data):
        if path.parent.name == "history":
            raise OSError(28, "No space left on device")
        real(path, data)

    monkeypatch.setattr(atomic_write, "replace_file", refuse)
    history.write_profile(twice, twice.read_profile("wood-lot").replaced(pressures=SOFT), "wood-lot")
    assert twice.read_profile("wood-lot").pressures == SOFT
    assert told(twice)[0] == ("by hand", "40 psi")  # found out, though nobody could write down why


def test_a_folder_of_histories_that_leads_elsewhere_is_not_followed(store, folder, tmp_path, lot):
    (tmp_path / "elsewhere").mkdir()
    (folder / "history").symlink_to(tmp_path / "elsewhere")
    history.write_profile(store, lot.replaced(pressures=SOFT), "wood-lot")
    assert os.listdir(tmp_path / "elsewhere") == []
    assert store.read_profile("wood-lot").pressures == SOFT


@pytest.mark.parametrize("slug", ["", "../wood-lot", "con", "x" * 100, "A B", "_new"])
def test_nothing_but_a_profile_s_file_name_has_one(store, folder, slug):
    before = sorted(os.listdir(folder.parent))
    with pytest.raises(StoreError, match="no profile has that name"):
        history.read_history(store, slug)
    assert sorted(os.listdir(folder.parent)) == before


@pytest.mark.parametrize("note", ["<script>", "a\nb", "\u202e", "n" * 10_000, "\ud800"])
def test_a_note_is_one_short_line_whatever_it_was(store, lot, note):
    history.write_profile(store, lot.replaced(pressures=SOFT), "wood-lot", note=note)
    (found,) = history.read_history(store, "wood-lot").kept
    assert len(found.note) <= 120
    assert not found.note or found.note.isprintable()


def test_the_oldest_go_where_it_would_grow_without_end(store, folder, lot):
    line = json.dumps({"at": "2020-05-04T07:30:00+00:00", "reason": "saved", "pressures": {"rear_left": "1 psi"}})
    file = folder / "history/wood-lot.jsonl"
    file.parent.mkdir()
    file.write_text(f"{line}\n" * (1_000_000 // (len(line) + 1)), "utf-8")
    history.write_profile(store, lot.replaced(pressures=SOFT), "wood-lot")
    assert file.stat().st_size <= 1_000_000
    assert told(store)[0] == ("saved", "40 psi")


def test_saves_of_many_threads_are_all_there(store, folder, lot):
    from concurrent.futures import ThreadPoolExecutor

    def save(number):
        other = Store(folder)
        with other.alone("test"):
            profile = other.read_profile("wood-lot")
            history.write_profile(other, profile.replaced(pressures=Pressures(rear_left=f"{number} psi")), "wood-lot")

    with ThreadPoolExecutor(4) as pool:
        list(pool.map(save, range(1, 25)))
    assert sorted(int(rear.split()[0]) for _, rear in told(store)) == list(range(1, 25))
    assert {reason for reason, _ in told(store)} == {"saved"}
