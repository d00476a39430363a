"""What is shown before Streamlit is there: kept, believed as long as it is true, and never in the way."""

import os
import shutil
import threading

import platformdirs
import pytest

from planner.front.profiles.prerender import prerender
from planner.front.shell import environment, first_view
from planner.store import Store, favourites
from planner.store.folder import demo_folder

MILL = "mill-on-the-hill-road"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A copy of the demo that came to rest long ago, and a cache of its own, which no test before still writes to."""
    for timer in [one for one in threading.enumerate() if isinstance(one, threading.Timer)]:
        timer.cancel()
        timer.join()
    monkeypatch.setattr(platformdirs, "user_cache_path", lambda name, appauthor: tmp_path / "cache" / name)
    monkeypatch.setattr(first_view, "SETTLED", 0)  # the time an entry changed cannot be set
    copy = shutil.copytree(demo_folder(), tmp_path / "profiles")
    monkeypatch.setenv(environment.PROFILES, str(copy))
    return copy


def shown_without_maker(monkeypatch, query=()):
    """Return what a planner shows that has just been started, for which nothing is imported yet."""
    with monkeypatch.context() as fresh:
        fresh.delitem(first_view.sys.modules, first_view.MAKER)
        return first_view.find_first_view(dict(query))


def test_what_is_kept_is_what_would_be_made(folder, monkeypatch):
    assert shown_without_maker(monkeypatch) == ""
    first_view.keep_first_view()
    assert shown_without_maker(monkeypatch) == prerender({})
    assert shown_without_maker(monkeypatch, {"profile": MILL}.items()) == ""  # one alone is not kept
    assert first_view.find_first_view({"profile": MILL}) == prerender({"profile": MILL})


@pytest.mark.parametrize("name", [f"{MILL}.toml", "trucks/ridge-truck.toml", "trailers/band-mill.toml"])
def test_nothing_that_was_made_of_other_files_is_shown(folder, monkeypatch, name):
    first_view.keep_first_view()
    file = folder / name
    text, was = file.read_bytes(), file.stat()
    file.write_bytes(text)
    os.utime(file, ns=(was.st_atime_ns, was.st_mtime_ns))  # all but the entry is as it was
    assert shown_without_maker(monkeypatch) == ""


@pytest.mark.parametrize("change", ["favourite", "draft", "gone", "units"])
def test_whatever_changes_the_list_makes_it_anew(folder, monkeypatch, change):
    first_view.keep_first_view()
    if change == "favourite":
        favourites.with_favourite(folder, "weekly-mill-run", True)
    elif change == "draft":
        (folder / "drafts").mkdir()
        (folder / "drafts" / "_new.json").write_text("{}")
    elif change == "gone":
        Store(folder).delete("weekly-mill-run")
    else:
        monkeypatch.setenv(environment.UNITS, "metric")
    assert shown_without_maker(monkeypatch) == ""
    first_view.keep_first_view()
    assert shown_without_maker(monkeypatch) == prerender({})


def test_files_that_were_written_just_now_are_not_trusted_to_their_time(folder, monkeypatch):
    monkeypatch.setattr(first_view, "SETTLED", 3_600_000_000_000)
    first_view.keep_first_view()
    assert not first_view.kept_in(folder).exists()


def test_a_cache_that_cannot_be_read_or_written_is_no_matter(folder, monkeypatch):
    first_view.keep_first_view()
    kept = first_view.kept_in(folder)
    kept.write_bytes(b"\xff\xfe")
    assert shown_without_maker(monkeypatch) == ""
    kept.unlink()
    kept.mkdir()
    first_view.keep_first_view()
    assert first_view.find_first_view({}) == prerender({})


def test_what_cannot_be_made_is_left_to_the_page(folder):
    (folder / f"{MILL}.toml").write_text("name = ")
    assert "cannot be used" in first_view.find_first_view({})
    assert first_view.find_first_view({"profile": MILL}) == ""
    assert first_view.find_first_view({"profile": "../../etc/passwd"}) == ""
    shutil.rmtree(folder)
    assert first_view.find_first_view({}) == ""
