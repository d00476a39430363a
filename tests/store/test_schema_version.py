"""Older files are read through steps and kept, dated, when they are first written; newer ones are left alone.

There is one schema so far: the path is walked here with steps of the tests' own.
"""

import errno
import os
from dataclasses import replace
from typing import Literal

import pytest
from pydantic import Field

from planner.records import BadInput, Profile
from planner.store import PROFILE, TRAILER, TRUCK, Store, StoreError, recycle_bin
from planner.store import schema_version as schemas


class Second(Profile):
    """A profile of schema 2: the share is in hundredths."""

    schema_version: Literal[2] = Field(default=2, alias="schema")
    left_percent: float = 50.0


class Third(Profile):
    """A profile of schema 3: the share is in thousandths."""

    schema_version: Literal[3] = Field(default=3, alias="schema")
    left_permille: float = 500.0


def to_second(table):
    rest = {key: value for key, value in table.items() if key != "left_share"}
    return rest | ({"left_percent": 100 * table["left_share"]} if "left_share" in table else {})


def to_third(table):
    rest = {key: value for key, value in table.items() if key != "left_percent"}
    return rest | ({"left_permille": 10 * table["left_percent"]} if "left_percent" in table else {})


def newer_store(folder, record=Second, steps=None):
    return Store(folder, (TRUCK, TRAILER, replace(PROFILE, record=record, steps=steps or {1: to_second})))


@pytest.fixture
def old(folder):
    """The bytes of a file of schema 1 that says its share."""
    path = folder / "wood-lot.toml"
    path.write_text(path.read_text("utf-8").replace("\n\n# never", "\nleft_share = 0.25\n\n# never", 1), "utf-8")
    return path.read_bytes()


def backups(folder):
    place = folder / "backups"
    return {path.name: path.read_bytes() for path in place.iterdir()} if place.exists() else {}


def test_an_old_file_is_read_and_listed_and_left_as_it_is(folder, old):
    store = newer_store(folder)
    profile = store.read_profile("wood-lot")
    assert (profile.schema_version, profile.left_percent) == (2, 25.0)
    (entry,) = store.entries(PROFILE)
    assert (entry.name, entry.problems) == ("Wood lot", ())
    assert store.check() == []
    store.write(profile, "wood-lot")
    assert (folder / "wood-lot.toml").read_bytes() == old
    assert backups(folder) == {}


def test_the_first_change_keeps_the_old_file_and_writes_the_new_form(folder, old):
    store = newer_store(folder)
    profile = store.read_profile("wood-lot")
    store.write(profile.replaced(left_percent=30.0), "wood-lot", expected=profile)
    ((name, kept),) = backups(folder).items()
    assert kept == old
    assert name.endswith("-wood-lot-schema-1.toml")
    assert name[:8].isdigit()
    text = (folder / "wood-lot.toml").read_text("utf-8")
    assert "schema = 2" in text
    assert "left_percent = 30.0" in text
    assert "left_share" not in text
    assert "# lives under the seat" in text
    assert store.read_profile("wood-lot").left_percent == 30.0
    store.write(store.read_profile("wood-lot").replaced(left_percent=40.0))
    assert len(backups(folder)) == 1


def test_steps_are_taken_one_after_the_other(folder, old):
    store = newer_store(folder, Third, {1: to_second, 2: to_third})
    assert store.read_profile("wood-lot").left_permille == 250.0
    store.write(store.read_profile("wood-lot").replaced(left_permille=300.0))
    assert list(backups(folder).values()) == [old]
    assert store.read_profile("wood-lot").left_permille == 300.0


def test_renaming_an_old_file_keeps_it_too(folder, old):
    store = newer_store(folder)
    store.rename("wood-lot", "New lot")
    assert store.read_profile("new-lot").left_percent == 25.0
    assert list(backups(folder).values()) == [old]


def test_two_kept_at_the_same_instant_both_stay(folder, old, monkeypatch):
    class Still(recycle_bin.datetime):
        @classmethod
        def now(cls, tz=None):
            return cls(2026, 5, 4, 7, 30, tzinfo=tz)

    monkeypatch.setattr(recycle_bin, "datetime", Still)
    store = newer_store(folder)
    for share in (30.0, 40.0):
        store.write(store.read_profile("wood-lot").replaced(left_percent=share))
        (folder / "wood-lot.toml").write_bytes(old)
    assert sorted(backups(folder)) == [
        "20260504-073000-000000-wood-lot-schema-1.toml",
        "20260504-073000-000001-wood-lot-schema-1.toml",
    ]


def test_where_the_old_file_cannot_be_kept_nothing_is_written(folder, old, monkeypatch):
    def refuse(path, data):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    store = newer_store(folder)
    profile = store.read_profile("wood-lot")
    monkeypatch.setattr(recycle_bin.atomic_write, "replace_file", refuse)
    with pytest.raises(StoreError, match=r"wood-lot\.toml: cannot be written: the disk is full"):
        store.write(profile.replaced(left_percent=30.0), "wood-lot")
    assert (folder / "wood-lot.toml").read_bytes() == old


def test_an_old_file_that_no_step_knows_is_refused(folder, old):
    store = newer_store(folder, Third)
    with pytest.raises(BadInput, match=r"wood-lot\.toml: schema: must be 3"):
        store.read_profile("wood-lot")


def test_an_old_file_that_is_damaged_is_told_and_left(folder, old):
    path = folder / "wood-lot.toml"
    path.write_bytes(old.replace(b"left_share = 0.25", b'left_share = ["?"]'))
    damaged = path.read_bytes()

    def step(table):
        return {**table, "left_percent": 100 * float(table["left_share"])}

    store = newer_store(folder, steps={1: step})
    (entry,) = store.entries(PROFILE)
    assert entry.problems[0].line() == (
        "wood-lot.toml: cannot be updated from schema 1 to 2: it is damaged: "
        "fix it in a text editor, or with the planner that wrote it"
    )
    with pytest.raises(StoreError, match="is damaged, so it was not overwritten"):
        store.write(Second(name="Wood lot", truck="flatbed"), "wood-lot")
    assert path.read_bytes() == damaged


@pytest.mark.parametrize("name", ["wood-lot.toml", "trucks/flatbed.toml", "trailers/log-arch.toml"])
def test_a_newer_file_is_told_once_and_left(store, folder, name):
    path = folder / name
    text = path.read_text("utf-8").replace("schema = 1", "schema = 2") + "\n[a_table_of_tomorrow]\nx = 1\n"
    path.write_text(text, "utf-8")
    kind = next(kind for kind in (TRUCK, TRAILER, PROFILE) if kind.file(path.stem) == name)
    (entry,) = store.entries(kind)
    (problem,) = entry.problems
    assert problem.line() == (
        f"{name}: has schema 2, this planner knows up to 1: "
        "made by a newer planner; update this one, the file was not touched"
    )
    with pytest.raises(BadInput, match="made by a newer planner"):
        store.read(kind, path.stem)
    assert path.read_text("utf-8") == text


def test_a_newer_profile_is_never_written_over(store, folder):
    profile = store.read_profile("wood-lot")
    path = folder / "wood-lot.toml"
    path.write_text(path.read_text("utf-8").replace("schema = 1", "schema = 7"), "utf-8")
    before = path.read_bytes()
    with pytest.raises(StoreError, match="has schema 7, this planner knows up to 1, so it was not overwritten: made"):
        store.write(profile.replaced(left_share=0.4), "wood-lot")
    with pytest.raises(BadInput, match="made by a newer planner"):
        store.read_profile_path(path)
    assert path.read_bytes() == before


def test_today_there_is_one_schema_and_no_step():
    assert [(kind.schema, dict(kind.steps)) for kind in (TRUCK, TRAILER, PROFILE)] == [(1, {})] * 3
    assert schemas.NEWER == "made by a newer planner; update this one, the file was not touched"
