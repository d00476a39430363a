"""Labels as arrays: a batch says of each case what one answer by itself says; each limit holds where it is written."""

from dataclasses import replace

import numpy as np
import pytest

from planner.physics.constants import STANDARD_GRAVITY as G
from planner.plans.level import level_setup
from planner.plans.rating_findings import SAID
from planner.plans.rating_findings import carried_by as of_answer
from planner.plans.ratings import TONGUE_RANGES, Carried, checks, trailer_checks

from .random_records import random_setup

DEMO = ["mill-on-the-hill-road", "logs-on-the-gooseneck", "saw-crew-all-on-the-left", "slabs-on-friday"]


def carried_by(setup, answer, **changes):
    """Return what an answer carries."""
    return of_answer(setup, answer)._replace(**changes)


def passed(setup, carried):
    """Return the codes of the checks that one case passes, with how bad each is."""
    return {(check.code, check.level) for check in checks(setup, carried) if check.passed}


def light(setup, answer):
    """Return what it carries, scaled so far down that nothing is passed but what is too light."""
    carried = carried_by(setup, answer)
    bags = {}
    for name, middle in (("pressure", "least_pressure"), ("bag_height", "fitted_height"), ("bag_load", None)):
        of_axle = [[0.0 if b is None or middle is None else float(getattr(b, middle))] * 2 for b in bag_records(setup)]
        bags[name] = np.array(of_axle)
    return carried._replace(trailer_axle_load=np.asarray(0.0), trailer_load=np.asarray(0.0), **bags)


def bag_records(setup):
    return setup.truck.front.bag, setup.truck.rear.bag


@pytest.mark.parametrize("slug", DEMO)
def test_a_batch_says_of_each_case_what_its_answer_says(demo, slug):
    """Loads from nothing to three times what is there, each case against the findings of the same numbers."""
    setup = demo(slug)
    answer = level_setup(setup)
    factors = np.linspace(0.0, 3.0, 31)
    one = carried_by(setup, answer)
    stacked = Carried(*(np.stack([np.asarray(part) * factor for factor in factors]) for part in one))
    batch = checks(setup, stacked)
    for n, factor in enumerate(factors):
        alone = checks(setup, Carried(*(np.asarray(part) * factor for part in one)))
        assert [check.code for check in batch] == [check.code for check in alone]
        for many, single in zip(batch, alone, strict=True):
            assert bool(many.passed[n]) == bool(single.passed)
            assert np.broadcast_to(many.value, factors.shape)[n] == pytest.approx(float(single.value))
            assert (many.limit, many.level, many.kind) == (single.limit, single.level, single.kind)


@pytest.mark.parametrize("seed", range(0, 300, 3))
def test_findings_of_labels_are_the_checks_that_are_passed(seed):
    setup = random_setup(seed)
    if setup is None:
        return
    answer = level_setup(setup)
    found = {(one.code, one.level): one for one in answer.findings if one.code.startswith(tuple(SAID))}
    assert set(found) == passed(setup, carried_by(setup, answer))
    for check in checks(setup, carried_by(setup, answer)):
        if check.passed:
            finding = found[check.code, check.level]
            assert (finding.value, finding.limit) == (float(check.value), check.limit)


@pytest.mark.parametrize("slug", DEMO)
def test_no_case_passes_two_checks_of_one_code(demo, slug):
    setup = demo(slug)
    weights = np.linspace(-1.0, 3.0, 41)
    one = carried_by(setup, level_setup(setup))
    batch = checks(setup, Carried(*(np.stack([np.asarray(part) * weight for weight in weights]) for part in one)))
    for code in {check.code for check in batch}:
        times = sum(np.broadcast_to(check.passed, weights.shape).astype(int) for check in batch if check.code == code)
        assert times.max() <= 1


LABELS = {  # code: what is carried, and the rating, from the records
    "gvwr": lambda s, x: ({"axle_load": np.array([0.5, 0.5]) * x}, s.truck.gvwr * G),
    "gcwr": lambda s, x: ({"axle_load": np.zeros(2), "trailer_axle_load": np.asarray(x)}, s.truck.gcwr * G),
    "gawr-front": lambda s, x: ({"axle_load": np.array([x, 0.0])}, s.truck.front.gawr * G),
    "gawr-rear": lambda s, x: ({"axle_load": np.array([0.0, x])}, s.truck.rear.gawr * G),
    "tyre-front": lambda s, x: (
        {"tyre_load": np.array([[1.0, x], [1.0, 1.0]])},
        s.truck.front.tyres.load_rating * s.truck.front.tyres.per_side * G,
    ),
    "tyre-rear": lambda s, x: (
        {"tyre_load": np.array([[1.0, 1.0], [x, 1.0]])},
        s.truck.rear.tyres.load_rating * s.truck.rear.tyres.per_side * G,
    ),
    "bag-load-rear-right": lambda s, x: ({"bag_load": np.array([[0, 0], [0, x]])}, float(s.truck.rear.bag.load_rating)),
    "tongue-rating": lambda s, x: (
        {"trailer_load": np.asarray(8.0 * x), "tongue_share": np.asarray(0.125)},
        s.hitch.tongue_rating * G,
    ),
    "trailer-rating": lambda s, x: ({"trailer_load": np.asarray(x)}, s.hitch.trailer_rating * G),
    "trailer-gvwr": lambda s, x: ({"trailer_load": np.asarray(x)}, s.trailer.gvwr * G),
    "trailer-axle": lambda s, x: (
        {"trailer_axle_load": np.asarray(x)},
        s.trailer.axle_rating * s.trailer.axle_count * G,
    ),
}


@pytest.mark.parametrize("code", LABELS)
def test_a_load_at_its_rating_passes_and_one_a_thousandth_over_is_stopped(demo, code):
    setup = demo("mill-on-the-hill-road")
    nothing = light(setup, level_setup(setup))
    _, rating = LABELS[code](setup, 1.0)
    for factor, stopped in ((0.5, False), (1.0, False), (1.001, True), (2.0, True)):
        changes, _ = LABELS[code](setup, factor * rating)
        assert ((code, "stop") in passed(setup, nothing._replace(**changes))) is stopped


@pytest.mark.parametrize(
    ("code", "level", "field", "off", "found"),
    [
        ("pressure-high", "stop", "greatest_pressure", 500.0, True),
        ("pressure-high", "stop", "greatest_pressure", 0.0, False),
        ("pressure-low", "stop", "least_pressure", -500.0, True),
        ("pressure-low", "stop", "least_pressure", 0.0, False),
        ("bag-height-low", "caution", "lowest", 0.0, True),
        ("bag-height-low", "caution", "lowest", 0.001, False),
        ("bag-height-high", "caution", "highest", 0.0, True),
        ("bag-height-high", "caution", "highest", -0.001, False),
    ],
)
def test_a_bag_is_held_to_its_pressures_and_the_ends_of_its_chart(demo, code, level, field, off, found):
    setup = demo("mill-on-the-hill-road")
    bag = setup.truck.rear.bag
    ends = {"lowest": bag.height[0], "highest": bag.height[-1]}
    value = float(ends.get(field) or getattr(bag, field)) + off
    name = "bag_height" if field in ends else "pressure"
    carried = light(setup, level_setup(setup))
    corners = getattr(carried, name).copy()
    corners[1, 0] = value
    assert ((f"{code}-rear-left", level) in passed(setup, carried._replace(**{name: corners}))) is found


def test_bags_left_out_are_not_checked_and_all_else_is(demo):
    setup = demo("mill-on-the-hill-road")
    carried = carried_by(setup, level_setup(setup))
    rest = [check.code for check in checks(setup, carried._replace(pressure=None, bag_height=None, bag_load=None))]
    whole = [check.code for check in checks(setup, carried)]
    assert rest == [code for code in whole if "bag" not in code and "pressure" not in code]
    assert len(rest) < len(whole)


@pytest.mark.parametrize(
    ("part", "level"), [(0.95, None), (0.89, "caution"), (0.01, "caution"), (0.0, "stop"), (-0.1, "stop")]
)
def test_the_front_axle_may_lose_a_tenth_and_must_not_lift(demo, part, level):
    setup = demo("mill-on-the-hill-road")
    front = part * setup.truck.kerb.front_axle * G
    found = passed(setup, light(setup, level_setup(setup))._replace(axle_load=np.array([front, 1000.0])))
    assert [how for code, how in found if code == "front-axle-light"] == ([level] if level else [])


@pytest.mark.parametrize("coupling", TONGUE_RANGES)
def test_the_tongue_has_its_usual_range(demo, coupling):
    trailer = demo("mill-on-the-hill-road").trailer.replaced(coupling=coupling)
    least, greatest = TONGUE_RANGES[coupling]
    shares = np.array([least - 0.01, least, greatest, greatest + 0.01])
    found = {check.code: check.passed for check in trailer_checks(trailer, np.ones(4), shares, np.ones(4))}
    assert found["tongue-ratio-low"].tolist() == [True, False, False, False]
    assert found["tongue-ratio-high"].tolist() == [False, False, False, True]


def test_every_check_has_its_sentence(demo):
    setups = [demo(slug) for slug in DEMO]
    tested = setups[0].hitch.replaced(d_value="18 kN", v_value="12 kN")
    setups.append(replace(setups[0], hitch=tested))
    rules = {check.rule for setup in setups for check in checks(setup, carried_by(setup, level_setup(setup)))}
    assert rules == set(SAID)
