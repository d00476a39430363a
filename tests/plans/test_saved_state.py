"""Many profiles worked out together are each what it is alone."""

import numpy as np
import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st

from planner.physics.levelling import Levelled, level
from planner.plans import saved_state as module
from planner.plans.answer import CORNERS, Stance
from planner.plans.gauge_rounding import round_many, round_to_gauge
from planner.plans.hitching import hitch_up, ways_to
from planner.plans.hitching_findings import NOSE_DOWN_ENOUGH
from planner.plans.load_case import load_case, loads_of
from planner.plans.saved_state import standing, standings
from planner.plans.setup import Setup, rig_of
from planner.records import BadInput
from planner.store import Store
from planner.store.folder import demo_folder

STORE = Store(demo_folder())
NOTHING_SAVED = {"pressures": None}
OUTFITS = [STORE.read_outfit(slug) for slug in STORE.profiles()]
INCHES = st.integers(-60, 60).map("{} in".format)
CARGO = st.builds(
    lambda weight, x, y: {"name": "Thing", "weight": f"{weight} lb", "x": x, "y": y},
    st.integers(1, 6000),
    INCHES,
    INCHES,
)
CHANGES = st.fixed_dictionaries(
    {"cargo": st.lists(CARGO, max_size=4), "left_share": st.floats(0.3, 0.7)},
    optional={
        "stance": st.fixed_dictionaries({}, optional={"front": st.just("1 in"), "lean": st.just("0.5 in")}),
        "pressures": st.sampled_from([{"rear_left": "40 psi", "rear_right": "40 psi"}, {"front_left": "30 psi"}]),
        "hitching": st.just({"gap": "2 in"}),
        "aboard": st.sampled_from([[], [{"weight": "210 lb", "place": "driver"}]]),
    },
)


@st.composite
def loaded(draw):
    """Return a few profiles of the demo with other cargo, stance and pressures."""
    some = draw(st.lists(st.tuples(st.sampled_from(OUTFITS), CHANGES), min_size=1, max_size=6))
    return [(outfit.profile.replaced(**changes), outfit.truck, outfit.trailer) for outfit, changes in some]


def thing(weight, x, y):
    return {"name": "Thing", "weight": f"{weight} lb", "x": f"{x} in", "y": f"{y} in"}


def found_before(slug, cargo, **changes):
    """Return profiles that once stood otherwise together than alone: cargo as (lb, x, y in inches)."""
    outfit, things = STORE.read_outfit(slug), ((0, cargo), (0, cargo[:1]), (1, cargo))
    return [
        (
            outfit.profile.replaced(
                cargo=[
                    {"name": "Thing", "weight": f"{w + more} lb", "x": f"{x} in", "y": f"{y} in"} for w, x, y in some
                ],
                **NOTHING_SAVED | changes,
            ),
            outfit.truck,
            outfit.trailer,
        )
        for more, some in things
    ]


LOW = {"stance": {"rear": "-5 in"}}
AT_A_STOP_AND_WORSE_TYRE = found_before(
    "mill-on-the-hill-road", [(2942, 48, -16), (2114, 59, 22), (2732, -18, 21)], **LOW
)
ALIKE_STEPS_AND_ORDER = found_before("mill-bed-empty", [(412, 91, -2), (2313, 24, 21)], **LOW, left_share=0.4)
BY_TAPE_OR_BY_GAUGE = found_before(
    "saw-crew-all-on-the-left",
    [(2214, 65, 0)],
    stance={"rear": "-6 in", "lean": "0.5 in"},
    pressures={"front_left": "15 psi", "front_right": "15 psi", "rear_left": "19 psi", "rear_right": "19 psi"},
)


def alone(profile, truck, trailer):
    """Return how a profile stands by itself, and its plan; or why it does not."""
    try:
        one = standing(profile, truck, trailer)
        return one, one.hitching()
    except (ValueError, ArithmeticError) as exc:
        return exc


@example(AT_A_STOP_AND_WORSE_TYRE)
@example(ALIKE_STEPS_AND_ORDER)
@example(BY_TAPE_OR_BY_GAUGE)
@given(loaded())
@settings(max_examples=10, suppress_health_check=[HealthCheck.too_slow])
def test_each_of_many_stands_as_it_does_alone(outfits):
    for outfit, found in zip(outfits, standings(outfits), strict=True):
        expected = alone(*outfit)
        if isinstance(expected, Exception):
            assert type(found) is type(expected)
            assert str(found) == str(expected)
            continue
        (one, plan), (stands, way) = expected, found
        assert stands.saved == one.saved
        for name in ("pressure", "bag_height", "tyre_load", "ride_height", "axle_load", "bounce_frequency"):
            got, wanted = getattr(stands.answer, name), getattr(one.answer, name)
            np.testing.assert_allclose(got, wanted, rtol=1e-7, atol=1e-6, err_msg=name)
        np.testing.assert_allclose(stands.answer.set.pressure, one.answer.set.pressure, atol=1e-6)
        assert (way is None) == (plan is None)
        assert [say(each) for each in stands.findings(way)] == [say(each) for each in one.findings(plan)]
        if plan is not None:
            for reach, stage in zip(way.stages, plan.stages[:3], strict=True):
                assert (reach.name, reach.reachable, reach.stopped_by) == (
                    stage.name,
                    stage.reachable,
                    stage.stopped_by,
                )
                assert (reach.height, reach.target) == pytest.approx((stage.height, stage.target), abs=1e-7)
            assert way.front_raise == pytest.approx(plan.front_raise, abs=1e-7)
            assert way.jack_up == pytest.approx(plan.jack_up, abs=1e-7)
            assert way.ball_mount_drop == pytest.approx(plan.ball_mount_drop, abs=1e-7)
            assert way.bed_clearance == (plan.bed_clearance and pytest.approx(plan.bed_clearance, abs=1e-7))


def say(finding):
    return finding.code, finding.level, finding.say(lambda value, kind: f"{value:.3g} {kind}")


@pytest.mark.parametrize("shares", [None, [0.0, 0.3, 1.0]])
@given(changes=st.lists(CHANGES, min_size=1, max_size=5), outfit=st.sampled_from(OUTFITS))
@settings(max_examples=25)
def test_loads_found_together_are_those_found_one_by_one(shares, changes, outfit):
    setups = [Setup.of(outfit.profile.replaced(**one | NOTHING_SAVED), outfit.truck, outfit.trailer) for one in changes]
    rig = rig_of(outfit.truck)
    if shares is not None and setups[0].hitch is None:
        return
    on = None if shares is None else np.array(shares)
    together = loads_of(setups, rig, on)
    for n, setup in enumerate(setups):
        one = load_case(setup, rig, tongue_on=on).load
        for name in ("axle", "side_moment", "least_twist", "overturning", "overturning_front"):
            found, alone = getattr(together, name)[n], getattr(one, name)
            np.testing.assert_allclose(found, np.broadcast_to(alone, found.shape), rtol=1e-9, atol=1e-9, err_msg=name)


@pytest.mark.parametrize("step", ["1 psi", "5 psi", "20 psi"])
@given(some=st.lists(CHANGES, min_size=1, max_size=4), outfit=st.sampled_from(OUTFITS))
@settings(max_examples=8, suppress_health_check=[HealthCheck.too_slow])
def test_pressures_rounded_together_are_those_rounded_one_by_one(step, some, outfit):
    truck = outfit.truck.replaced(instruments=outfit.truck.instruments.replaced(gauge_step=step))
    setups = [Setup.of(outfit.profile.replaced(**one | NOTHING_SAVED), truck, outfit.trailer) for one in some]
    rig, wanted = rig_of(truck), np.array([one.wanted for one in setups])
    load = loads_of(setups, rig)
    levelled = level(rig, load, wanted)
    found = round_many(setups[0], rig, load, levelled, wanted)
    for n, setup in enumerate(setups):
        one = round_to_gauge(setup, rig, load.take(slice(n, n + 1)), Levelled(*(part[n] for part in levelled)))
        np.testing.assert_array_equal(found.pressure[n], one.pressure)
        np.testing.assert_allclose(found.state[n], one.state, rtol=1e-9, atol=1e-9)


def test_one_without_an_answer_leaves_the_others_theirs(monkeypatch):
    calls = module.answers_of

    def refuse(setups, pressures):
        if any(setup.cargo and setup.cargo[-1].name == "Nothing rests" for setup in setups):
            raise ArithmeticError("no rest found")
        return calls(setups, pressures)

    monkeypatch.setattr(module, "answers_of", refuse)
    outfit = next(one for one in OUTFITS if one.trailer is not None)
    bad = outfit.profile.replaced(cargo=[{"name": "Nothing rests", "weight": "1 lb", "x": "0 in"}])
    found = standings([(profile, outfit.truck, outfit.trailer) for profile in (outfit.profile, bad, outfit.profile)])
    assert [isinstance(one, ArithmeticError) for one in found] == [False, True, False]


def test_a_way_needs_a_trailer():
    setup = Setup.of(OUTFITS[0].profile, OUTFITS[0].truck, OUTFITS[0].trailer).without_trailer()
    with pytest.raises(BadInput, match="needed for hitching"):
        ways_to([setup], [Stance(0.0, 0.0, 0.0)])
    with pytest.raises(BadInput, match="needed for hitching"):
        hitch_up(setup)


def test_on_saved_pressures_the_last_stage_is_how_it_stands_on_them():
    outfit = next(one for one in OUTFITS if one.profile.name == "Mill, bed empty")
    low = outfit.profile.replaced(pressures={"rear_left": "12 psi", "rear_right": "12 psi"})
    one = standing(low, outfit.truck, outfit.trailer)
    tow = one.hitching().stages[-1]
    assert tow.answer is one.answer
    assert (tow.height, tow.reachable) == (one.answer.set.coupling_height, False)
    assert tow.stopped_by == "the pressures saved do not level it"
    below = float(outfit.trailer.coupling_height) - tow.height
    assert one.way().ball_mount_drop == one.hitching().ball_mount_drop == pytest.approx(-below)
    assert below > NOSE_DOWN_ENOUGH
    told = [finding.code for finding in one.findings(one.hitching())]
    assert "stance-not-reached-rear" in told
    assert "trailer-nose-down" not in told  # it is air that it wants, not another mount


def test_on_trimmed_pressures_it_stands_as_the_tape_said_and_nobody_is_told_to_undo_them():
    outfit = next(one for one in OUTFITS if one.profile.name == "Mill on the hill road")
    parts = outfit.truck, outfit.trailer
    plan = standing(outfit.profile, *parts)
    taped = {"front_left": "36 psi", "front_right": "36 psi", "rear_left": "53 psi", "rear_right": "36 psi"}
    planned = {
        corner: f"{one} Pa" for corner, one in zip(CORNERS, plan.answer.set.pressure.ravel().tolist(), strict=True)
    }
    given = outfit.profile.replaced(pressures=taped)
    assert "stance-not-reached-rear" in [one.code for one in standing(given, *parts).answer.findings]
    trimmed = given.replaced(trimmed={"at": "2026-05-04T07:30:00", "pressures": taped, "planned": planned})
    one = standing(trimmed, *parts)
    assert one.answer.set.pressure[1, 0] == pytest.approx(53 * 6894.757, rel=1e-6)
    assert (one.answer.set.stance, one.answer.level) == (plan.answer.set.stance, True)
    assert one.findings(one.hitching()) == one.findings(one.way()) == ()
    assert one.hitching().stages[-1].height == plan.hitching().stages[-1].height
    (together, way), *_ = standings([(trimmed, *parts), (outfit.profile, *parts)])
    assert together.answer.set.stance == one.answer.set.stance
    assert together.findings(way) == ()
    burst = dict.fromkeys(taped, "104 psi")  # what no tape makes right
    over = trimmed.replaced(pressures=burst, trimmed=trimmed.trimmed.replaced(pressures=burst))
    codes = [finding.code for finding in standing(over, *parts).answer.findings]
    assert codes.count("pressure-high-rear-left") == 1
    assert not [code for code in codes if code.startswith("stance")]
    heavier = trimmed.replaced(cargo=[{"name": "Logs", "weight": "900 lb", "x": "0 in"}])
    assert "stance-not-reached-rear" in [one.code for one in standing(heavier, *parts).answer.findings]
