"""Names become file names that every system takes, and never a way out of the folder."""

from pathlib import PureWindowsPath

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from planner.store.slugs import LONGEST, is_slug, numbered, slug

HOSTILE = [
    "../x",
    "con",
    "a/b",
    "x" * 300,
    "\x00\x1f",
    "‮gpj.exe",
    "<b>",
    "🪵",
    "",
    " ",
    ".",
    "..",
    "NUL.",
    "\\\\a\\b",
    "\ud800",
]


@pytest.mark.parametrize(
    ("name", "expected"),
    [
        ("Mill on the hill road", "mill-on-the-hill-road"),
        ("  Größe Œ, Łódź & Ørsta ", "grosse-oe-lodz-orsta"),
        ("İstanbul", "istanbul"),
        ("Ｆｕｌｌ ½", "full-1-2"),
        ("../x", "x"),
        ("a/b", "a-b"),
        ("<b>", "b"),
        ("COM1", "com1-x"),
        ("con", "con-x"),
        ("lpt¹", "lpt1-x"),
        ("console", "console"),
        ("com10", "com10"),
    ],
)
def test_a_name_gives_this_slug(name, expected):
    assert slug(name) == expected


@given(st.text())
@example("a" * 300)
@example("a " * 300)
@example("\ud800")
def test_any_name_gives_a_slug_that_gives_itself(name):
    made = slug(name)
    assert is_slug(made)
    assert slug(made) == made
    assert not PureWindowsPath(f"{made}.toml").is_reserved()
    assert PureWindowsPath(made).parts == (made,)


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_give_slugs(name):
    assert is_slug(slug(name))


def test_names_without_a_letter_of_ours_keep_apart():
    assert slug("🪵") != slug("🚛")
    assert slug("🪵") == slug("🪵")


def test_long_names_with_one_beginning_keep_apart():
    assert slug("x" * 300) != slug("x" * 301)
    assert len(slug("x" * 300)) == LONGEST


def test_an_accent_typed_in_two_ways_is_one_name():
    assert slug("Mühle 🪵" * 20) == slug("Mu\u0308hle 🪵" * 20)


@pytest.mark.parametrize(
    "text", [*HOSTILE, "Mill", "mill_2", "-mill", "mill-", "mi--ll", "mill\n", "mill.toml", "é", "٣"]
)
def test_what_is_no_slug_is_told(text):
    assert not is_slug(text)


@given(st.text(), st.integers(2, 10**6))
def test_a_numbered_slug_is_a_slug(name, number):
    base = slug(name)
    made = numbered(base, number)
    assert is_slug(made)
    assert made != base
    assert made.endswith(f"-{number}")
