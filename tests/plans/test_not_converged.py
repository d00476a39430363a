"""Numbers that are no rest are never shown without a word: in the answer, in JSON and first of the findings."""

import json

import pytest

from planner.physics import equilibrium
from planner.plans.hitching import hitch_up
from planner.plans.level import level_setup, settle_setup
from planner.show.text.as_json import answer_object, hitch_object
from planner.show.text.numbers import sentence


@pytest.fixture
def tired(monkeypatch):
    """Settling that gives up before it has begun."""
    monkeypatch.setattr(equilibrium, "MOST_STEPS", 1)
    monkeypatch.setattr(equilibrium, "SHORTER_STEPS", ())


def level(setup):
    """Levelling is explicit; what is set is settled on, and that is what finds no rest."""
    return level_setup(setup)


def settled(setup):
    return settle_setup(setup, {"rear_left": 20 * 6894.757})


@pytest.mark.parametrize("make", [level, settled])
def test_an_answer_without_a_rest_says_so_first(demo, tired, make):
    answer = make(demo("mill-on-the-hill-road"))
    assert not answer.converged
    told = answer.findings[0]
    assert (told.level, told.code) == ("stop", "not-converged")
    assert "Do not set them." in sentence(told, "us")
    made = json.loads(json.dumps(answer_object("Mill", answer, "us")))
    assert made["converged"] is False
    assert made["findings"][0]["code"] == "not-converged"


def test_a_stage_of_hitching_without_a_rest_says_so(demo, tired):
    plan = hitch_up(demo("mill-on-the-hill-road"))
    made = hitch_object("Mill", plan, "us")
    assert made["converged"] is False
    assert "not-converged" in [one["code"] for one in made["findings"]]
    assert any(not stage["converged"] for stage in made["stages"])


@pytest.mark.parametrize("make", [level, settled])
def test_one_that_rests_says_that_too(demo, make):
    answer = make(demo("mill-on-the-hill-road"))
    assert answer.converged
    assert answer_object("Mill", answer, "us")["converged"] is True
    assert "not-converged" not in [one.code for one in answer.findings]
