"""Typical values: plausible, said why, written as a file holds them, and a truck of them stands."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.errors import Refusal
from planner.plans.level import level_setup
from planner.plans.setup import Setup
from planner.plans.typical import (
    KnownAxle,
    typical_axle,
    typical_kerb,
    tyre_rate,
    tyre_rate_from_hub_height,
    tyres_of_size,
)
from planner.plans.tyre_size import read_tyre_size
from planner.plans.uncertainty.spreads import GUESSES, TYPICAL
from planner.records import Truck, read_record

G, LB, PSI = 9.80665, 0.45359237, 6894.757293168361
BUILT = ("bag alone", "bag over leaf", "bag with coil", "steel only")


def known(name="rear", suspension="solid", built="bag over leaf", **more):
    """Return an axle of the demo's yard truck."""
    numbers = {"kerb_weight": 2700 * LB, "gawr": 6084 * LB, "tyre_load": 3042 * LB * G, "tyre_radius": 0.4064}
    bag = {"bag_area": 29 * 0.0254**2, "fitted_height": 7 * 0.0254, "least_pressure": 5 * PSI}
    return KnownAxle(name, suspension, built, **(numbers | (bag if built != "steel only" else {}) | more))


def test_the_demo_s_invented_trucks_are_within_two_spreads_of_typical():
    found = typical_axle(known(track=67.5 * 0.0254))
    expected = {
        "unsprung_weight": 640 * LB,
        "motion_ratio": 1.0,
        "tyres.rate": 1900 * 175.126835,
        "steel_rate": 280 * 175.126835,
        "steel_load": 820 * LB * G,
        "spring_spacing": 41 * 0.0254,
        "bag.volume": 215 * 0.0254**3,
    }
    for field, value in expected.items():
        assert abs(found[field].value - value) <= 2 * found[field].spread, field


def test_tyres_of_the_handbook_s_range_have_its_rate():
    # Light-truck tyres of load range E at 80 psi: 300 to 450 kN/m (from memory: no hard oracle).
    for rating in (3042, 3195, 3415):
        assert 300e3 < tyre_rate(rating * LB * G).value < 450e3
    assert tyre_rate(1e4, 0.5).value == pytest.approx(0.55 * tyre_rate(1e4).value)
    with pytest.raises(Refusal, match="must be > 0"):
        tyre_rate(0.0)


@given(st.floats(3e3, 2e4), st.floats(0.3, 0.6), st.floats(0.015, 0.05))
def test_a_hub_s_height_under_a_known_load_gives_the_rate_back(load, radius, squash):
    found = tyre_rate_from_hub_height(load, radius, radius - squash, 0.003)
    assert found.value == pytest.approx(load / squash, rel=1e-9)
    assert found.spread == pytest.approx(found.value * np.sqrt(2) * 0.003 / squash, rel=1e-6)


@pytest.mark.parametrize(("load", "hub"), [(0.0, 0.39), (9000.0, 0.42), (9000.0, 0.43), (9000.0, 0.417)])
def test_a_hub_height_that_tells_nothing_is_refused(load, hub):
    with pytest.raises(Refusal, match="must"):
        tyre_rate_from_hub_height(load, 0.42, hub, 0.003)


def test_a_tyre_s_size_says_what_it_can_and_no_more():
    twin = tyres_of_size(read_tyre_size("LT235/85R16 120/116R E"), 2)
    assert twin["load_rating"].in_file("metric") == "1250 kg"
    assert twin["rate"].value == pytest.approx(1250 * G / 0.037)
    assert set(tyres_of_size(read_tyre_size("LT235/85R16 120R"), 2)) == {"unloaded_radius"}
    numeric = tyres_of_size(read_tyre_size("7.50-16"), 1)
    assert set(numeric) == {"unloaded_radius"}
    assert numeric["unloaded_radius"].standing == "from memory"
    car = tyres_of_size(read_tyre_size("265/70R17 115T"), 1)
    assert car["load_rating"].value == pytest.approx(1215 / 1.1)
    assert "571.110" in car["load_rating"].reason


def test_what_is_not_there_is_nought_and_sure():
    found = typical_axle(known(built="bag alone"))
    for field in ("steel_rate", "steel_load", "anti_roll_rate"):
        assert (found[field].value, found[field].spread, found[field].standing) == (0.0, 0.0, "standard")


def test_an_axle_that_weighs_nothing_is_refused():
    with pytest.raises(Refusal, match="kerb_weight must be > 0"):
        known(kerb_weight=0.0)


def test_spreads_of_guesses_stand_once():
    for name, suspension in (("front", "independent"), ("rear", "solid")):
        found = typical_axle(known(name, suspension, anti_roll_bar=True))
        keys = {
            "tyres.rate": "tyre",
            "unsprung_weight": "unsprung",
            "spring_spacing": "spacing",
            "anti_roll_rate": "anti_roll",
        }
        for field, estimate in found.items():
            guess = GUESSES.get(keys.get(field, field))
            if guess is not None and estimate.value:
                assert estimate.spread == pytest.approx(guess.value * estimate.value)
    kerb = typical_kerb()
    assert kerb["left_share"].spread == GUESSES["kerb.left"].value
    assert kerb["mass_height"].spread == TYPICAL["mass_height"].value


def _table(axle, side):
    """Return an axle's table of a file, all of it typical but what is known."""
    found = {field: one.in_file(side) for field, one in typical_axle(axle).items()}
    table = {field: value for field, value in found.items() if "." not in field}
    table |= {"suspension": axle.suspension, "ride_height": "20 in", "gawr": f"{axle.gawr} kg", "track": "68 in"}
    table["tyres"] = {
        "per_side": axle.tyres_per_side,
        "rate": found["tyres.rate"],
        "unloaded_radius": f"{axle.tyre_radius} m",
        "load_rating": f"{axle.tyre_load} N",
        "cold_pressure": "80 psi",
    }
    if axle.built != "steel only":
        heights = [axle.fitted_height + step for step in (-0.06, -0.03, 0.0, 0.03)]
        table["bag"] = {
            "fitted_height": f"{axle.fitted_height} m",
            "height": [f"{one} m" for one in heights],
            "area": [f"{axle.bag_area} m**2"] * 4,
            "volume": found["bag.volume"],
            "least_pressure": f"{axle.least_pressure} Pa",
            "greatest_pressure": "100 psi",
        }
    return table


@given(
    st.sampled_from(BUILT[1:]),
    st.sampled_from(["solid", "independent"]),
    st.floats(900, 2500),
    st.floats(1.05, 2.2),
    st.floats(0.012, 0.03),
    st.sampled_from(["us", "metric"]),
)
def test_any_truck_of_typical_values_stands_and_levels(built, suspension, kerb, rated, area, system):
    bag = {} if built == "steel only" else {"bag_area": area, "fitted_height": 0.16}
    axles = {
        name: known(name, suspension, built, kerb_weight=kerb, gawr=rated * kerb, track=1.73, **bag)
        for name in ("front", "rear")
    }
    truck = {
        "schema": 1,
        "name": "Any truck",
        "wheelbase": "4 m",
        "gvwr": f"{2 * rated * kerb * 0.999} kg",
        "gcwr": f"{4 * rated * kerb} kg",
        "kerb": {
            "front_axle": f"{kerb} kg",
            "rear_axle": f"{kerb} kg",
            "left_share": typical_kerb()["left_share"].value,
        },
        **{name: _table(axle, system) for name, axle in axles.items()},
    }
    assert level_setup(Setup(read_record(Truck, truck, "x.toml"))).level
