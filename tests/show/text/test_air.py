"""The air budget in words and as an object."""

import json
from dataclasses import replace

import numpy as np
import pytest

from planner import open_folder
from planner.plans.air_budget import air_budget
from planner.plans.setup import Setup
from planner.records import Air, read_record
from planner.show.text.air import air_lines, air_object, demand_words, time_words

OUTFIT = open_folder("profiles").read_outfit("mill-on-the-hill-road")


def make_budget(**changes):
    air = read_record(Air, OUTFIT.truck.air.as_file() | changes, "truck")
    return air_budget(Setup.of(OUTFIT.profile, OUTFIT.truck.replaced(air=air), OUTFIT.trailer))


@pytest.fixture(scope="module")
def budget():
    return make_budget(duty=0.5, demands=[{"name": "horn", "flow": "4 ft**3/min", "time": "5 s"}])


def test_the_lines_say_what_is_asked(budget):
    text = "\n".join(air_lines("Mill", budget, "us"))
    for words in (
        "The tank gives 2 hitching cycles",
        "MEET",
        "rear left",
        "horn: 0.33 ft³",
        "of rest after that",
        "fl oz",
    ):
        assert words in text
    assert "plain steel tank" in text
    assert "nan" not in text
    assert "The tank feeds every move without a wait." in text


def test_metric_lines_are_in_litres_and_bar(budget):
    text = "\n".join(air_lines("Mill", budget, "metric"))
    assert " L of free air" in text
    assert " bar" in text
    assert "psi" not in text


def test_a_truck_alone_is_told_of_its_levelling(budget):
    alone = replace(budget, moves=(), cycles=None, cycles_with_compressor=None, cycle_interval=None)
    assert "nothing to hitch" in air_lines("Mill", alone, "us")[1]


def test_a_short_tank_says_where():
    short = make_budget(tank_volume="0.5 gal")
    text = " ".join(air_lines("Mill", short, "us"))
    assert "The tank runs short at lift" in text
    assert "the rear stalls at" in text


def test_the_object_holds_no_number_that_json_cannot(budget):
    found = json.loads(json.dumps(air_object(budget, "us"), allow_nan=False))
    assert [move["name"] for move in found["moves"]] == ["clear", "meet", "lift", "tow", "unhitch"]
    assert set(found) == {"moves", "cycles", "pump_up_time", "water_per_week", "findings"}
    assert set(found["moves"][0]) == {"name", "free_air", "vented", "time", "tank_pressure", "compressor_time"}
    assert found["cycles"] == 2
    assert found["water_per_week"] > 0
    never = make_budget(cut_in="40 psi", cut_out="48 psi")
    assert json.loads(json.dumps(air_object(never, "us"), allow_nan=False))["findings"][0]["level"] == "stop"


def test_demands_that_are_kept_up_with_or_run_dry(budget):
    (horn,) = budget.demands
    assert "keeps up" in demand_words(replace(horn, kept_up=True), "us")
    assert "more than the tank holds" in demand_words(replace(horn, tank_pressure=-1.0), "us")


def test_times_in_words():
    assert time_words(0.01) == "less than 0.1 s"
    assert time_words(np.inf) == "never"
