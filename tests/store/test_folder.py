"""Which folder is worked in, and how the demo gets there."""

import os
import re
import shutil
from pathlib import Path

import platformdirs
import pytest

from planner.store import StoreError, folder
from planner.store.folder import copy_demo, demo_folder, find_folder


@pytest.fixture
def nowhere(tmp_path, monkeypatch):
    """A place with no folder, no variable and a home of its own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("PLANNER_PROFILES", raising=False)
    monkeypatch.setattr(platformdirs, "user_data_path", lambda name, appauthor: tmp_path / "home" / name)
    return tmp_path


@pytest.fixture
def demo(tmp_path, monkeypatch):
    """A package with a demo inside, as a wheel has it, and one beside it, as a checkout has it."""
    package = tmp_path / "site/planner"
    for place in (package / "_profiles", package.parent / "profiles"):
        (place / "trucks").mkdir(parents=True)
        (place / "bin").mkdir()
        (place / "bin/old.toml").write_text("old", "utf-8")
        (place / "notes.txt").write_text("notes", "utf-8")
        (place / "demo.toml").write_text(place.name, "utf-8")
        (place / "trucks/demo.toml").write_text(place.name, "utf-8")
    monkeypatch.setattr(folder, "PACKAGE", package)
    return package


def files_in(place):
    return sorted(str(path.relative_to(place)) for path in place.rglob("*") if path.is_file())


def test_the_folder_given_comes_first(nowhere, monkeypatch):
    (nowhere / "mine").mkdir()
    (nowhere / "profiles").mkdir()
    monkeypatch.setenv("PLANNER_PROFILES", str(nowhere / "profiles"))
    assert find_folder(Path("mine")) == nowhere / "mine"


def test_the_variable_comes_second(nowhere, monkeypatch):
    (nowhere / "named").mkdir()
    (nowhere / "profiles").mkdir()
    monkeypatch.setenv("PLANNER_PROFILES", "named")
    assert find_folder() == nowhere / "named"


def test_a_home_sign_is_understood(nowhere, monkeypatch):
    (nowhere / "mine").mkdir()
    monkeypatch.setenv("HOME", str(nowhere))
    monkeypatch.setenv("USERPROFILE", str(nowhere))
    assert find_folder(Path("~/mine")) == nowhere / "mine"


def test_a_home_that_nobody_knows_is_a_folder_that_is_not_there(nowhere):
    with pytest.raises(StoreError, match="is not there"):
        find_folder(Path("~nobody-of-this-name/profiles"))


def test_profiles_here_come_third(nowhere):
    (nowhere / "profiles").mkdir()
    assert find_folder() == nowhere / "profiles"


def test_the_users_own_folder_comes_last_with_the_demo_on_first_run_only(nowhere, demo):
    (nowhere / "profiles").write_text("a file of this name is no folder", "utf-8")
    own = find_folder()
    assert own == nowhere / "home/trailer-setup-planner/profiles"
    assert files_in(own.parent) == ["profiles/demo.toml", "profiles/trucks/demo.toml"]
    (own / "demo.toml").unlink()
    assert find_folder() == own
    assert files_in(own) == ["trucks/demo.toml"]


@pytest.mark.parametrize("source", ["--profiles", "PLANNER_PROFILES"])
def test_a_named_folder_that_is_not_there_is_not_made(nowhere, monkeypatch, source):
    missing = nowhere / "profles"
    monkeypatch.setenv("PLANNER_PROFILES", str(missing))
    with pytest.raises(StoreError, match=rf"profles: is not there \(named by {source}\): make the folder") as caught:
        find_folder(missing if source == "--profiles" else None)
    assert len(str(caught.value).splitlines()) == 1
    assert not missing.exists()


def test_a_file_is_no_folder(nowhere):
    (nowhere / "mine").write_text("", "utf-8")
    with pytest.raises(StoreError, match="is a file, not a folder"):
        find_folder(nowhere / "mine")


def test_the_demo_in_the_package_comes_before_one_beside_it(demo):
    assert demo_folder() == demo / "_profiles"
    shutil.rmtree(demo / "_profiles")
    assert demo_folder() == demo.parent / "profiles"


def test_a_package_without_demo_says_so(demo, tmp_path):
    shutil.rmtree(demo / "_profiles")
    shutil.rmtree(demo.parent / "profiles")
    with pytest.raises(StoreError, match="demo's files are missing: install the planner again"):
        copy_demo(tmp_path / "own")
    assert [path.name for path in tmp_path.iterdir()] == ["site"]


def test_seeding_never_touches_a_folder_that_is_there(demo, tmp_path):
    own = tmp_path / "own"
    own.mkdir()
    copy_demo(own)
    assert list(own.iterdir()) == []


def test_a_seeding_that_fails_leaves_nothing(demo, tmp_path, monkeypatch):
    def full(source, target):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(shutil, "copyfile", full)
    with pytest.raises(StoreError, match="cannot be made: the disk is full: free some space"):
        copy_demo(tmp_path / "data/own")
    assert list((tmp_path / "data").iterdir()) == []


def test_two_that_seed_at_once_end_with_one_folder(demo, tmp_path, monkeypatch):
    own = tmp_path / "own"

    def late(source, target):
        own.mkdir()
        (own / "theirs.toml").write_text("theirs", "utf-8")
        raise OSError(39, "Directory not empty")

    monkeypatch.setattr(os, "rename", late)
    copy_demo(own)
    assert files_in(own) == ["theirs.toml"]
    assert not [path for path in tmp_path.iterdir() if re.match(r"\.profiles-", path.name)]


def test_the_demo_that_comes_with_the_planner_is_sound():
    from planner.store import Store

    store = Store(demo_folder())
    assert store.profiles()
    assert store.check() == []
