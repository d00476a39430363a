"""What was deleted lies in the bin under its date, comes back, and goes for good only when that is asked for."""

import errno
import os
from datetime import UTC, datetime, timedelta

import pytest

from planner.records import BadInput
from planner.store import TRAILER, TRUCK, Receipt, StoreError, kinds, recycle_bin


def at(year):
    """Make every deletion happen in a year."""

    class Then(datetime):
        @classmethod
        def now(cls, tz=None):
            return cls(year, 5, 4, 7, 30, 0, 250_000, tz)

    return Then


@pytest.fixture
def full(store, folder, monkeypatch):
    """A store whose bin holds a profile of 2024, a trailer of 2025 and a damaged profile of 2026."""
    profile = store.read_profile("wood-lot")
    for year, slug, kind in ((2024, "wood-lot", kinds.PROFILE), (2025, "log-arch", TRAILER)):
        monkeypatch.setattr(recycle_bin, "datetime", at(year))
        store.delete(slug, kind)
    monkeypatch.setattr(recycle_bin, "datetime", at(2026))
    (folder / "torn.toml").write_text("torn", "utf-8")
    store.delete("torn")
    store.write(profile.replaced(trailer=None))
    return store


def test_the_bin_is_listed_with_names_and_dates_the_last_first(full):
    found = full.binned()
    assert [(one.name, one.receipt.kind.name, one.receipt.slug) for one in found] == [
        ("torn", "profile", "torn"),
        ("Log arch", "trailer", "log-arch"),
        ("Wood lot", "profile", "wood-lot"),
    ]
    assert [one.at for one in found] == [datetime(year, 5, 4, 7, 30, 0, 250_000, UTC) for year in (2026, 2025, 2024)]


def test_what_is_listed_comes_back(full):
    for one in full.binned()[:2]:
        assert full.restore(one.receipt) == one.receipt.slug
    assert full.trailers() == ["log-arch"]
    assert full.profiles() == ["torn", "wood-lot"]
    assert [one.name for one in full.binned()] == ["Wood lot"]
    with pytest.raises(StoreError, match=r"wood-lot\.toml: is there again: rename or delete that profile first"):
        full.restore(full.binned()[0].receipt)


def test_only_what_is_old_goes_and_only_when_asked(full, folder):
    (folder / "bin/notes.txt").write_text("mine", "utf-8")
    (folder / "bin/20241301-000000-000000-profile-x.toml").write_text("mine", "utf-8")
    assert [one.slug for one in full.purge(timedelta(days=300))] == ["log-arch", "wood-lot"]
    assert full.purge(timedelta(days=300)) == []
    assert [one.name for one in full.binned()] == ["torn"]
    assert sorted(os.listdir(folder / "bin")) == [
        "20241301-000000-000000-profile-x.toml",
        "20260504-073000-250000-profile-torn.toml",
        "notes.txt",
    ]


def test_a_folder_without_a_bin_has_an_empty_one(store, folder):
    assert store.binned() == store.purge(timedelta(0)) == []
    assert not (folder / "bin").exists()


@pytest.mark.parametrize("name", ["", "x.toml", "../wood-lot.toml", "20260504-073000-250000-profile-../x.toml"])
def test_nothing_but_what_was_deleted_here_comes_back(store, folder, name):
    with pytest.raises(StoreError, match="is no longer in the bin"):
        store.restore(Receipt(TRUCK, "other", name))
    assert Receipt.read(name) is None


def test_a_bin_that_leads_elsewhere_takes_and_gives_nothing(store, folder, tmp_path):
    (tmp_path / "outside").mkdir()
    (folder / "bin").symlink_to(tmp_path / "outside")
    for call in (lambda: store.delete("wood-lot"), store.binned, lambda: store.purge(timedelta(0))):
        with pytest.raises(StoreError, match="bin: is a link to a place outside the folder"):
            call()
    assert store.profiles() == ["wood-lot"]
    assert os.listdir(tmp_path / "outside") == []


def test_a_bin_that_cannot_be_read_or_emptied_is_told(full, monkeypatch):
    def refuse(*args):
        raise OSError(errno.EACCES, os.strerror(errno.EACCES))

    with monkeypatch.context() as patch:
        patch.setattr(os, "listdir", refuse)
        with pytest.raises(BadInput, match="bin: cannot be read: permission is denied"):
            full.binned()
    monkeypatch.setattr(recycle_bin.atomic_write, "remove_file", refuse)
    with pytest.raises(StoreError, match=r"bin/2024.*wood-lot\.toml: cannot be taken away: permission is denied"):
        full.purge(timedelta(days=600))
