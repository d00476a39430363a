"""One writer at a time in a folder, whatever program it runs in."""

import errno
import os
import subprocess
import sys
import threading

import pytest

from planner.store import StoreError, locking
from planner.store.locking import LOCK, alone

HOLD = """
import sys
from pathlib import Path
from planner.store.locking import alone
with alone(Path(sys.argv[1]), "x"):
    sys.stdout.write("held\\n")
    sys.stdout.flush()
    sys.stdin.read()
"""


@pytest.fixture
def other(folder):
    """Another program that holds the folder until it is ended."""
    command = [sys.executable, "-c", HOLD, str(folder)]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout.readline() == "held\n"
        yield process
        process.kill()


def test_a_folder_held_by_another_program_is_not_written_and_can_be_read(store, folder, other, monkeypatch):
    monkeypatch.setattr(locking, "PATIENCE", 0.05)
    profile = store.read_profile("wood-lot")
    before = (folder / "wood-lot.toml").read_bytes()
    said = "cannot be written: another program has been using the folder for 0.05 s: wait, or close that program"
    with pytest.raises(StoreError, match=rf"^wood-lot\.toml: {said}"):
        store.write(profile.replaced(left_share=0.4))
    for call in (
        lambda: store.delete("wood-lot"),
        lambda: store.rename("wood-lot", "X"),
        lambda: store.save_as(profile, "X"),
    ):
        with pytest.raises(StoreError, match=said):
            call()
    assert (folder / "wood-lot.toml").read_bytes() == before
    assert store.profiles() == ["wood-lot"]


def test_what_goes_while_we_wait_is_told(store, folder, other):
    def leave():
        (folder / "wood-lot.toml").unlink()
        other.stdin.close()

    threading.Timer(0.2, leave).start()
    with pytest.raises(StoreError, match=r"wood-lot\.toml: no profile has that name"):
        store.delete("wood-lot")
    assert store.binned() == []


def test_a_program_that_is_killed_lets_go(store, other):
    other.kill()
    other.wait()
    store.write(store.read_profile("wood-lot").replaced(left_share=0.4))
    assert store.read_profile("wood-lot").left_share == 0.4


def test_whoever_waits_is_let_in_when_the_other_leaves(store, other):
    threading.Timer(0.2, other.stdin.close).start()
    store.write(store.read_profile("wood-lot").replaced(left_share=0.4))
    assert store.read_profile("wood-lot").left_share == 0.4


def test_who_is_inside_may_write_and_another_thread_may_not(store, folder, monkeypatch):
    monkeypatch.setattr(locking, "PATIENCE", 0.05)
    profile, said = store.read_profile("wood-lot"), []

    def intrude():
        try:
            store.write(profile.replaced(left_share=0.3))
        except StoreError as exc:
            said.append(str(exc))

    with store.alone("wood-lot.toml"):
        store.write(profile.replaced(left_share=0.4))
        thread = threading.Thread(target=intrude)
        thread.start()
        thread.join()
    assert len(said) == 1
    assert "another program has been using the folder" in said[0]
    assert store.read_profile("wood-lot").left_share == 0.4


@pytest.mark.parametrize(("number", "said"), [(errno.ENOSPC, "the disk is full"), (errno.EROFS, "is read-only")])
def test_a_lock_that_cannot_be_made_is_told(store, folder, monkeypatch, number, said):
    real = os.open

    def refuse(path, *args, **kwargs):
        if str(path).endswith(LOCK):
            raise OSError(number, os.strerror(number))
        return real(path, *args, **kwargs)

    profile = store.read_profile("wood-lot")
    monkeypatch.setattr(os, "open", refuse)
    with pytest.raises(StoreError, match=rf"^wood-lot\.toml: cannot be written: .*{said}"):
        store.write(profile.replaced(left_share=0.4))


def test_an_error_inside_lets_go(folder):
    with pytest.raises(KeyError), alone(folder, "x"):
        raise KeyError
    with alone(folder, "x"):
        assert (folder / LOCK).stat().st_size == 0


def test_a_lock_that_is_a_link_is_refused_and_what_it_leads_to_stays_whole(folder, tmp_path):
    """filelock before 3.20.1 emptied the file (CVE-2025-68146); 3.20.3 is the first that has no kind of lock do so."""
    victim = tmp_path / "victim"
    victim.write_text("precious", "utf-8")
    (folder / LOCK).symlink_to(victim)
    with pytest.raises(StoreError, match="is not an ordinary file"), alone(folder, "x"):
        pass
    assert victim.read_text("utf-8") == "precious"
