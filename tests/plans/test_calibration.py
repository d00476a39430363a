"""What readings teach of a truck: against hidden truths, against statsmodels, and with slips of the pen among them."""

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.physics.map_estimate import estimate
from planner.plans.calibration import calibrate
from planner.plans.weighed_truck import WeighedTruck, priors_of
from planner.store import Store

from .conftest import DEMO
from .weighings import PSI, draw_truth, make_reading, make_readings

RIDGE, YARD = (Store(DEMO).read_truck(slug) for slug in ("ridge-truck", "yard-truck"))
LEAF = RIDGE.replaced(rear=RIDGE.rear.replaced(steel_rate="150 lbf/in", steel_load="500 lbf"))
SHARP = RIDGE.replaced(instruments={"gauge_step": "0.01 psi", "gauge_error": "0.02 psi", "tape_error": "0.005 in"})


def typo(reading, corner, psi):
    """Return a reading with a pressure that is off by so much."""
    one = getattr(reading, corner)
    return reading.replaced(**{corner: one.replaced(pressure=f"{float(one.pressure) + psi * PSI} Pa")})


def swapped(reading, one, other):
    """Return a reading with two corners written in each other's place."""
    return reading.replaced(**{one: getattr(reading, other), other: getattr(reading, one)})


@pytest.mark.parametrize("truck", [RIDGE, LEAF, YARD], ids=["bags", "leaf", "joined"])
def test_readings_as_the_file_has_it_teach_that_it_is_right(truck):
    class Still:
        """A generator that always draws the middle."""

        def normal(self, loc=0.0, scale=1.0, size=None):
            return loc + np.zeros(() if size is None else size) if not isinstance(scale, tuple) else np.zeros(scale)

    truth = draw_truth(truck, Still())
    readings = [
        make_reading(truck, truth, Still(), rear=rear, at=n, noise=False) for n, rear in enumerate((0.0, 300.0))
    ]
    found = calibrate(truck, readings)
    for one in found.parameters:
        assert one.value == pytest.approx(one.prior.value, abs=0.02 * one.prior.sd), one.path
    assert all(abs(one.off) < 0.05 for one in found.residuals)
    assert not found.doubts


@pytest.mark.parametrize("count", [1, 2, 4])
def test_one_reading_helps_and_more_help_more(count):
    truth = draw_truth(RIDGE, np.random.default_rng(5))
    found = calibrate(RIDGE, make_readings(RIDGE, truth, np.random.default_rng(6), count))
    assert found.converged
    assert all(one.sd <= one.prior.sd * (1 + 1e-9) for one in found.parameters)
    limit = {1: 0.95, 2: 0.85, 4: 0.7}[count]
    assert found["rear.bag.area_scale"].sd < limit * found["rear.bag.area_scale"].prior.sd


def test_a_reading_of_one_corner_and_no_pressure_is_not_refused():
    truth = draw_truth(RIDGE, np.random.default_rng(5))
    whole = make_reading(RIDGE, truth, np.random.default_rng(6))
    bare = whole.replaced(front_left=None, front_right=None, rear_right=None, rear_left={"ride_height": "20 in"})
    found = calibrate(RIDGE, [bare])
    assert [one.value for one in found.parameters] == pytest.approx([one.prior.value for one in found.parameters])


def test_fine_instruments_find_the_hidden_truth():
    truth = draw_truth(SHARP, np.random.default_rng(9))
    readings = [
        make_reading(
            SHARP, truth, np.random.default_rng(n), rear=rear, front=-rear / 8, at=n, noise=False, wanted=wanted
        )
        for n, (rear, wanted) in enumerate(
            [
                (0, (0, 0, 0)),
                (800, (0, 0, 0)),
                (400, (0.02, 0.03, 0)),
                (800, (-0.02, -0.03, 0)),
                (300, (0.03, -0.03, 0)),
            ]
        )
    ]
    found = calibrate(SHARP, readings)
    for path in ("front.bag.area_scale", "rear.bag.area_scale"):
        assert found[path].value == pytest.approx(truth.parameters[path], abs=3 * found[path].sd)
        assert found[path].sd < 0.35 * found[path].prior.sd  # friction is left


def test_standard_errors_are_those_of_weighted_least_squares_by_statsmodels():
    truth = draw_truth(LEAF, np.random.default_rng(2))
    readings = make_readings(LEAF, truth, np.random.default_rng(3), 5)
    found, model = calibrate(LEAF, readings), WeighedTruck(LEAF, tuple(readings))
    there = model.measured.there
    fit = estimate(lambda x: model.left_over(x, there), lambda x: model.slopes(x, there), model.unknowns)
    measured, sd = model.slopes(fit.value, there), model.measured.sd[there]
    physical = measured * sd[:, None]
    rows = np.vstack([physical, np.eye(model.unknowns)])  # the prior counts as measured once
    said = np.concatenate([physical @ fit.value + model.left_over(fit.value, there) * sd, np.zeros(model.unknowns)])
    weights = np.concatenate([sd**-2.0, np.ones(model.unknowns)])
    judge = sm.WLS(said, rows, weights=weights).fit(cov_type="fixed scale")
    count, (value, spread) = len(found.parameters), model.parameters
    off = [one.value for one in found.parameters] - (value + spread * judge.params[:count])
    assert off / spread == pytest.approx(0.0, abs=1e-4)
    errors = spread * np.sqrt(np.diag(judge.normalized_cov_params))[:count]
    assert [one.sd for one in found.parameters] == pytest.approx(errors, rel=1e-6)
    cov = judge.normalized_cov_params[:count, :count]
    scale = np.sqrt(np.diag(cov))
    assert found.correlation == pytest.approx(cov / np.outer(scale, scale), abs=1e-6)


@given(st.integers(0, 2**32 - 1))
@settings(max_examples=25, deadline=None)
def test_prior_and_measurements_are_weighed_by_their_spreads_in_any_linear_case(seed):
    rng = np.random.default_rng(seed)
    by, said = rng.normal(size=(6, 4)), rng.normal(size=6)
    found = estimate(lambda x: said - by @ x, lambda x: by, 4)
    judge = np.linalg.lstsq(np.vstack([by, np.eye(4)]), np.concatenate([said, np.zeros(4)]), rcond=None)[0]
    assert found.value == pytest.approx(judge, abs=1e-8)
    dropped = np.arange(6) == 2
    rest = np.linalg.lstsq(
        np.vstack([by[~dropped], np.eye(4)]), np.concatenate([said[~dropped], np.zeros(4)]), rcond=None
    )
    assert found.without(dropped)[0] == pytest.approx(rest[0], abs=1e-8)
    assert np.all(np.diag(found.covariance) <= 1 + 1e-12)


@pytest.mark.parametrize(("corner", "psi"), [("rear_left", 20), ("front_right", -20), ("rear_right", 30)])
def test_a_slip_of_the_pen_is_asked_about_and_not_averaged_in(corner, psi):
    truth = draw_truth(RIDGE, np.random.default_rng(21))
    sound = make_readings(RIDGE, truth, np.random.default_rng(22), 4)
    clean = calibrate(RIDGE, sound)
    found = calibrate(RIDGE, [*sound[:2], typo(sound[2], corner, psi), sound[3]])
    assert not clean.doubts
    (doubt,) = found.doubts
    assert (doubt.residual.reading, doubt.residual.what, doubt.residual.corner) == (2, "pressure", corner)
    assert doubt.residual.measured - doubt.residual.expected == pytest.approx(psi * PSI, abs=8 * PSI)
    assert doubt.residual.wild
    for one, other in zip(clean.parameters, found.parameters, strict=True):
        assert one.value == pytest.approx(other.value, abs=one.prior.sd * 0.5)


def test_an_axle_s_weight_that_is_a_slip_is_asked_about_too():
    truth = draw_truth(RIDGE, np.random.default_rng(21))
    sound = make_readings(RIDGE, truth, np.random.default_rng(22), 4)
    clean = calibrate(RIDGE, sound)
    wrong = sound[1].replaced(rear_axle=f"{float(sound[1].rear_axle) + 600} kg")
    found = calibrate(RIDGE, [sound[0], wrong, *sound[2:]])
    asked = {(doubt.residual.reading, doubt.residual.what, doubt.residual.corner) for doubt in found.doubts}
    # where no wheel was weighed, a gauge that is off twice as much explains as much
    assert asked <= {(1, "axle_load", "rear"), (1, "pressure", "rear_left"), (1, "pressure", "rear_right")}
    assert asked
    area = clean["rear.bag.area_scale"]
    assert found["rear.bag.area_scale"].value == pytest.approx(area.value, abs=area.prior.sd)


def test_corners_written_in_each_others_place_are_asked_about():
    truth = draw_truth(RIDGE, np.random.default_rng(31))
    sound = make_readings(RIDGE, truth, np.random.default_rng(32), 4)
    wrong = swapped(sound[0], "front_left", "rear_left")  # empty: the front holds much more air than the rear
    found = calibrate(RIDGE, [wrong, *sound[1:]])
    (doubt,) = found.doubts
    assert doubt.residual.reading == 0
    assert doubt.swapped in (("front_left", "rear_left"), ("front_right", "rear_right"))  # gauges alone cannot tell


def test_each_reading_says_what_it_moved_and_the_next_one_is_told():
    truth = draw_truth(RIDGE, np.random.default_rng(41))
    found = calibrate(RIDGE, make_readings(RIDGE, truth, np.random.default_rng(42), 2))
    assert [one.reading for one in found.moved] == [0, 1]
    assert all(one.path in {two.path for two in found.parameters} for one in found.moved)
    assert found.next_reading is not None
    assert 0 < found.next_reading.gain < 1
    assert max(found.next_reading.front, found.next_reading.rear) > 0  # more load tells more than the same again


def test_an_axle_on_steel_and_bags_on_one_line_learn_too():
    found = calibrate(
        YARD, make_readings(YARD, draw_truth(YARD, np.random.default_rng(51)), np.random.default_rng(52), 3)
    )
    assert {"front.steel_load", "rear.bag.area_scale"} <= {one.path for one in found.parameters}
    assert found.converged
    assert {one.what for one in found.residuals} == {"ride_height", "pressure", "steel", "line", "axle_load"}


def test_every_parameter_has_the_spread_that_how_sure_has():
    sds = {one.path: one.sd for one in priors_of(RIDGE)}
    assert sds["front.bag.area_scale"] == 0.03
    assert sds["front.tyres.rate"] == pytest.approx(300 * 175.126835, rel=1e-6)


@pytest.mark.no_cover
@pytest.mark.parametrize("truck", [RIDGE, YARD], ids=["bags", "joined"])
def test_the_stated_band_holds_the_truth_as_often_as_it_says(truck):
    """A few truths; `tests/bench/calibration.py` prints a thousand."""
    rng, inside, cases = np.random.default_rng(61), [], 60
    for _ in range(cases):
        truth = draw_truth(truck, rng)
        found = calibrate(truck, make_readings(truck, truth, rng, 3))
        inside += [abs(one.value - truth.parameters[one.path]) < 1.96 * one.sd for one in found.parameters]
    assert 0.92 < np.mean(inside) < 0.98
