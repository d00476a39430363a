"""The map on the Level page: it follows the load, its axes are chosen and kept, and it never costs the answer."""

import re

import pytest

from planner.forms.profile_form import open_profile
from planner.forms.saving import setup_of
from planner.plans.load_map import load_map
from planner.plans.map_inputs import first_two, inputs_of
from planner.show.drawings.axes import axis_of
from planner.show.text.load_map import sentences

from .conftest import DEEPER, MILL, Tab


@pytest.fixture
def level(deep):
    return deep


def said(tab) -> str:
    """The words of the map's picture."""
    found = [words for words in tab.pictures() if "Across: " in words and "; up: " in words]
    assert len(found) == 1
    return found[0]


def planned(store, slug=MILL, keys=None, system="us"):
    setup = setup_of(open_profile(store, slug))
    inputs = inputs_of(setup)
    return sentences(load_map(setup, *(axis_of(inputs[key], system) for key in keys or first_two(setup))), system)


def test_the_map_is_over_trailer_weight_and_tongue_and_its_sentence_is_the_library_s(level, store):
    assert said(level).startswith(planned(store)[0])
    assert "Across: trailer weight from 0 lb to 15,000 lb; up: tongue ratio from 5 % to 20 %" in said(level)
    sentence = [re.sub("<.*?>", "", one.proto.body) for one in level.at.get("html") if "This load" in one.proto.body]
    assert planned(store)[0] in sentence
    assert "Heavier, the first thing it meets is at 9,990 lb" in level.words().replace("\\", "")


def test_a_heavier_trailer_moves_the_mark_and_is_stopped(level):
    level.type("weight", "11000 lb")
    assert "this load is at 11,000 lb and 12 %" in said(level)
    assert said(level).startswith("This load is stopped: ")
    assert "Lighter, it is free again from " in said(level)


def test_chosen_axes_are_kept_through_a_reload_and_other_units(level, store):
    level.type("map.x", "cargo.0.weight").type("map.y", "stance.rear")
    expected = planned(store, keys=("cargo.0.weight", "stance.rear"))[0]
    for tab in (level, level.reloaded("level")):
        assert "; up: rear, wanted above level from −4 in to 4 in" in said(tab)
        assert said(tab).startswith(expected)
        assert (tab.field("map.x").value, tab.field("map.y").value) == ("cargo.0.weight", "stance.rear")
    metric = Tab("level", opened=DEEPER, profile=MILL, units="metric")
    assert "; up: rear, wanted above level from −100 mm to 100 mm" in said(metric)


def test_the_input_of_the_other_axis_swaps_the_two(level):
    level.type("map.x", "tongue")
    assert (level.field("map.x").value, level.field("map.y").value) == ("tongue", "weight")
    assert "Across: tongue ratio from 5 % to 20 %; up: trailer weight" in said(level)
    level.type("map.y", "tongue")
    assert (level.field("map.x").value, level.field("map.y").value) == ("weight", "tongue")


def test_an_axis_that_is_gone_gives_way_to_the_first_ones(level):
    level.type("map.y", "cargo.0.x")
    assert "Across: trailer weight" in said(level)
    level.type("trailer", "")
    assert level.field("map.y").value == "cargo.0.x"
    assert "Across: Fuel drum: weight" in said(level)
    level.type("map.x", "stance.lean").type("trailer", "band-mill")
    assert level.field("map.x").value == "stance.lean"


def test_choosing_axes_leaves_the_answer_and_saves_nothing(level):
    pressures = level.pressures()
    level.type("map.x", "stance.front")
    assert level.pressures() == pressures
    assert "Last good answer" not in level.html()


def test_a_truck_alone_and_empty_is_asked_about_a_load_to_come(folder):
    tab = Tab("level", opened=DEEPER, profile="mill-bed-empty")
    tab.type("trailer", "")
    assert "Across: a load on the truck from 0 lb" in said(tab)


@pytest.mark.parametrize("slug", ["slabs-on-friday", "logs-on-the-gooseneck", "saw-crew-all-on-the-left"])
def test_every_demo_profile_has_its_map(folder, store, slug):
    assert said(Tab("level", opened=DEEPER, profile=slug)).startswith(planned(store, slug)[0])
