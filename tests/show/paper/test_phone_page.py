"""The page for a phone: small, of one piece, nothing from outside, every name plain text."""

import re
from dataclasses import replace
from html.parser import HTMLParser

import pytest

from planner.show.paper.phone_page import MOST_BYTES, MOST_PROFILES, fitting, pocket
from planner.show.text.card import CAUTIONS, LEFT_OUT
from planner.show.text.hitching import UNHITCHING
from planner.show.text.words import AIR_MOVES
from tests.show.carrying import MILL, NAMES, SLABS, demo_card, demo_cards, named_card
from tests.show.conftest import DEMO_PROFILES

ALLOWED = {
    *("html", "head", "meta", "title", "style", "body", "header", "main", "footer", "h1", "p", "ul", "li", "div"),
    *("details", "summary", "bdi", "small", "span", "b", "i", "em", "h2", "ol", "table", "caption", "tr", "th", "td"),
}


class Elements(HTMLParser):
    """Every element with its attributes, and all text."""

    def __init__(self, page):
        super().__init__()
        self.found, self.texts, self.open = [], [], []
        self.feed(page)

    def handle_starttag(self, tag, attrs):
        self.found.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.texts.append(data)

    @property
    def text(self):
        return " ".join(" ".join(self.texts).split())


def opened(read):
    """How many profiles there are to tap."""
    return sum(tag == "details" and attributes["name"] == "profile" for tag, attributes in read.found)


@pytest.mark.parametrize("system", ["us", "metric"])
def test_every_number_of_every_profile_is_in_it(system):
    cards = demo_cards(system)
    read = Elements(pocket(cards))
    for card in cards:
        for k in (0, 1):
            for i in (0, 1):
                assert card.corner(k, i) in read.text
        for part in (card.name, card.outfit, *card.last_lines, *(str(height.written) for height in card.heights)):
            assert part in read.text
    assert all(words in read.text for words in (*CAUTIONS, AIR_MOVES, *UNHITCHING))
    assert [attributes.get("class") for tag, attributes in read.found if tag == "li"].count("stop") == 4
    assert opened(read) == len(cards)


def test_the_ramp_needs_nothing_else():
    """All four stages with pressures and heights, what to beware of, every finding, the way off the trailer."""
    card = demo_card(SLABS)
    text = Elements(pocket([card])).text
    for one in card.stages:
        at = text.index(f"{one.name}: {card.part} at {one.height}")
        inside = text[at : text.index(one.watch, at)]
        assert one.to_do in inside
        assert all(str(written) in inside for row in one.rows for written in row if written)
        assert one.remark in inside
    for _, words in card.findings:
        assert words in text
    assert text.index("Do not drive like this: 4 things") < text.index("front left")
    assert all(
        str(written) in text[text.index("Unhitched") :] for row in card.unhitched.rows for written in row if written
    )
    assert card.trimmed_words in text


@pytest.mark.parametrize("slug", DEMO_PROFILES)
def test_a_profile_takes_a_dozen_kilobytes(slug):
    assert len(pocket([demo_card(slug)] * 2).encode()) - len(pocket([demo_card(slug)]).encode()) < 14_000


@pytest.mark.parametrize("name", [None, *NAMES])
def test_nothing_comes_from_outside_and_nothing_runs(name):
    page = pocket(demo_cards() if name is None else [named_card(name)])
    read = Elements(page)
    assert {tag for tag, _ in read.found} <= ALLOWED
    for tag, attributes in read.found:
        assert not [name for name in attributes if name.startswith("on") or name in ("src", "srcset", "action", "data")]
        assert attributes.get("href", "#").startswith("#"), tag
    style = page[page.index("<style>") : page.index("</style>")]
    assert "url(" not in style
    assert "@import" not in style
    assert "default-src 'none'" in page


def test_one_profile_stands_open_and_several_are_a_list():
    assert "<details" in pocket([demo_card(MILL)])
    assert re.findall(r"<details[^>]* open", pocket([demo_card(MILL)]))
    assert not re.findall(r"<details[^>]* open", pocket(demo_cards()))


@pytest.mark.parametrize("name", NAMES)
def test_a_hostile_name_is_what_was_typed_and_no_more(name):
    card = named_card(name)
    read = Elements(pocket([card, demo_card(SLABS)]))
    assert card.name in read.text
    assert opened(read) == 2


def test_dozens_of_profiles_are_under_the_limit_and_too_many_are_refused():
    card = demo_card(SLABS)
    assert len(pocket([card] * 38).encode()) < MOST_BYTES
    with pytest.raises(ValueError, match=r"must be <= 300 kB, got \d+ kB for 2000 profiles: choose about \d+"):
        pocket([card] * 2000)
    with pytest.raises(ValueError, match="at least one profile"):
        pocket([])


def test_what_does_not_fit_or_is_damaged_is_told_of():
    page = fitting([demo_card(SLABS)] * 200, ["broken.toml: is not valid TOML"] * 70, beyond=5)
    assert 0.97 * MOST_BYTES < len(page.encode()) <= MOST_BYTES
    read = Elements(page)
    kept = opened(read)
    assert 35 < kept < 50
    assert f"{LEFT_OUT} broken.toml: is not valid TOML" in read.text
    assert f"{200 - kept + 10 + 5} more: this page holds no more" in read.text
    assert LEFT_OUT not in Elements(fitting(demo_cards())).text
    assert fitting(demo_cards()) == pocket(demo_cards())
    assert "broken" in fitting([], ["broken.toml: is not valid TOML"])


def test_of_those_with_a_trailer_no_page_holds_as_many_as_are_looked_at():
    shortest = replace(demo_card(MILL), name="a", outfit="b", findings=(), status="c")
    assert opened(Elements(fitting([shortest] * MOST_PROFILES))) < MOST_PROFILES
