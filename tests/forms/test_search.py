from datetime import UTC, datetime

import pytest

from planner.forms.search import find_called, find_profiles, last_used_first
from planner.records import Brief, Problem
from planner.store import Entry
from planner.store.favourites import Handy
from planner.store.name_order import fold_case

EARLY, LATE = datetime(2026, 5, 4, tzinfo=UTC), datetime(2026, 6, 4, tzinfo=UTC)
NAMES = {"ridge-truck": "Ridge truck", "yard-truck": "Yard truck", "band-mill": "Band mill", "buro": "Büro"}


def entry(slug, name, truck="ridge-truck", trailer=None, cargo=()):
    return Entry(slug, Brief(name, truck, trailer, tuple(cargo)), (), EARLY, lambda: None)


ALL = [
    entry("a", "Ångström wagon", trailer="band-mill"),
    entry("b", "mill on the hill", cargo=["Fuel drum"]),
    entry("c", "Zebra", truck="yard-truck", trailer="buro"),
    Entry("torn", None, (Problem("torn.toml", "", "", "is torn", "mend it"),), EARLY, lambda: None),
]


def slugs(words="", trailer="", handy=None):
    return [one.slug for one in find_profiles(ALL, handy or Handy(), words, trailer, NAMES)]


@pytest.mark.parametrize(
    ("words", "there"),
    [
        ("", ["a", "b", "torn", "c"]),
        ("angstrom", ["a"]),
        ("ÅNGSTRÖM", ["a"]),
        ("  hill   MILL ", ["b"]),
        ("band", ["a"]),
        ("buro", ["c"]),
        ("yard", ["c"]),
        ("fuel", ["b"]),
        ("ridge mill", ["a", "b"]),
        ("tor", ["torn"]),
        ("nothing like it", []),
        (".*", []),
        ("x" * 10_000, []),
    ],
)
def test_words_find_profiles_whatever_their_case_and_accents(words, there):
    assert slugs(words) == there


def test_a_trailer_narrows_the_list_and_goes_with_the_words():
    assert slugs(trailer="band-mill") == ["a"]
    assert slugs("zebra", "band-mill") == []


def test_favourites_come_first_then_the_last_used_then_by_name():
    handy = Handy(frozenset({"c", "torn"}), {"b": LATE, "torn": EARLY})
    assert slugs(handy=handy) == ["torn", "c", "b", "a"]


def test_the_last_used_is_the_first_to_choose():
    assert last_used_first(["a", "b", "c"], Handy(used={"b": EARLY, "c": LATE})) == ["c", "b", "a"]


def test_names_that_are_alike_are_told_apart_by_their_files():
    assert find_called({"a": "Mill", "b": "Mill", "c": "Logs"}) == {"a": "Mill (a)", "b": "Mill (b)", "c": "Logs"}


def test_folding_leaves_other_scripts_alone():
    assert fold_case("Straße ΣΊΣΥΦΟΣ שלום") == fold_case("STRASSE σισυφοσ שלום")


def test_numbers_in_names_sort_by_their_size():
    some = [entry(str(n), f"Load {n}") for n in (10, 2, 1)]
    assert [one.slug for one in find_profiles(some, Handy(), "", "", NAMES)] == ["1", "2", "10"]
