"""Long lists of things on the truck and on the deck: as many fields as for one of them, and all of it in words."""

import re

import pytest

from planner.front.widgets import rows

from .conftest import MILL


@pytest.fixture
def many(folder, store, tab):
    """The Level page with forty crates, of which two have one name."""
    cargo = [{"name": f"Crate {n % 39}", "weight": "3 lb", "x": f"{n} in", "y": "0 in"} for n in range(40)]
    store.write(store.read_profile(MILL).replaced(cargo=cargo), MILL)
    return tab("level", profile=MILL)


def fields(page, kind):
    """Return the places whose fields are drawn."""
    keys = [one.key for one in page.at.text_input if (one.key or "").startswith(f"{kind}.")]
    return {key.split(".")[1] for key in keys}


def choose(page, kind, place):
    page.at.selectbox(key=f"{kind}-chosen").set_value(place)
    return page.run()


def test_a_long_list_has_the_fields_of_one_and_as_many_widgets_as_a_longer_one(many, store, tab):
    assert fields(many, "cargo") == {"0"}
    widgets = len(many.at.text_input), len(many.at.button), len(many.at.expander)
    profile = store.read_profile(MILL)
    store.write(profile.replaced(cargo=profile.cargo * 5), MILL)
    longer = tab("level", profile=MILL)
    assert (len(longer.at.text_input), len(longer.at.button), len(longer.at.expander)) == widgets
    assert "200 items, 600 lb together." in longer.html()


def test_a_list_that_fits_a_screen_is_drawn_row_by_row(many, store, tab):
    profile = store.read_profile(MILL)
    store.write(profile.replaced(cargo=profile.cargo[: rows.LONG]), MILL)
    short = tab("level", profile=MILL)
    assert fields(short, "cargo") == {str(n) for n in range(rows.LONG)}
    assert "together" not in short.html()


def test_one_of_a_long_list_is_chosen_changed_and_taken_off(many, store):
    assert many.at.selectbox(key="cargo-chosen").options[:2] == ["Crate 0 (1)", "Crate 1"]
    before = many.pressures()
    choose(many, "cargo", 30).type("cargo.30.weight", "900 lb")
    assert fields(many, "cargo") == {"30"}
    assert many.pressures() != before
    many.press("off-30")
    assert "39 items, 117 lb together." in many.html()
    many.press("undo")
    assert "40 items, 1,017 lb together." in many.html()


def test_what_is_to_mend_in_a_long_list_is_named_and_stands_first(many):
    choose(many, "cargo", 30).type("cargo.30.weight", "heavy")
    choose(many, "cargo", 2)
    assert "To fix: ✗ Crate 30" in many.html()
    again = many.reloaded("level")
    assert fields(again, "cargo") == {"30"}
    assert again.at.selectbox(key="cargo-chosen").options[0] == "Crate 30 ✗"


def test_what_was_added_to_a_long_list_is_open(many):
    many.type("added.name", "Winch").type("added.weight", "90 lb").type("added.x", "10 in").press("add")
    assert fields(many, "cargo") == {"40"}


def test_all_of_a_long_list_is_told_when_it_is_asked_for(many):
    assert "Crate 17" not in re.sub(' alt="[^"]*"', "", many.html())
    many.open("cargo-all")
    assert "<li><b>Crate 17</b> 3 lb, 17 in ahead, centred</li>" in many.html()


def test_a_long_deck_has_the_fields_of_one_item(folder, store, tab):
    deck = store.read_trailer("log-deck")
    items = tuple(deck.deck[1].replaced(name=f"Log {n}", weight="90 lb") for n in range(40))
    store.write(deck.replaced(deck=(deck.deck[0], *items)), "log-deck")
    page = tab("garage", trailer="log-deck")
    assert fields(page, "trailer") >= {"deck"}
    places = {one.key.split(".")[2] for one in page.at.text_input if one.key.startswith("trailer.deck.")}
    assert places == {"0"}
    page.at.selectbox(key="deck-chosen").set_value(7)
    page.run().type("trailer.deck.7.weight", "190 lb")
    page.open("deck-all")
    assert "<li><b>Log 6</b> 190 lb" in page.html()
