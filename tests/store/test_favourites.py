import json
from datetime import UTC, datetime, timedelta
from threading import Thread

import pytest

from planner.store import StoreError, atomic_write, favourites
from planner.store.favourites import FILE, Handy

AT = datetime(2026, 5, 4, 7, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        '{"favourites": 3, "used": []}',
        '{"favourites": [3, null, "../x"], "used": {"../x": "2026-05-04T07:30:00+00:00"}}',
        '{"used": {"mill": 5, "slabs": "yesterday", "logs": "2026-05-04T07:30:00"}}',
        "[" * 100_000,
        "\x00",
    ],
)
def test_what_is_damaged_is_forgotten(tmp_path, text):
    (tmp_path / FILE).write_text(text, "utf-8")
    assert favourites.read_favourites(tmp_path) == Handy()


def test_a_folder_without_any_has_none(tmp_path):
    assert favourites.read_favourites(tmp_path) == Handy()


def test_favourites_come_and_go_and_leave_the_uses_alone(tmp_path):
    favourites.was_used(tmp_path, "mill", AT)
    favourites.with_favourite(tmp_path, "mill", True)
    favourites.with_favourite(tmp_path, "slabs", True)
    assert favourites.read_favourites(tmp_path) == Handy(frozenset({"mill", "slabs"}), {"mill": AT})
    favourites.with_favourite(tmp_path, "mill", False)
    assert favourites.read_favourites(tmp_path) == Handy(frozenset({"slabs"}), {"mill": AT})


def test_a_profile_looked_at_again_soon_was_used_once(tmp_path):
    favourites.was_used(tmp_path, "mill", AT)
    favourites.was_used(tmp_path, "mill", AT + favourites.SAME_USE / 2)
    assert favourites.read_favourites(tmp_path).used == {"mill": AT}
    favourites.was_used(tmp_path, "mill", AT + 2 * favourites.SAME_USE)
    assert favourites.read_favourites(tmp_path).used == {"mill": AT + 2 * favourites.SAME_USE}


def test_a_clock_that_was_put_back_does_not_keep_a_profile_first_for_ever(tmp_path):
    favourites.was_used(tmp_path, "mill", AT + timedelta(days=400))
    favourites.was_used(tmp_path, "mill", AT)
    assert favourites.read_favourites(tmp_path).used == {"mill": AT}


def test_a_renamed_profile_keeps_its_place(tmp_path):
    favourites.with_favourite(tmp_path, "mill", True)
    favourites.was_used(tmp_path, "mill", AT)
    favourites.rename_favourite(tmp_path, "mill", "mill-north")
    assert favourites.read_favourites(tmp_path) == Handy(frozenset({"mill-north"}), {"mill-north": AT})


def test_a_renamed_profile_that_was_never_used_writes_nothing(tmp_path):
    favourites.rename_favourite(tmp_path, "mill", "mill-north")
    assert not (tmp_path / FILE).exists()


def test_of_many_who_write_at_once_none_is_lost(tmp_path):
    slugs = [f"mill-{number}" for number in range(24)]
    threads = [Thread(target=favourites.with_favourite, args=(tmp_path, slug, True)) for slug in slugs]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert favourites.read_favourites(tmp_path).favourites == set(slugs)


def test_a_disk_that_refuses_is_said_of_a_favourite_and_not_of_a_use(tmp_path, monkeypatch):
    def refuse(path, data):
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr(atomic_write, "replace_file", refuse)
    with pytest.raises(StoreError, match="cannot be written"):
        favourites.with_favourite(tmp_path, "mill", True)
    favourites.was_used(tmp_path, "mill", AT)
    favourites.rename_favourite(tmp_path, "mill", "mill-north")


def test_the_file_is_text_that_a_person_can_read(tmp_path):
    favourites.with_favourite(tmp_path, "mill", True)
    favourites.was_used(tmp_path, "mill", AT)
    content = json.loads((tmp_path / FILE).read_text("utf-8"))
    assert content == {"favourites": ["mill"], "used": {"mill": "2026-05-04T07:30:00+00:00"}}
