import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.show.text.console import printable


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("Mill on the hill road: 62 psi, 4,3\u202fbar ■", "Mill on the hill road: 62 psi, 4,3\u202fbar ■"),
        ("one\ntwo", "one\ntwo"),
        ("\x1b]0;title\x07\x1b[2J", r"\u001b]0;title\u0007\u001b[2J"),
        ("\x9b2J", r"\u009b2J"),  # the same command in one letter, ECMA-48 5.4
        ("a\rb\tc\x7f", r"a\rb\tc\u007f"),
        ("gnp.\u202eexe", r"gnp.\u202eexe"),
        ("\udcff", r"\udcff"),
        ("\U000e0041", r"\udb40\udc41"),
    ],
)
def test_nothing_commands_the_terminal(text, shown):
    assert printable(text) == shown


@given(st.text(st.characters(codec=None)))
def test_any_text_can_be_written_and_an_object_stays_the_same_object(text):
    assert "\x1b" not in printable(text)
    printable(text).encode("utf-8")
    assert json.loads(printable(json.dumps([text], ensure_ascii=False))) == json.loads(json.dumps([text]))
