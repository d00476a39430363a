"""How sure: the same by another library, by counting one by one, and what must hold whatever the spreads."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from SALib.analyze import sobol as sobol_analysis
from SALib.sample import sobol as sobol_sample
from scipy.optimize import root

from planner.physics import equilibrium
from planner.physics.bag_limits import Limit
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.levelling import level
from planner.plans.answer import CORNERS
from planner.plans.level import level_setup, settle_setup
from planner.plans.ratings import sits_low
from planner.plans.setup import Setup, rig_of
from planner.plans.uncertainty.result import PERCENTILES, WITHIN, find_uncertainty, variance_shares
from planner.plans.uncertainty.samples import BASE, batch, columns, groups, sample_deviations
from planner.plans.uncertainty.spreads import GROUPS, PATHS, TYPICAL, spreads_of
from planner.records import Cargo
from planner.store import Store
from tests.physics.balances import Truck as Balances
from tests.plans.conftest import DEMO
from tests.plans.random_records import random_setup

PSI, INCH, POUND = 6894.757293168361, 0.0254, 0.45359237
MILL, SLABS, LOGS, SAW = "mill-on-the-hill-road", "slabs-on-friday", "logs-on-the-gooseneck", "saw-crew-all-on-the-left"
BARRED = "mill with bars"
EVERY = [MILL, SLABS, LOGS, SAW]
EXACT = dict.fromkeys(TYPICAL, 0.0)
BEYOND_RECORDS = dict.fromkeys(("sides.area", "sides.height", "friction", "side_slope"), 0.0)  # no file can say these


def _start(answer):
    return np.array([*vars(answer.set.stance).values(), answer.side_moment[0]])


def _batch(setup, base=BASE, own=None):
    answer = level_setup(setup)
    drawn = columns(setup, answer, spreads_of(setup, own))
    return answer, drawn, sample_deviations(drawn, base)


GUESSED_OF_AXLE = (
    "steel_load",
    "steel_rate",
    "motion_ratio",
    "unsprung_weight",
    "tyres.rate",
    "spring_spacing",
    "anti_roll_rate",
    "bag.area",
)
GUESSABLE = (
    *(f"{axle}.{field}" for axle in ("front", "rear") for field in GUESSED_OF_AXLE),
    *("kerb.left_share", "kerb.front_axle", "kerb.rear_axle"),
)


def _marked(setup, paths):
    """The same truck with these fields, and no others, marked as typical, and no spread in its file."""
    return replace(setup, truck=setup.truck.replaced(typical=list(paths), spread={}, correlation=None))


def _barred(demo):
    """The mill with weight-distribution bars that put back half."""
    setup = demo(MILL)
    return replace(setup, trailer=setup.trailer.replaced(bars=0.5))


# Shares against another library


@pytest.mark.parametrize("slug", EVERY)
def test_shares_are_those_of_another_library_on_the_same_draws(demo, slug):
    """Both have the estimators of Saltelli 2010; of the first order SALib takes the mean of all blocks off first, scipy
    that of A and B, which differ by their sampling error, squared in the result."""
    setup = demo(slug)
    answer, drawn, deviations = _batch(setup)
    found, names = find_uncertainty(setup, answer), list(groups(drawn))
    state = batch(setup, answer, drawn, deviations).settle(_start(answer)).state
    outputs = {"front": state[:, 0], "rear": state[:, 1], "lean": state[:, 2]}
    problem = {"num_vars": len(names), "names": names, "bounds": [[0, 1]] * len(names)}
    for what, output in outputs.items():
        a, b, *crossed = output.reshape(-1, BASE)
        rows = np.column_stack([a, *crossed, b]).ravel()  # SALib's order: point by point
        theirs = sobol_analysis.analyze(problem, rows, calc_second_order=False, seed=1)
        assert_allclose(found.share_of[what].first, theirs["S1"], atol=1e-4)
        assert_allclose(found.share_of[what].total, theirs["ST"], atol=1e-9)


def test_shares_are_those_of_another_library_s_own_draws_of_the_same_truck(demo):
    """Sampling error: SALib's 95 % interval of its own estimate, and as much again for ours."""
    setup = demo(MILL)
    answer, drawn, _ = _batch(setup)
    found, names = find_uncertainty(setup, answer), list(groups(drawn))
    problem = {
        "num_vars": len(drawn),
        "names": [f"{column.key} {j}" for j, column in enumerate(drawn)],
        "groups": [next(name for name, keys in GROUPS.items() if column.key in keys) for column in drawn],
        "bounds": [[-column.reach, column.reach, 0.0, 1.0] for column in drawn],
        "dists": ["truncnorm"] * len(drawn),
    }
    points = sobol_sample.sample(problem, 1024, calc_second_order=False, seed=7)
    deviations = points * np.array([column.deviation for column in drawn])
    state = batch(setup, answer, drawn, deviations).settle(_start(answer)).state
    for what, output in (("front", state[:, 0]), ("rear", state[:, 1]), ("lean", state[:, 2])):
        theirs = sobol_analysis.analyze(problem, output, calc_second_order=False, seed=1)
        order = [list(dict.fromkeys(problem["groups"])).index(name) for name in names]
        for ours, value, error in (
            (found.share_of[what].first, "S1", "S1_conf"),
            (found.share_of[what].total, "ST", "ST_conf"),
        ):
            assert np.all(np.abs(ours - theirs[value][order]) <= 0.005 + 2.5 * theirs[error][order])


@pytest.mark.parametrize("slug", EVERY)
def test_shares_of_a_nearly_linear_truck_add_up_to_the_whole(demo, slug):
    """First-order shares of a linear function sum to 1; the sampling error of 512 points is a few percent."""
    setup = demo(slug)
    found = find_uncertainty(setup, level_setup(setup))
    for shares in found.share_of.values():
        assert shares.first.sum() == pytest.approx(1.0, abs=0.05)
        assert_allclose(shares.first, shares.total, atol=0.06)


# Chances and bands against one truck at a time


def _one_by_one(setup, answer, drawn, off):
    """Return a truck made of records with one draw's numbers, and its answer at the set pressures."""
    by = {}
    for column, value in zip(drawn, off, strict=True):
        by.setdefault(column.key, []).append(float(value))

    def more(record, **changes):
        fields = {name: getattr(record, name) for name in changes}
        return record.model_copy(update={name: fields[name] + changes[name] for name in changes})

    truck = setup.truck
    kerb = more(truck.kerb, front_axle=by["kerb.front"][0], rear_axle=by["kerb.rear"][0], left_share=by["kerb.left"][0])
    kerb = kerb.model_copy(update={"mass_height": truck.mass_height + by["mass_height"][0]})
    axles, gauge = {}, {}
    readings = iter(by.get("gauge", []))
    tape = iter(by.get("tape", []))
    for k, name in enumerate(("front", "rear")):
        axle = getattr(truck, name)
        changes = {part: by[f"{part}.{name}"][0] for part in ("steel_load", "steel_rate") if f"{part}.{name}" in by}
        changes |= {"unsprung_weight": by[f"unsprung.{name}"][0]} if f"unsprung.{name}" in by else {}
        changes |= {"spring_spacing": by[f"spacing.{name}"][0]} if f"spacing.{name}" in by else {}
        parts = {"motion_ratio": "motion_ratio", "anti_roll_rate": "anti_roll"}
        changes |= {
            field: getattr(axle, field) * by[f"{key}.{name}"][0]
            for field, key in parts.items()
            if f"{key}.{name}" in by
        }
        axle = more(axle, **changes).model_copy(
            update={
                "tyres": more(axle.tyres, rate=by[f"tyre.{name}"][0]),
                "roll_axis_height": axle.roll_axis + by[f"roll_axis.{name}"][0],
            }
        )
        if axle.bag is not None:
            scale = 1.0 + by[f"area.{name}"][0]
            bag = axle.bag.model_copy(
                update={
                    "area": tuple(area * scale for area in axle.bag.areas),
                    "load": None,
                    "fitted_height": axle.bag.fitted_height + next(tape),
                    "volume": 1.0,  # has no part in a held pressure; large, so that no chart is refused
                }
            )
            axle = axle.model_copy(update={"bag": bag})
            errors = [next(readings)] * 2 if axle.plumbing == "joined" else [next(readings), next(readings)]
            for i in (0, 1):
                gauge[CORNERS[2 * k + i]] = float(answer.set.pressure[k, i]) + errors[i]
        axles[name] = axle
    weights, places = by.get("cargo.weight", []), by.get("cargo.place", [])
    cargo = tuple(
        more(item, weight=weights[j], x=places[2 * j], y=places[2 * j + 1]) for j, item in enumerate(setup.cargo)
    )
    trailer = setup.trailer
    if trailer is not None:
        trailer = trailer.model_copy(
            update={
                "deck": (),
                "gross_weight": trailer.weight + by["weight"][0],
                "tongue_ratio": trailer.tongue_share + by["tongue"][0],
                "bars": trailer.bars + by.get("bars", [0.0])[0],
            }
        )
    changed = replace(
        setup, truck=truck.model_copy(update={"kerb": kerb, **axles}), trailer=trailer, cargo=cargo,
        left_share=setup.left_share + by.get("left", [0.0])[0],
    )  # fmt: skip
    return settle_setup(changed, gauge)


def _all_guessed(demo):
    """The yard truck, and the mill behind it, with everything that can be a guess marked as one."""
    setup = demo(SLABS)
    return _marked(setup, GUESSABLE)


@pytest.mark.parametrize("slug", [*EVERY, BARRED, "all guessed"])
def test_each_truck_of_the_batch_is_the_one_its_records_make(demo, slug):
    made = {BARRED: _barred, "all guessed": _all_guessed}
    setup = made[slug](demo) if slug in made else demo(slug)
    answer, drawn, deviations = _batch(setup, own=BEYOND_RECORDS)
    trucks = batch(setup, answer, drawn, deviations)
    state = trucks.settle(_start(answer)).state
    design = np.array([[float(setup.truck.front.ride_height)], [float(setup.truck.rear.ride_height)]])
    heights = design + trucks.ride_heights(state)
    for j in range(0, len(deviations), len(deviations) // 40):
        alone = _one_by_one(setup, answer, drawn, deviations[j])
        assert_allclose(state[j, :3], list(vars(alone.stance).values()), atol=1e-7)
        assert_allclose(heights[j], alone.ride_height, atol=1e-7)
        assert_allclose(trucks.load.axle[j], alone.axle_load, rtol=1e-9)
        assert_allclose(trucks.hitch_load[j], alone.hitch_load, rtol=1e-9, atol=1e-6)
        assert_allclose(trucks.trailer_axle_load[j], alone.trailer_axle_load, rtol=1e-9, atol=1e-6)


@pytest.mark.no_cover
@pytest.mark.parametrize("slug", EVERY)
def test_chances_are_what_counting_finds(demo, slug):
    """All draws of a small sample, one at a time through the findings of the records."""
    setup, base = demo(slug), 16
    answer, drawn, deviations = _batch(setup, base, BEYOND_RECORDS)
    found = find_uncertainty(setup, answer, BEYOND_RECORDS, base=base)
    counted = {}
    off = 0
    for row in deviations:
        alone = _one_by_one(setup, answer, drawn, row)
        off += not alone.level
        for finding in alone.findings:
            if finding.code != "side-bias-on-ball":  # of the setup, not of a draw
                kind = finding.code, finding.level
                counted[kind] = counted.get(kind, 0.0) + 1.0 / len(deviations)
    assert found.draws == len(deviations) >= 100
    assert found.out_of_level == pytest.approx(off / len(deviations))
    told = {(chance.code, chance.level): chance.share for chance in found.chances}
    told.pop(("gauge-too-coarse", "caution"), None)  # of pressures that are planned; these are given
    assert told == pytest.approx(counted)
    assert len(told) >= 4


@pytest.mark.parametrize(("slug", "step"), [(MILL, "5 psi"), (LOGS, "2 psi")])
def test_the_gauge_is_too_coarse_for_trucks_that_stand_right_at_exact_pressures_only(demo, slug, step):
    """Every draw settled at the exact pressures too, with its own errors of gauge and bag."""
    setup = demo(slug)
    setup = replace(setup, truck=setup.truck.replaced(instruments=setup.truck.instruments.replaced(gauge_step=step)))
    answer, drawn, deviations = _batch(setup, 128)
    trucks = batch(setup, answer, drawn, deviations)
    steps = np.nan_to_num(answer.pressure - answer.set.pressure)
    exact = trucks.acting + steps * np.where(trucks.pressure > 0, trucks.acting / np.maximum(trucks.pressure, 1.0), 1.0)
    at = [trucks.settle(_start(answer)).state, replace(trucks, acting=exact).settle(_start(answer)).state]
    off = np.abs((np.array(at)[..., :3] - setup.wanted) * [1.0, 1.0, float(setup.truck.rear.track)])
    tape = float(setup.truck.instruments.tape_error)
    axles = (setup.truck.front, setup.truck.rear)
    ours = [*(axle.bag is not None for axle in axles), any(axle.plumbing == "separate" for axle in axles)]
    counted = ((off[0] > tape) & (off[1] <= tape) & ours).any(axis=-1).mean()
    told = {chance.code: chance for chance in find_uncertainty(setup, answer, base=128).chances}["gauge-too-coarse"]
    assert told.share == pytest.approx(counted, abs=0.03)
    assert counted > 0.01
    assert told.now == any(finding.code == "gauge-too-coarse" for finding in answer.findings)


@pytest.mark.no_cover  # most of it is levelling, one truck at a time
@pytest.mark.parametrize(("weight", "y"), [("3800 lb", "0 in"), ("4200 lb", "0 in"), ("5500 lb", "12 in")])
def test_an_overload_sits_low_as_often_as_levelling_each_truck_anew_finds(demo, weight, y):
    """A truck sits low that does so as it is set and once it is levelled again, with a bag there that is full."""
    setup = demo(MILL)
    setup = replace(setup, cargo=(*setup.cargo, Cargo(name="Stone", weight=weight, x="0 in", y=y)))
    own = BEYOND_RECORDS | {"area.front": 0.0, "area.rear": 0.0}  # one chart for all trucks
    answer, drawn, deviations = _batch(setup, 8, own)
    trucks, counted = batch(setup, answer, drawn, deviations), {}
    for j, now in enumerate(trucks.settle(_start(answer)).state):
        best = level(trucks.rig.truck(j), trucks.load.case(j), setup.wanted)
        full = (best.held == Limit.GREATEST_PRESSURE) | (best.held == Limit.LOAD_RATING)
        low = [sits_low(setup, state, full) > 0.0 for state in (now, best.state)]
        for name in np.array(["front", "rear", "left", "right"])[np.all(low, axis=0)]:
            counted[f"sits-low-{name}"] = counted.get(f"sits-low-{name}", 0.0) + 1.0 / len(deviations)
    chances = find_uncertainty(setup, answer, own, base=8).chances
    told = {one.code: one for one in chances if one.code.startswith("sits-low")}
    for code in {*told, *counted}:
        assert (told[code].share if code in told else 0.0) == pytest.approx(counted.get(code, 0.0), abs=0.05)
    assert told["sits-low-rear"].level == "stop"
    assert {code for code, one in told.items() if one.now} == {
        one.code for one in answer.findings if one.code.startswith("sits-low")
    }


def test_bands_and_distance_are_those_of_the_draws(demo):
    setup = demo(MILL)
    answer, drawn, deviations = _batch(setup)
    found = find_uncertainty(setup, answer)
    state = batch(setup, answer, drawn, deviations).settle(_start(answer)).state
    for percentile, rise, lean in zip(PERCENTILES, found.rise, found.lean, strict=True):
        assert_allclose((state[:, :2] <= rise).mean(axis=0), percentile / 100, atol=2e-3)
        assert (state[:, 2] * setup.truck.rear.track <= lean).mean() == pytest.approx(percentile / 100, abs=2e-3)
    tracks = np.array([setup.truck.front.track, setup.truck.rear.track])
    corner = state[:, :2, None] + np.array([1, -1]) * (tracks / 2)[:, None] * state[:, 2, None, None]
    assert (np.abs(corner).max(axis=(1, 2)) <= found.within).mean() == pytest.approx(WITHIN, abs=2e-3)


def test_draws_have_the_spreads_they_are_said_to_have(demo):
    """A normal cut off at three deviations has 0.98658 of its deviation (standard tables; here by scipy)."""
    from scipy.stats import truncnorm

    _, drawn, deviations = _batch(demo(MILL))
    both = deviations[: 2 * BASE]
    expected = truncnorm(-3, 3).std() * np.array([column.deviation for column in drawn])
    assert_allclose(both.std(axis=0), expected, rtol=0.02)
    assert_allclose(both.mean(axis=0), 0.0, atol=0.01 * expected.max())
    assert (np.abs(both) <= 3 * np.array([column.deviation for column in drawn])).all()
    with np.errstate(invalid="ignore"):
        correlation = np.corrcoef(both.T) - np.eye(len(drawn))
    assert (
        np.abs(correlation).max() < 0.15
    )  # of 200 pairs, 1,024 points each; Sobol' points of high dimensions pair less evenly


# What no file can say, against the balances written out anew


def _upright(setup, load, slope):
    """What stands over the roll axis, thing by thing, and the load on ground whose left side is higher by a slope."""
    truck, axis = setup.truck, (setup.truck.front.roll_axis, setup.truck.rear.roll_axis)
    sprung = [
        (truck.kerb.front_axle - truck.front.unsprung_weight),
        (truck.kerb.rear_axle - truck.rear.unsprung_weight),
    ]
    things = [(sprung[0], truck.wheelbase, truck.mass_height), (sprung[1], 0.0, truck.mass_height)]
    things += [(one.weight, one.x, one.z) for one in (*setup.cargo, *setup.aboard)]
    if setup.hitch is not None and setup.trailer is not None:
        things.append((float(setup.hitched().hitch_load) / G, setup.hitch.x, setup.hitch.height))
    swings = sum(w * G * (z - axis[1] - (axis[0] - axis[1]) * x / truck.wheelbase) for w, x, z in things)
    return swings, float(load.side_moment) - swings * slope


def _rest(setup, answer, scale, offset, slope):
    """Return the state in which a general solver finds the springs at rest; scale and offset of the bags, (2, 2)."""
    rig = rig_of(setup.truck)
    load = setup.load(rig)
    swings, side = _upright(setup, load, slope)
    balances, gauge = Balances(rig, load), np.nan_to_num(answer.set.pressure)

    def left_over(unknown):
        z, roll, front = unknown[:2], unknown[2], 1e4 * unknown[3]
        moments = front, side - swings * roll - front
        travel, needed = balances.heights(z, roll, moments), balances.needed(roll, moments)
        out = []
        for k in (0, 1):
            for i in (0, 1):
                air = 0.0
                if rig.bags[k]:
                    air = gauge[k, i] * scale[k, i] * balances.area(k, travel[k, i] + offset[k, i])
                out.append((needed[k, i] - air - rig.steel_load[k] + rig.steel_rate[k] * travel[k, i]) / 1e3)
        return out

    found = root(left_over, _start(answer) * np.array([1, 1, 1, 1e-4]), tol=1e-12)
    assert np.abs(found.fun).max() < 1e-7
    return found.x * np.array([1, 1, 1, 1e4])


ONLY_BEYOND = EXACT | {key: TYPICAL[key].value for key in BEYOND_RECORDS}


@pytest.mark.parametrize("slug", EVERY)
def test_each_truck_with_unlike_bags_on_a_slope_rests_where_a_general_solver_finds_it(demo, slug):
    setup = demo(slug)
    answer, drawn, deviations = _batch(setup, own=ONLY_BEYOND)
    state = batch(setup, answer, drawn, deviations).settle(_start(answer)).state
    bagged = [k for k in (0, 1) if rig_of(setup.truck).bags[k]]
    for j in range(0, len(deviations), len(deviations) // 20):
        by = {}
        for column, value in zip(drawn, deviations[j], strict=True):
            by.setdefault(column.key, []).append(float(value))
        scale, offset = np.ones((2, 2)), np.zeros((2, 2))
        for place, k in enumerate(bagged):
            half_area, half_height = by["sides.area"][place] / 2, by["sides.height"][place] / 2
            rubbing = np.array(by["friction"][2 * place : 2 * place + 2])
            scale[k] = np.array([1 + half_area, 1 - half_area]) * (1 + rubbing)
            offset[k] = half_height, -half_height
        assert_allclose(state[j], _rest(setup, answer, scale, offset, by["side_slope"][0]), atol=1e-7, rtol=1e-6)


def test_bands_of_unlike_bags_on_a_slope_are_those_of_our_own_draws(demo):
    """200 draws by numpy's own normal numbers, each settled by a general solver; their deviation is known to 5 %."""
    setup, rng = demo(MILL), np.random.default_rng(11)
    answer, drawn, deviations = _batch(setup, own=ONLY_BEYOND)
    own, spread = [], TYPICAL
    for _ in range(200):
        sides = np.array([1.0, -1.0]) * rng.normal(0, spread["sides.area"].value / 2, (2, 1))
        scale = (1 + sides) * (1 + rng.normal(0, spread["friction"].value, (2, 2)))
        offset = np.array([1.0, -1.0]) * rng.normal(0, spread["sides.height"].value / 2, (2, 1))
        own.append(_rest(setup, answer, scale, offset, rng.normal(0, spread["side_slope"].value)))
    state = batch(setup, answer, drawn, deviations).settle(_start(answer)).state[: 2 * BASE]
    assert_allclose(np.std(own, axis=0)[:3], state.std(axis=0)[:3], rtol=0.15)


def test_unlike_bags_make_the_lean_wider_and_leave_the_mean_height_as_it_is(demo):
    setup = demo(MILL)
    answer = level_setup(setup)
    sides = ("sides.area", "sides.height")
    alike, unlike = find_uncertainty(setup, answer, dict.fromkeys(sides, 0.0)), find_uncertainty(setup, answer)
    assert (unlike.lean.high - unlike.lean.low) > 1.08 * (alike.lean.high - alike.lean.low)
    alone = find_uncertainty(setup, answer, EXACT | {key: TYPICAL[key].value for key in sides})
    assert (alone.rise.high - alone.rise.low).max() < 0.1 * (alone.lean.high - alone.lean.low)


# What is typical is less sure


@pytest.mark.parametrize("path", GUESSABLE)
def test_marking_a_value_as_one_s_own_never_widens_its_spread(demo, path):
    keys = {one: two for two, one in PATHS.items()}
    for slug in (SLABS, MILL):
        for others in ((), GUESSABLE):
            setup = demo(slug)
            guessed = spreads_of(_marked(setup, {*others, path}))
            own = spreads_of(_marked(setup, set(others) - {path}))
            assert set(own) <= set(guessed)
            assert all(own[key].value <= guessed[key].value for key in own)
            key = keys[path]
            if key in guessed and not (
                path.endswith("steel_load") and setup.truck.front.bag is None and "front" in path
            ):
                assert key not in own or own[key].value < guessed[key].value
                assert guessed[key].source != TYPICAL[key].source


@pytest.mark.parametrize("path", ["rear.steel_load", "rear.steel_rate", "rear.tyres.rate", "rear.bag.area"])
def test_marking_a_value_as_one_s_own_never_widens_the_band(demo, path):
    """The same points are drawn for both, as no number is drawn more or less: so it holds without sampling error."""
    setup = demo(SLABS)
    answer = level_setup(setup)
    guessed = find_uncertainty(_marked(setup, [path]), answer)
    own = find_uncertainty(_marked(setup, []), answer)
    widths = [one.rise.high[1] - one.rise.low[1] for one in (own, guessed)]
    assert widths[0] <= widths[1]
    assert own.within <= guessed.within


@settings(max_examples=8, deadline=None)
@given(st.sets(st.sampled_from(GUESSABLE)), st.sampled_from(GUESSABLE))
def test_no_set_of_guesses_is_narrower_than_with_one_of_them_known(guesses, path):
    """512 points of a spread whose deviation they know to a few percent: a number more or less draws other points."""
    store = Store(DEMO).read_outfit(SLABS)
    setup = Setup.of(store.profile, store.truck, store.trailer)
    answer = level_setup(setup)
    guessed = find_uncertainty(_marked(setup, {*guesses, path}), answer, base=256)
    own = find_uncertainty(_marked(setup, guesses - {path}), answer, base=256)
    assert own.within <= 1.06 * guessed.within


def test_a_guessed_steel_load_moves_the_band_by_what_it_moves_the_pressure(demo):
    """5 % of 820 lbf is 41 lbf a side, 20 % is 164: over 29 in² that is 1.4 and 5.7 psi in the bags' place."""
    setup = demo(SLABS)
    answer = level_setup(setup)
    only = EXACT | {"steel_load.rear": None}
    widths = []
    for typical in ([], ["rear.steel_load"]):
        marked = _marked(setup, typical)
        spread = spreads_of(marked)["steel_load.rear"].value
        found = find_uncertainty(marked, answer, only | {"steel_load.rear": spread})
        widths.append(float(found.rise.high[1] - found.rise.low[1]))
    assert 3.0 < widths[1] / widths[0] < 5.0


def test_a_guess_that_the_file_gives_a_spread_of_has_that_spread(demo):
    setup = demo(SLABS)
    truck = setup.truck.replaced(typical=["rear.motion_ratio"], spread={"rear.motion_ratio": 0.02})
    found = spreads_of(replace(setup, truck=truck))["motion_ratio.rear"]
    assert (found.value, found.origin) == (pytest.approx(0.02), "file")
    known = spreads_of(replace(setup, truck=truck.replaced(typical=[])))["motion_ratio.rear"]
    assert known.value == found.value


def test_a_rub_in_the_bags_is_as_good_as_a_pressure_off_by_as_much(demo):
    setup = demo(MILL)
    answer = level_setup(setup)
    found = find_uncertainty(setup, answer, EXACT | {"friction": 0.02})
    pressed = answer.set.pressure.mean(axis=1)
    for k in (0, 1):
        gauged = find_uncertainty(setup, answer, EXACT | {"gauge": 0.02 * pressed[k]})
        assert (found.rise.high - found.rise.low)[k] == pytest.approx((gauged.rise.high - gauged.rise.low)[k], rel=0.1)


# What comes to no rest


def test_draws_that_find_no_rest_are_counted_and_in_no_band(demo, monkeypatch):
    """With few steps allowed some draws are not at rest yet: the rest of them are as with all steps allowed."""
    setup = demo(MILL)
    answer, drawn, deviations = _batch(setup)
    trucks = batch(setup, answer, drawn, deviations)
    settled = trucks.settle(_start(answer)).state
    monkeypatch.setattr(equilibrium, "MOST_STEPS", 5)
    at_rest = trucks.settle(_start(answer)).converged
    found = find_uncertainty(setup, answer)
    assert 0.02 < at_rest.mean() < 0.98
    assert found.without_rest == pytest.approx(1.0 - at_rest.mean())
    assert found.draws == len(at_rest)
    assert_allclose(found.rise, np.percentile(settled[at_rest, :2], PERCENTILES, axis=0), atol=1e-6)
    assert all(np.isfinite(shares.total).all() for shares in found.share_of.values())


def test_where_no_draw_rests_it_is_said(demo, monkeypatch):
    setup = demo(MILL)
    answer = level_setup(setup)
    monkeypatch.setattr(equilibrium, "MOST_STEPS", 1)
    assert find_uncertainty(setup, answer).without_rest == 1.0


def test_shares_do_not_know_where_a_draw_was_left_that_found_no_rest():
    rng = np.random.default_rng(3)
    heights, at_rest = rng.normal(size=(4 * 64, 7)), rng.random(4 * 64) > 0.1
    one, other = (
        variance_shares(np.where(at_rest[:, None], heights, far), at_rest, ("a", "b"), 64) for far in (0.0, 1e9)
    )
    for what in one:
        assert_allclose(one[what].first, other[what].first)
        assert_allclose(one[what].total, other[what].total)


# What must hold


@pytest.mark.parametrize("slug", [MILL, SLABS])
def test_a_spread_of_nought_drops_out_and_each_alone_is_all_there_is(demo, slug):
    setup = demo(slug)
    answer = level_setup(setup)
    for key, spread in spreads_of(setup).items():
        found = find_uncertainty(setup, answer, EXACT | {key: spread.value}, base=32)
        (group,) = found.shares.groups
        assert key in GROUPS[group]
        assert found.without_rest == 0.0
    everything = find_uncertainty(setup, answer, base=32).shares.groups
    for group in everything:
        without = find_uncertainty(setup, answer, dict.fromkeys(GROUPS[group], 0.0), base=32)
        assert without.shares.groups == tuple(name for name in everything if name != group)


@pytest.mark.parametrize("slug", EVERY)
def test_the_same_seed_gives_the_same_answer_and_another_one_nearly(demo, slug):
    setup = demo(slug)
    answer = level_setup(setup)
    one, again, other = (
        find_uncertainty(setup, answer),
        find_uncertainty(setup, answer),
        find_uncertainty(setup, answer, seed=5),
    )
    for name in ("ride_height", "rise", "lean"):
        for mine, same, near in zip(getattr(one, name), getattr(again, name), getattr(other, name), strict=True):
            assert np.array_equal(mine, same)
            assert_allclose(near, mine, atol=0.12 * INCH)
    assert one.chances == again.chances
    assert one.within == again.within
    assert other.within == pytest.approx(one.within, rel=0.05)
    assert other.within != one.within


@pytest.mark.parametrize("slug", EVERY)
def test_what_is_exact_has_no_band_and_nothing_to_share(demo, slug):
    setup = demo(slug)
    answer = level_setup(setup)
    found = find_uncertainty(setup, answer, EXACT)
    given = {corner: float(p) for corner, p in zip(CORNERS, answer.set.pressure.ravel(), strict=True) if p == p}
    sits = settle_setup(setup, given)
    for values in found.ride_height:
        assert_allclose(values, sits.ride_height, atol=1e-8)
    assert found.shares.groups == ()
    assert found.shares.most is None
    assert found.out_of_level == float(not sits.level)
    codes = {finding.code for finding in sits.findings}
    assert all(chance.share == 1.0 for chance in found.chances)
    assert {chance.code for chance in found.chances} <= codes


@settings(max_examples=30)
@given(
    st.sampled_from(
        [
            "weight",
            "tongue",
            "cargo.weight",
            "kerb.front",
            "kerb.left",
            "area.rear",
            "tyre.rear",
            "gauge",
            "sides.area",
            "sides.height",
            "friction",
            "mass_height",
            "roll_axis.rear",
            "side_slope",
        ]
    ),
    st.floats(0.2, 1.0),
    st.floats(1.3, 2.0),
)
def test_a_wider_spread_never_narrows_the_band(name, part, times):
    """Within a tenth of the band: all bands come from one finite set of points, which leans a little to one side."""
    setup = _mill()
    answer = level_setup(setup)
    own = {name: part * spreads_of(setup)[name].value}
    narrow, wide = (find_uncertainty(setup, answer, one, base=128) for one in (own, {name: times * own[name]}))
    for before, after in ((narrow.rise, wide.rise), (narrow.lean, wide.lean)):
        width = before.high - before.low
        assert np.all(after.high - after.low >= 0.9 * width)
    group = next(g for g, keys in GROUPS.items() if name in keys)
    at = narrow.shares.groups.index(group)
    assert wide.shares.total[at] >= narrow.shares.total[at] - 0.01


def _mill():
    outfit = Store(DEMO).read_outfit(MILL)
    return Setup.of(outfit.profile, outfit.truck, outfit.trailer)


def test_one_doubt_alone_takes_the_whole_share(demo):
    setup = demo(MILL)
    answer = level_setup(setup)
    for key, group in (("tongue", "tongue ratio"), ("tape", "tape"), ("cargo.place", "cargo")):
        found = find_uncertainty(setup, answer, EXACT | {key: spreads_of(setup)[key].value})
        assert found.shares.groups == (group,)
        assert found.shares.most == group
        assert found.shares.first[0] == pytest.approx(1.0, abs=0.02)


def test_a_tape_that_is_off_moves_bag_only_axles_by_as_much(demo):
    """With no steel the bag settles at one height whatever the tape says: the body is off by the tape's error."""
    setup = demo(MILL)
    found = find_uncertainty(setup, level_setup(setup), EXACT | {"tape": 0.25 * INCH})
    normal = 1.6449 * 0.25 * INCH  # 5 % of a normal lie beyond 1.645 deviations (standard tables); cut off: 1 % less
    assert_allclose(found.rise.high - found.rise.median, normal, rtol=0.03)


# Which spreads


def test_spreads_come_from_here_then_from_the_files_then_from_the_table(demo):
    found = spreads_of(demo(MILL), {"tongue": 0.02})
    assert {key: one.origin for key, one in found.items()} == {
        "weight": "typical", "tongue": "typed", "cargo.weight": "typical", "cargo.place": "typical",
        "kerb.front": "typical", "kerb.rear": "typical", "kerb.left": "typical", "area.front": "typical",
        "area.rear": "typical", "sides.area": "typical", "sides.height": "typical", "friction": "typical",
        "tyre.front": "file", "tyre.rear": "file", "mass_height": "typical", "roll_axis.front": "typical",
        "unsprung.front": "typical", "unsprung.rear": "typical",  # the truck's file lists both as typical
        "roll_axis.rear": "typical", "side_slope": "typical", "gauge": "typical", "tape": "typical",
    }  # fmt: skip
    assert found["tongue"].value == 0.02
    assert found["weight"].value == pytest.approx(0.03 * 7200 * POUND)
    assert found["tyre.rear"].value == pytest.approx(300 * POUND * 9.80665 / INCH)
    assert found["gauge"].value == pytest.approx(2 * PSI)
    assert found["tyre.rear"].source == "from your files"
    assert found["tongue"].source == "as set here"
    assert "practice" in found["weight"].source


def test_instruments_of_the_file_are_the_owner_s(demo):
    setup = demo(MILL)
    truck = setup.truck.replaced(instruments={"gauge_error": "0.5 psi"}, spread={"rear.bag.area": "2.4 in**2"})
    found = spreads_of(replace(setup, truck=truck))
    assert (found["gauge"].origin, found["tape"].origin, found["area.rear"].origin) == ("file", "typical", "file")
    assert found["gauge"].value == pytest.approx(0.5 * PSI)
    assert found["area.rear"].value == pytest.approx(2.4 / 48)  # of the 48 in² at fitted height


def test_files_say_how_far_heights_steel_and_bars_may_be_off(demo):
    setup = demo(SLABS)
    spread = {
        "front.steel_load": "54.16 lbf", "front.steel_rate": "70 lbf/in", "kerb.mass_height": "2 in",
        "front.roll_axis_height": "3 in",
    }  # fmt: skip
    trailer = setup.trailer.replaced(bars=0.4, spread={"bars": 0.04})
    found = spreads_of(replace(setup, truck=setup.truck.replaced(spread=spread), trailer=trailer))
    assert {key for key, one in found.items() if one.origin == "file"} == {
        "steel_load.front", "steel_rate.front", "mass_height", "roll_axis.front", "bars"
    }  # fmt: skip
    assert found["steel_load.front"].value == pytest.approx(54.16 * POUND * G)
    assert found["steel_rate.front"].value == pytest.approx(70 * POUND * G / INCH)
    assert found["mass_height"].value == pytest.approx(2 * INCH)
    assert found["roll_axis.front"].value == pytest.approx(3 * INCH)
    assert found["bars"].value * trailer.bars == pytest.approx(0.04)
    typical = spreads_of(setup)
    assert typical["steel_load.rear"].value == pytest.approx(0.05 * 820 * POUND * G)
    assert typical["steel_rate.rear"].value == pytest.approx(0.08 * 280 * POUND * G / INCH)


def test_bars_may_be_off_by_a_quarter_of_their_moment(demo):
    setup = _barred(demo)
    answer, drawn, deviations = _batch(setup, own=EXACT | {"bars": 0.25})
    moment = batch(setup, answer, drawn, deviations).hitch_load
    slack, set_ = demo(MILL).hitched().hitch_load, setup.hitched().hitch_load
    assert (slack - moment)[: 2 * BASE].std() == pytest.approx(0.25 * 0.98658 * float(slack - set_), rel=0.02)
    assert "bars" not in spreads_of(demo(MILL))


def test_what_moves_nothing_has_no_spread(demo):
    assert "left" not in spreads_of(demo(LOGS))  # a ball swivels
    alone = spreads_of(demo(SAW))
    assert not {"weight", "tongue", "left"} & set(alone)
    assert "cargo.weight" in alone
    assert "area.front" not in spreads_of(demo(SLABS))  # steel in front


def test_a_rigid_coupling_has_a_side_bias_to_be_sure_of(demo):
    setup = demo(LOGS)
    rigid = setup.hitch.model_copy(update={"roll_coupling": 1.0})
    setup = replace(setup, hitch=rigid)
    found = find_uncertainty(setup, level_setup(setup))
    bias = found.share_of["lean"].first[found.shares.groups.index("side bias")]
    assert bias > 0.05
    assert found.share_of["front"].first[found.shares.groups.index("side bias")] == pytest.approx(0.0, abs=0.01)


@pytest.mark.parametrize("value", [-0.01, float("nan"), float("inf")])
def test_a_spread_that_cannot_be_is_refused(demo, value):
    with pytest.raises(ValueError, match=r"spread of Tongue ratio must be a finite number >= 0, got"):
        spreads_of(demo(MILL), {"tongue": value})
    with pytest.raises(KeyError, match="tounge"):
        spreads_of(demo(MILL), {"tounge": 0.01})


def test_no_draw_makes_a_weight_or_a_pressure_that_cannot_be(demo):
    setup = demo(MILL)
    light = Cargo(name="Chain", weight="10 lb", x="20 in")
    setup = replace(setup, cargo=(light,))
    own = {
        "weight": 3000.0,
        "cargo.weight": 2.0,
        "gauge": 50 * PSI,
        "area.rear": 0.9,
        "tyre.front": 1e6,
        "kerb.left": 0.4,
    }
    answer, drawn, deviations = _batch(setup, own=own)
    trucks = batch(setup, answer, drawn, deviations)
    assert (trucks.gross > 0).all()
    assert (trucks.pressure > 0).all()
    assert (trucks.rig.tyre_rate > 0).all()
    assert (trucks.acting > 0).all()
    weights = deviations[:, [column.key == "cargo.weight" for column in drawn]]
    assert (light.weight + weights > 0).all()


@pytest.mark.parametrize("seed", range(45))
def test_any_truck_has_a_certainty(seed):
    setup = random_setup(seed)
    if setup is None:
        return
    found = find_uncertainty(setup, level_setup(setup), base=32)
    for band in (found.ride_height, found.rise, found.lean):
        values = np.array(band)
        assert np.isfinite(values).all()
        assert (np.diff(values, axis=0) >= 0).all()
    assert 0 <= found.out_of_level <= 1
    assert all(0 < chance.share <= 1 for chance in found.chances)
    assert np.isfinite(found.shares.first).all()
