"""Property tests draw the same cases every time and are not timed: a slow machine is no finding."""

import shutil
from pathlib import Path

import pytest
from hypothesis import settings

from planner.forms.profile_draft import ProfileDraft
from planner.forms.profile_form import open_profile
from planner.front.shell import environment
from planner.store import Store
from planner.store.folder import demo_folder

settings.register_profile("steady", deadline=None, derandomize=True)
settings.load_profile("steady")


TRACED = 9  # seeds, one for each layout of a random truck


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Trace the first seeds of a test that has many: the others go the same ways, half as slow again or worse."""
    seeds: dict[str, set[object]] = {}
    for item in items:
        seed = getattr(item, "callspec", None) and item.callspec.params.get("seed")
        if seed is not None:
            seen = seeds.setdefault(item.nodeid.partition("[")[0], set())
            seen.add(seed)
            if len(seen) > TRACED:
                item.add_marker("no_cover")


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A copy of the demo, which the app is pointed at."""
    copy = tmp_path / "profiles"
    shutil.copytree(demo_folder(), copy)
    monkeypatch.setenv(environment.PROFILES, str(copy))
    monkeypatch.delenv(environment.UNITS, raising=False)
    return copy


@pytest.fixture
def store(folder: Path) -> Store:
    return Store(folder)


@pytest.fixture
def work(store: Store) -> ProfileDraft:
    """The draft of the mill's profile, as its file has it."""
    return open_profile(store, "mill-on-the-hill-road")
