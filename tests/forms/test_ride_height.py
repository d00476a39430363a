"""Ride heights hub to arch, ground to arch, or so much low."""

from contextlib import suppress

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner import open_folder
from planner.forms.ride_height import bases_of, read_height, ride_height
from planner.plans.level import level_setup, settle_setup
from planner.plans.setup import Setup
from planner.units.quantity import Refusal

MILL = open_folder("profiles").read_outfit("mill-on-the-hill-road")
SETUP = Setup.of(MILL.profile, MILL.truck, MILL.trailer)
PLANNED = level_setup(SETUP)
BASES = bases_of(SETUP, PLANNED)
INCH = 0.0254


@pytest.mark.parametrize(
    ("typed", "system", "inches", "side"),
    [
        ("20.1", "us", 20.1, 0),
        ("20 1/8 in", "us", 20.125, 0),
        ("20¾", "us", 20.75, 0),
        ("508 mm", "us", 20.0, 0),
        ("508", "metric", 20.0, 0),
        ("¾ in low", "us", 0.75, -1),
        ("3/4 low", "us", 0.75, -1),
        ('1/2" High', "us", 0.5, 1),
        ("1 ½ in high", "us", 1.5, 1),
        ("0.5in low", "us", 0.5, -1),
        ("12 mm low", "us", 12 / 25.4, -1),
        ("0 in low", "us", 0.0, -1),
    ],
)
def test_what_people_type_is_read(typed, system, inches, side):
    found = read_height(typed, system)
    assert float(found.amount) == pytest.approx(inches * INCH, abs=1e-6)
    assert found.side == side


@pytest.mark.parametrize(
    "typed", ["", "low", "in low", "-0.5 in", "−1", "0", "-0.5 in low", "+½ in high", "5 psi", "9**9", "400 in"]
)
def test_what_is_no_height_is_refused(typed):
    with pytest.raises(Refusal):
        read_height(typed, "us")


def test_a_sign_with_low_says_how_to_write_it():
    with pytest.raises(Refusal, match="low or high says which way"):
        read_height("-0.5 in low", "us")


@pytest.mark.parametrize("place", range(4))
def test_three_ways_to_measure_one_truck_agree(place):
    sits = settle_setup(SETUP, {"rear_left": "44 psi", "front_left": "37 psi"})
    hub = float(sits.ride_height.ravel()[place])
    ground = hub + float(BASES.hub.ravel()[place])
    off = hub - float(BASES.wanted.ravel()[place])
    words = f"{abs(off) / INCH:.4f} in {'high' if off > 0 else 'low'}"
    for typed, way in (
        (f"{hub / INCH:.4f} in", "hub"),
        (f"{ground / INCH:.4f} in", "ground"),
        (words, "hub"),
        (words, "ground"),
    ):
        assert float(ride_height(read_height(typed, "us"), way, BASES, place)) == pytest.approx(hub, abs=2e-5)


def test_the_wanted_height_is_that_of_the_plan_and_hubs_stand_on_their_tyres():
    np.testing.assert_allclose(BASES.wanted, PLANNED.ride_height, atol=1e-6)
    assert (BASES.hub < 16.6 * INCH).all()
    assert (BASES.hub > 14.0 * INCH).all()


def test_an_arch_below_its_hub_is_refused():
    with pytest.raises(Refusal, match="above the hub"):
        ride_height(read_height("10 in", "us"), "ground", BASES, 0)


@given(st.text(max_size=30))
def test_any_text_is_read_or_refused(text):
    with suppress(Refusal):
        assert read_height(text, "us").amount >= 0
