import shutil
from pathlib import Path

import pytest

from planner.front import surroundings
from planner.front.work import Work, open_work
from planner.store import Store
from planner.store.folder import demo_folder


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the demo, which the app is pointed at."""
    copy = tmp_path / "profiles"
    shutil.copytree(demo_folder(), copy)
    monkeypatch.setenv(surroundings.PROFILES, str(copy))
    monkeypatch.delenv(surroundings.UNITS, raising=False)
    return copy


@pytest.fixture
def store(folder: Path) -> Store:
    return Store(folder)


@pytest.fixture
def work(store: Store) -> Work:
    return open_work(store, "mill-on-the-hill-road")
