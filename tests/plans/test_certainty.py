"""How sure: the same by another library, by counting one by one, and what must hold whatever the spreads."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from SALib.analyze import sobol as sobol_analysis
from SALib.sample import sobol as sobol_sample

from planner.plans.answer import CORNERS
from planner.plans.certainty import PERCENTILES, WITHIN, certainty
from planner.plans.draws import BASE, batch, columns, draw, groups
from planner.plans.level import level_setup, settle_setup
from planner.plans.setup import Setup
from planner.plans.spreads import GROUPS, TYPICAL, spreads_of
from planner.records import Cargo
from planner.store import Store

from .conftest import DEMO
from .random_records import random_setup

PSI, INCH, POUND = 6894.757293168361, 0.0254, 0.45359237
MILL, SLABS, LOGS, SAW = "mill-on-the-hill-road", "slabs-on-friday", "logs-on-the-gooseneck", "saw-crew-all-on-the-left"
EVERY = [MILL, SLABS, LOGS, SAW]
EXACT = dict.fromkeys(TYPICAL, 0.0)


def _start(answer):
    return np.array([*vars(answer.set.stance).values(), answer.side_moment[0]])


def _batch(setup, base=BASE, own=None):
    answer = level_setup(setup)
    drawn = columns(setup, answer, spreads_of(setup, own))
    return answer, drawn, draw(drawn, base)


# Shares against another library


@pytest.mark.parametrize("slug", EVERY)
def test_shares_are_those_of_another_library_on_the_same_draws(demo, slug):
    """Both have the estimators of Saltelli 2010; of the first order SALib takes the mean of all blocks off first, scipy
    that of A and B, which differ by their sampling error, squared in the result."""
    setup = demo(slug)
    answer, drawn, deviations = _batch(setup)
    found, names = certainty(setup, answer), groups(drawn)
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
    found, names = certainty(setup, answer), groups(drawn)
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
    found = certainty(setup, level_setup(setup))
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
    axles, gauge = {}, {}
    readings = iter(by.get("gauge", []))
    high = by.get("tape", [0.0, 0.0])
    for k, name in enumerate(("front", "rear")):
        axle = getattr(truck, name)
        axle = axle.model_copy(update={"tyres": more(axle.tyres, rate=by[f"tyre.{name}"][0])})
        if axle.bag is not None:
            scale = 1.0 + by[f"area.{name}"][0]
            bag = axle.bag.model_copy(
                update={
                    "area": tuple(area * scale for area in axle.bag.areas),
                    "load": None,
                    "fitted_height": axle.bag.fitted_height + high[k],
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
            }
        )
    changed = replace(
        setup, truck=truck.model_copy(update={"kerb": kerb, **axles}), trailer=trailer, cargo=cargo,
        left_share=setup.left_share + by.get("left", [0.0])[0],
    )  # fmt: skip
    return settle_setup(changed, gauge)


@pytest.mark.parametrize("slug", EVERY)
def test_each_truck_of_the_batch_is_the_one_its_records_make(demo, slug):
    setup = demo(slug)
    answer, drawn, deviations = _batch(setup)
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


@pytest.mark.parametrize("slug", EVERY)
def test_chances_are_what_counting_finds(demo, slug):
    """All draws of a small sample, one at a time through the findings of the records."""
    setup, base = demo(slug), 16
    answer, drawn, deviations = _batch(setup, base)
    found = certainty(setup, answer, base=base)
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
    assert told == pytest.approx(counted)
    assert len(told) >= 4


def test_bands_and_distance_are_those_of_the_draws(demo):
    setup = demo(MILL)
    answer, drawn, deviations = _batch(setup)
    found = certainty(setup, answer)
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
    assert np.abs(correlation).max() < 0.1


# What must hold


@pytest.mark.parametrize("slug", EVERY)
def test_the_same_seed_gives_the_same_answer_and_another_one_nearly(demo, slug):
    setup = demo(slug)
    answer = level_setup(setup)
    one, again, other = certainty(setup, answer), certainty(setup, answer), certainty(setup, answer, seed=5)
    for name in ("ride_height", "rise", "lean"):
        for mine, same, near in zip(getattr(one, name), getattr(again, name), getattr(other, name), strict=True):
            assert np.array_equal(mine, same)
            assert_allclose(near, mine, atol=0.1 * INCH)
    assert one.chances == again.chances
    assert one.within == again.within
    assert other.within == pytest.approx(one.within, rel=0.05)
    assert other.within != one.within


@pytest.mark.parametrize("slug", EVERY)
def test_what_is_exact_has_no_band_and_nothing_to_share(demo, slug):
    setup = demo(slug)
    answer = level_setup(setup)
    found = certainty(setup, answer, EXACT)
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
    st.sampled_from(["weight", "tongue", "cargo.weight", "kerb.front", "kerb.left", "area.rear", "tyre.rear", "gauge"]),
    st.floats(0.2, 1.0),
    st.floats(1.3, 2.0),
)
def test_a_wider_spread_never_narrows_the_band(name, part, times):
    """Within a tenth of the band: all bands come from one finite set of points, which leans a little to one side."""
    setup = _mill()
    answer = level_setup(setup)
    own = {name: part * spreads_of(setup)[name].value}
    narrow, wide = certainty(setup, answer, own), certainty(setup, answer, {name: times * own[name]})
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
        found = certainty(setup, answer, EXACT | {key: spreads_of(setup)[key].value})
        assert found.shares.groups == (group,)
        assert found.shares.most == group
        assert found.shares.first[0] == pytest.approx(1.0, abs=0.02)


def test_a_tape_that_is_off_moves_bag_only_axles_by_as_much(demo):
    """With no steel the bag settles at one height whatever the tape says: the body is off by the tape's error."""
    setup = demo(MILL)
    found = certainty(setup, level_setup(setup), EXACT | {"tape": 0.25 * INCH})
    normal = 1.6449 * 0.25 * INCH  # 5 % of a normal lie beyond 1.645 deviations (standard tables); cut off: 1 % less
    assert_allclose(found.rise.high - found.rise.median, normal, rtol=0.03)


# Which spreads


def test_spreads_come_from_here_then_from_the_files_then_from_the_table(demo):
    found = spreads_of(demo(MILL), {"tongue": 0.02})
    assert {key: one.origin for key, one in found.items()} == {
        "weight": "typical", "tongue": "typed", "cargo.weight": "typical", "cargo.place": "typical",
        "kerb.front": "typical", "kerb.rear": "typical", "kerb.left": "typical", "area.front": "typical",
        "area.rear": "typical", "tyre.front": "file", "tyre.rear": "file", "gauge": "typical", "tape": "typical",
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
    found = certainty(setup, level_setup(setup))
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
    found = certainty(setup, level_setup(setup), base=32)
    for band in (found.ride_height, found.rise, found.lean):
        values = np.array(band)
        assert np.isfinite(values).all()
        assert (np.diff(values, axis=0) >= 0).all()
    assert 0 <= found.out_of_level <= 1
    assert all(0 < chance.share <= 1 for chance in found.chances)
    assert np.isfinite(found.shares.first).all()
