"""SVG as text: valid whatever the names hold, cut where it does not fit."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.show.drawings.palette import DARK, LIGHT
from planner.show.drawings.svg import (
    clean,
    document,
    first_fitting,
    hatch,
    number,
    shorten,
    tag,
    text,
    text_width,
    wrapped,
)
from tests.show.reading import parsed, words

ANY_TEXT = st.text(st.characters(), max_size=60)  # surrogates and control characters among them


@pytest.mark.parametrize(("value", "written"), [(1.0, "1"), (-0.001, "0"), (12.345, "12.35"), (-2.5, "-2.5")])
def test_a_coordinate_is_short(value, written):
    assert number(value) == written


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("Band mill", "Band mill"),
        ("  two \n lines\t", "two lines"),
        ("a\x00b\x1bc", "a b c"),
        ("\u202eevil\u200f", "evil"),
        ("\ud800half", "half"),
        ("", "unnamed"),
        ("\u202a", "unnamed"),
        ("👩\u200d🔧 crew", "👩\u200d🔧 crew"),
        ("e\u0301", "é"),
        ("z" + "\u0335" * 40, "z" + "\u0335" * 3),
    ],
)
def test_a_name_is_what_an_eye_can_see(name, shown):
    assert clean(name) == shown


@given(ANY_TEXT)
def test_any_name_makes_valid_xml(name):
    body = [text(clean(name), 10, 20, LIGHT.ink), tag("rect", cls=clean(name), width=1)]
    drawing = document("any", 40, clean(name), clean(name), body)
    assert words(drawing) == [clean(name)]


@given(ANY_TEXT, st.floats(20, 300))
def test_a_shortened_name_fits(name, width):
    short = shorten(clean(name), 14, width)
    assert text_width(short, 14) <= max(width, text_width("…", 14))
    assert short == clean(name) or short.endswith("…")


def test_a_cut_leaves_no_dangling_joiner_or_space():
    assert shorten("ab 👩\u200d🔧", 14, text_width("ab 👩", 14) + 16) == "ab 👩…"
    assert shorten("ab cdefgh", 14, text_width("ab …", 14)) == "ab…"


def test_bold_is_wider():
    assert text_width("46", 40, bold=True) > text_width("46", 40) > 0
    assert text_width("漢", 10) > text_width("i", 10)
    assert text_width("\u0301", 10) == 0


def test_the_longest_wording_that_fits_is_taken():
    assert first_fitting(("a long wording", "short"), 14, 300) == "a long wording"
    assert first_fitting(("a long wording", "short"), 14, 60) == "short"
    assert first_fitting(("a long wording", "short"), 14, 34) == "sh…"


def test_a_sentence_breaks_between_words_and_ends_in_an_ellipsis():
    sentence = "one two three four five six seven eight nine ten"
    lines = wrapped(sentence, 14, 120, 9)
    assert " ".join(lines) == sentence
    assert all(text_width(line, 14) <= 120 for line in lines)
    cut = wrapped(sentence, 14, 120, 2)
    assert len(cut) == 2
    assert cut[-1].endswith("…")
    assert wrapped("", 14, 120, 2) == []
    assert wrapped("unbreakableword" * 5, 14, 120, 2)[0].endswith("…")


def test_a_number_is_not_parted_from_its_unit():
    assert wrapped("the rear is 100 mm low", 14, text_width("the rear is 100 ", 14), 3) == ["the rear is", "100 mm low"]


def test_a_drawing_has_its_words_its_box_and_nothing_from_outside():
    drawing = document("kind", 40, "A <title>", "Said & done", [], [hatch("over", LIGHT.brick)])
    root = parsed(drawing)
    named = {element.get("id"): element.text for element in root if element.get("id")}
    assert root.get("role") == "img"
    assert [named[name] for name in root.get("aria-labelledby").split()] == ["A <title>", "Said & done"]
    assert root.get("viewBox") == "0 0 400 40"
    assert (drawing.alt, drawing.height) == ("Said & done", 40)
    assert "<script" not in drawing.svg
    assert "href" not in drawing.svg
    assert "<defs" not in document("kind", 40, "t", "a", []).svg


def test_attributes_are_escaped():
    assert tag("rect", fill='"><script>') == '<rect fill="&quot;&gt;&lt;script&gt;"/>'


def test_a_name_that_reads_like_a_colour_is_the_same_on_dark_paper():
    name = f'fill="{LIGHT.ink}"'
    body = [text(name, 10, 20, LIGHT.ink)]
    dark = document("any", 40, name, name, body).on_dark()
    assert dark.count("&quot;#1f2933&quot;") == 3
    assert f'fill="{DARK.ink}"' in dark
