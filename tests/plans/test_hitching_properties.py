"""What must hold of hitching whatever is hitched: order of the stages, the way back, restoration and bars."""

from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.physics import statics
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.equilibrium import HeldPressure, settle
from planner.plans.hitching import hitch_up
from planner.plans.load_case import load_case
from planner.plans.setup import Setup, rig_of
from planner.plans.weight_distribution import bars_from_weighings
from planner.store import Store

from .conftest import DEMO

SLUGS = ("mill-bed-empty", "mill-on-the-hill-road", "logs-on-the-gooseneck", "slabs-on-friday")
slugs = st.sampled_from(SLUGS)
parked_heights = st.floats(0.3, 0.7)
gross = st.floats(800.0, 4500.0)
ratios = st.floats(0.05, 0.2)
gaps = st.floats(0.0, 0.06)


@cache
def parts(slug):
    outfit = Store(DEMO).read_outfit(slug)
    return outfit.profile, outfit.truck, outfit.trailer


def setup_with(slug, *, gap=None, stow=None, **trailer):
    """Return a demo setup with some numbers of trailer and hitching changed."""
    profile, truck, its = parts(slug)
    if "gross_weight" in trailer:
        trailer["deck"] = ()
    hitching = {name: f"{value:.6f} m" for name, value in (("gap", gap), ("stow_lift", stow)) if value is not None}
    return Setup.of(profile.replaced(hitching=profile.hitching.replaced(**hitching)), truck, its.replaced(**trailer))


@pytest.mark.no_cover
@given(slug=slugs, gap=gaps, stow=gaps, down=st.floats(-0.15, 0.1), weight=gross, ratio=ratios)
def test_the_stages_come_in_order_of_height(slug, gap, stow, down, weight, ratio):
    parked = float(parts(slug)[2].parked_height) + down
    plan = hitch_up(
        setup_with(
            slug, gap=gap, stow=stow, parked_height=f"{parked!r} m", gross_weight=f"{weight!r} kg", tongue_ratio=ratio
        )
    )
    clear, meet, lift, _ = plan.stages
    assert clear.target < meet.target <= lift.target
    for earlier, later in ((clear, meet), (meet, lift)):
        if earlier.reachable and later.reachable:
            assert earlier.height <= later.height + 1e-3
    assert plan.jack_up >= 0
    assert (plan.jack_up == 0) or not clear.reachable


@pytest.mark.no_cover
@given(slug=st.sampled_from(SLUGS[:3]), weight=gross, ratio=ratios)
def test_unhitching_is_hitching_backwards(slug, weight, ratio):
    """Where pressure fixes the height, the pressures of a stage bring the truck there from the stage after it too."""
    setup = setup_with(slug, gross_weight=f"{weight!r} kg", tongue_ratio=ratio)
    plan, rig = hitch_up(setup), rig_of(setup.truck)
    clear, meet, lift = (load_case(setup, rig, tongue_on=share).load for share in (0.0, 0.0, 1.0))
    loads = (clear, meet, lift, setup.load(rig))
    stands = [stage.answer.stance for stage in plan.stages]
    states = [
        np.array([stance.front, stance.rear, stance.roll, stage.answer.side_moment[0]])
        for stance, stage in zip(stands, plan.stages, strict=True)
    ]
    for n in (0, 1, 2):
        held = HeldPressure(np.nan_to_num(plan.stages[n].answer.pressure))
        from_below = settle(rig, loads[n], held, states[n - 1] if n else states[n])
        from_above = settle(rig, loads[n], held, states[n + 1])
        if from_above.fixed.all() and from_above.roll_fixed and from_below.fixed.all():
            assert_allclose(from_above.state[:3], states[n][:3], rtol=0, atol=1e-6)
            assert_allclose(from_below.state[:3], from_above.state[:3], rtol=0, atol=1e-6)


@given(weight=gross, ratio=ratios, bars=st.floats(0.01, 1.5))
def test_restoration_to_moment_to_restoration_through_the_whole_plan(weight, ratio, bars):
    setup = setup_with("mill-bed-empty", gross_weight=f"{weight!r} kg", tongue_ratio=ratio, bars=bars)
    plan = hitch_up(setup)
    alone, slack, turned = (float(plan.stages[n].answer.axle_load[0]) for n in (1, 2, 3))
    assert float(statics.restoration(alone, slack, turned)) == pytest.approx(bars, rel=1e-9)
    found = bars_from_weighings(setup, alone / G, slack / G, turned / G)
    assert found.restoration == pytest.approx(bars, rel=1e-9)
    assert found.moment == pytest.approx(float(setup.hitched().bar_moment), rel=1e-9)
    assert found.lost == pytest.approx(alone - slack)


def test_bars_are_weighed_on_a_hitch_behind_the_axle_only():
    with pytest.raises(ValueError, match="behind the rear axle"):
        bars_from_weighings(setup_with("logs-on-the-gooseneck"), 2000.0, 1900.0, 1950.0)


@pytest.mark.no_cover
@given(slug=slugs, weight=gross, ratio=ratios, more=st.floats(0.0, 0.1))
def test_more_tongue_never_lowers_what_the_rear_needs_at_lift(slug, weight, ratio, more):
    light, heavy = (
        hitch_up(setup_with(slug, gross_weight=f"{weight!r} kg", tongue_ratio=share)).stages[2].answer
        for share in (ratio, ratio + more)
    )
    assert np.all(heavy.pressure[1] >= light.pressure[1] - 1e-6)
