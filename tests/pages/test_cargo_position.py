"""What if on the Level page: one item is asked about and moved, the most trailer is tried; both can be taken back."""

import re

import pytest

from planner.forms.profile_form import open_profile
from planner.forms.saving import setup_of
from planner.front.shell import navigation
from planner.plans.cargo_position import best_move, even_move, even_moves
from planner.plans.largest_trailer import find_largest_trailer
from planner.plans.level import level_setup
from planner.show.text.cargo_position import most_words, move_words

from .conftest import DEEPER, MILL, Tab

SAW, SLABS, LOGS = "saw-crew-all-on-the-left", "slabs-on-friday", "logs-on-the-gooseneck"
PAGE = """
from planner.front.level import answer, cargo, cargo_position, inputs
from planner.front.session import state

state.open_any()
shown = answer.find_answer()
inputs.draw_first_three()
inputs.draw_pickers()
cargo.draw_cargo_table()
inputs.draw_stance()
if shown is not None:
    answer.draw_strip(shown)
    cargo_position.draw_cargo_position(shown)
"""


@pytest.fixture
def page(folder, tmp_path, monkeypatch):
    """To open a page that has the inputs, the four pressures and What if, and no more."""
    pages = tmp_path / "pages"
    pages.mkdir()
    for name in navigation.TITLES:
        (pages / f"{name}.py").write_text(PAGE, "utf-8")
    monkeypatch.setattr("planner.front.shell.places.pages", lambda: pages)
    return lambda slug, **query: Tab("level", opened=DEEPER, profile=slug, **query)


def setup(store, slug):
    return setup_of(open_profile(store, slug))


def told(tab):
    """The sentences that answer: of the item, and of the trailer."""
    return [re.sub("&#x27;", "'", one) for one in re.findall(r'<p class="slide.*?<b>(.*?)</b>', tab.html())]


def choose(tab, place):
    return tab.type("whatif.item", str(place))


# One item


def test_the_item_with_the_least_move_is_asked_about_first(page, store):
    tab, best = page(SAW), best_move(even_moves(setup(store, SAW)))
    assert tab.field("whatif.item").value == str(best.place)
    assert told(tab) == [move_words(best, "us")]
    assert "Choose a trailer" in tab.html()


def test_another_item_is_asked_about_and_the_least_move_stays_in_sight(page, store):
    tab, moves = page(SAW), even_moves(setup(store, SAW))
    other = 1 - best_move(moves).place
    choose(tab, other)
    assert told(tab) == [move_words(moves[other], "us")]
    assert "The shortest move that does it alone: move Generator" in tab.html()
    assert tab.reloaded("level").field("whatif.item").value == str(other)


def test_moving_it_there_makes_the_pressures_even_and_can_be_taken_back(page, store):
    tab, before = page(SAW), setup(store, SAW).cargo
    pressures = tab.pressures()
    tab.press("move-it")
    front, rear = (abs(int(tab.pressures()[k]) - int(tab.pressures()[k + 1])) for k in (0, 2))
    assert max(front, rear) <= 1  # even, as near as a gauge of whole pounds holds the height
    assert abs(int(pressures[2]) - int(pressures[3])) > 1
    assert told(tab) == ["Generator is where it should be: level, and even left and right."]
    assert "move-it" not in tab.buttons()
    assert "Generator is moved" in tab.words()
    assert re.fullmatch(r"-?[\d.]+ in", tab.field("cargo.0.y").value)  # as its owner writes it
    tab.press("undo")
    assert tab.pressures() == pressures
    assert tab.field("cargo.0.y").value == before[0].y.text


def test_moving_it_straight_across_leaves_it_as_far_ahead_as_it_was(page, store):
    tab, move = page(MILL), even_move(setup(store, MILL), 0)
    tab.press("move-across")
    assert tab.field("cargo.0.x").value == "12 in"
    assert float(tab.field("cargo.0.y").value.removesuffix(" in")) == pytest.approx(move.across / 0.0254, abs=1e-3)
    assert "move-across" not in tab.buttons()
    assert "Straight across there is nothing to gain" in tab.html()
    assert "off the bed" in told(tab)[0]  # even is further ahead than the bed reaches
    assert "move-it" not in tab.buttons()


def test_an_item_that_does_not_do_it_says_so_and_has_no_button(page):
    tab = page(SAW).type("added.name", "Bar oil").type("added.weight", "20 lb").type("added.x", "30 in").press("add")
    choose(tab, 2)
    assert "off the bed" in told(tab)[0]
    assert "slide caution" in tab.html()
    assert "move-it" not in tab.buttons()


def test_an_item_taken_off_is_not_asked_about_any_more(page):
    tab = choose(page(SAW), 1).press("off-0")
    assert tab.field("whatif.item").value == "0"
    assert "Blade chest" in told(tab)[0]


def test_nothing_on_the_truck_and_a_lean_wanted_are_told(page):
    tab = page(MILL).type("stance.lean", "1 in")
    assert "You want a lean" in tab.html()
    assert "move-it" not in tab.buttons()
    tab.type("stance.lean", "0 in").press("off-0")
    assert "Nothing is on the truck" in tab.html()


def test_the_bed_load_can_be_moved_and_is_cargo_from_then_on(page):
    tab = page(MILL).press("off-0").type("bed.weight", "600 lb").type("left", "70 %")
    assert "Bed load" in told(tab)[0]
    tab.press("move-it" if "move-it" in tab.buttons() else "move-across")
    assert any("Bed load" in one.label for one in tab.at.expander)
    assert abs(int(tab.pressures()[2]) - int(tab.pressures()[3])) <= 1


# The trailer


def test_the_most_trailer_is_told_tried_and_taken_back(page, store):
    tab, most = page(MILL), find_largest_trailer(setup(store, MILL))
    assert told(tab)[1] == most_words(most, "us")
    assert "A stronger trailer" in tab.html()
    tab.press("try-most")
    assert tab.field("weight").value == "9990 lb"
    assert "Up to 9,990 lb, as now." in told(tab)[1]
    assert "try-most" not in tab.buttons()
    tab.press("undo")
    assert tab.field("weight").value == "7200 lb"


def test_what_is_tried_is_good_and_a_step_more_is_not(page, store):
    tab = page(SLABS)
    assert "slide caution" in tab.html()
    tab.press("try-most")
    assert tab.field("weight").value == "5882 lb"
    work = open_profile(store, SLABS)
    codes = [
        {one.code for one in level_setup(setup_of(work.with_numbers(gross_weight=f"{weight} lb"))).findings}
        for weight in (5882, 5883)
    ]
    assert "tongue-rating" not in codes[0]
    assert "tongue-rating" in codes[1]


def test_metric_weights_are_whole_kilograms(page):
    tab = page(MILL, units="metric")
    assert "p to 4,531 kg" in told(tab)[1]
    assert tab.press("try-most").field("weight").value == "4531 kg"


def test_a_deck_is_not_changed_here(page):
    tab = page(LOGS)
    assert "p to 15,900 lb" in told(tab)[1]
    assert "change it on Truck &amp; trailers" in tab.html()
    assert "try-most" not in tab.buttons()


def test_a_bad_value_keeps_the_words_and_takes_the_buttons_away(page):
    tab = page(MILL)
    before = told(tab)
    tab.type("weight", "heavy")
    assert told(tab) == before
    assert not {"move-it", "move-across", "try-most"} & tab.buttons()


def test_numbers_without_an_answer_are_told_in_plain_words(page, monkeypatch):
    def no_rest(*_, **__):
        raise ArithmeticError("no rest")

    monkeypatch.setattr("planner.front.level.cargo_position.even_moves", no_rest)
    monkeypatch.setattr("planner.front.level.cargo_position.find_largest_trailer", no_rest)
    tab = page(MILL).type("weight", "6789 lb")  # which no page was asked about before: answers are kept
    assert tab.html().count("No answer with these numbers") == 2
