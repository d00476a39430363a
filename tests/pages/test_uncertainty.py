"""How sure, on the Level page: the sentence follows load and spreads; a bad spread is marked and costs nothing."""

import re
from dataclasses import replace

import pytest

from planner.forms.profile_form import open_profile
from planner.forms.saving import setup_of
from planner.front.level import uncertainty
from planner.plans.level import level_setup
from planner.plans.uncertainty.result import find_uncertainty
from planner.show.text.uncertainty import finding_words, sentences

from .conftest import DEEPER, MILL, Tab


@pytest.fixture
def level(deep):
    return deep


def sure(tab) -> str:
    """The sentence, without its marks."""
    found = [one.proto.body for one in tab.at.get("html") if "answer sure" in one.proto.body]
    assert len(found) == 1
    return re.sub(r"<.*?>", "", found[0])


def planned(store, own=None):
    setup = setup_of(open_profile(store, MILL))
    return find_uncertainty(setup, level_setup(setup), own)


def test_the_sentence_is_the_library_s(level, store):
    assert sure(level) == sentences(planned(store), "us")[0]
    assert [words for words in level.pictures() if words.startswith(sure(level))]


def test_typical_spreads_are_marked_and_those_of_the_files_are_not(level):
    said = level.html()
    assert "± 216 lb, typical: a load guessed by count and size, common practice" in said
    assert "± 300 lb/in, from your files" in said


def test_a_spread_typed_here_changes_the_sentence_and_is_kept_through_a_reload(level, store):
    before = sure(level)
    level.type("spread.gauge", "0")
    assert sure(level) == sentences(planned(store, {"gauge": 0.0}), "us")[0] != before
    assert "± 0 psi, as set here" in level.html()
    again = level.reloaded("level")
    assert sure(again) == sure(level)
    again.type("spread.gauge", "")
    assert sure(again) == before


def test_a_bad_spread_is_marked_and_the_pressures_stay(level):
    pressures, before = level.pressures(), sure(level)
    level.type("spread.tongue", "half")
    assert "✗ Tongue ratio" in level.html()
    assert sure(level) == before
    assert level.pressures() == pressures
    assert "Last good answer" not in level.html()


def test_other_units_say_the_same(folder, store):
    metric = Tab("level", opened=DEEPER, profile=MILL, units="metric")
    assert sure(metric) == sentences(planned(store), "metric")[0]
    assert "± 98 kg, typical" in metric.html()


def test_findings_have_their_chances_stops_first_and_rare_cautions_left_out(folder, store):
    page = Tab("level", opened=DEEPER, profile="slabs-on-friday")
    said = page.html()
    assert "100 %: the trailer is over its GVWR (the plan has it already)." in said
    assert said.index("over its GVWR (the plan") < said.index("the tongue is too heavy")
    mill = Tab("level", opened=DEEPER, profile=MILL).html()
    rare = [chance for chance in planned(store).chances if chance.share < 0.005]
    assert rare
    assert not any(finding_words(chance.code) in mill for chance in rare)


def test_what_a_little_more_does_is_in_words(level):
    said = level.html()
    assert "1 psi more in the front left: front left up 0.21 in" in said
    assert "100 lb more on the hitch" in said
    assert "1 in higher at the rear" in said


@pytest.mark.parametrize("slug", ["slabs-on-friday", "logs-on-the-gooseneck", "saw-crew-all-on-the-left"])
def test_every_demo_profile_has_it(folder, slug):
    assert sure(Tab("level", opened=DEEPER, profile=slug)).startswith("Within ")


def test_where_no_rest_is_found_the_page_says_so(folder, monkeypatch):
    monkeypatch.setattr(
        uncertainty, "find_uncertainty", lambda *given: replace(find_uncertainty(*given), without_rest=1.0)
    )
    tab = Tab("level", opened=DEEPER, profile=MILL).type("spread.gauge", "6.789")  # not asked before: answers are kept
    assert sure(tab) == "With inputs off by as much as this the truck does not settle: make the spreads smaller."
    assert not [words for words in tab.pictures() if words.startswith(sure(tab))]
    assert "± 216 lb, typical" in tab.html()
