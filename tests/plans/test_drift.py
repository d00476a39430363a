"""Leak or cold: nights whose truth is known, and how often a leak is told from cold."""

from datetime import datetime, timedelta

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner.physics.air_flow import SHARP_EDGE, free_air, orifice_flow
from planner.physics.atmosphere import standard_pressure
from planner.plans.answer import CORNERS
from planner.plans.drift import find_drift
from planner.plans.leaks import FALSE_ALARM, find_leaks, least_seen
from planner.plans.setup import Setup
from planner.records import BadInput, read_record
from planner.records.leak_test import LeakTest

from .nights import PSI, make_night

SHARP = 0.01 * PSI  # a gauge that hardly errs


def with_plumbing(setup, plumbing, axle="rear"):
    """Return a setup whose axle has its bags on one line, or each on its own."""
    changed = getattr(setup.truck, axle).replaced(plumbing=plumbing)
    return Setup(setup.truck.replaced(**{axle: changed}), setup.trailer, setup.hitch, setup.cargo)


def codes(drift):
    return [finding.code for finding in drift.findings]


def readings(before, after, **more):
    """Return a leak test of the demo truck from gauges in psi by corner, on a night of one temperature."""

    def at(time, gauges, temperature="50 degF"):
        corners = {name: {"pressure": f"{psi} psi"} for name, psi in zip(CORNERS, gauges, strict=True)}
        return {"at": time, "temperature": temperature} | corners

    later = more.pop("later", "2026-01-11T06:00:00")
    table = {"before": at("2026-01-10T18:00:00", before), "after": at(later, after) | more}
    return read_record(LeakTest, {"schema": 1} | table, "night.toml")


@pytest.mark.parametrize("slug", ["mill-bed-empty", "mill-on-the-hill-road", "logs-on-the-gooseneck"])
@pytest.mark.parametrize("seed", range(3))
def test_cold_alone_is_explained_whole_and_nothing_leaks(demo, slug, seed):
    setup = demo(slug)
    night = make_night(setup, np.random.default_rng(seed), gauge_error=0.0, altitude=1500.0)
    drift = find_drift(setup, night.test)
    assert drift.lost == pytest.approx(drift.expected, abs=1.0)
    assert np.isnan(drift.leak).all()
    assert drift.converged


def test_cold_under_a_load_explains_less_than_in_a_closed_bottle(demo):
    setup = demo("mill-bed-empty")
    drift = find_drift(setup, readings([36, 34, 37, 36], [36, 34, 37, 36], temperature="20 degF"))
    bottle = (drift.before + standard_pressure(0.0)) * (1.0 - 266.48 / 283.15)
    assert np.all(drift.expected > 0)
    assert np.all(drift.expected < 0.5 * bottle)  # the bag sinks instead, and grows wider


@pytest.mark.parametrize("corner", CORNERS)
def test_one_corner_that_leaks_is_found_though_its_neighbours_gauges_move_too(demo, corner):
    setup = demo("mill-on-the-hill-road")
    night = make_night(setup, np.random.default_rng(4), part=0.2, corners=[corner], gauge_error=SHARP)
    drift = find_drift(setup, night.test)
    leaking = np.array(CORNERS)[np.isfinite(drift.leak.ravel())]
    assert leaking.tolist() == [corner]
    assert np.sum(night.after < night.before - 0.5 * PSI) >= 2  # another gauge fell, and is not blamed
    assert f"leak-{corner.replace('_', '-')}" in codes(drift)
    assert f"next-test-{corner.replace('_', '-')}" in codes(drift)


def test_a_line_that_two_bags_share_is_one_leak_and_says_so(demo):
    setup = with_plumbing(demo("mill-bed-empty"), "joined")
    pair = ["rear_left", "rear_right"]
    night = make_night(setup, np.random.default_rng(4), part=0.3, corners=pair, gauge_error=SHARP)
    drift = find_drift(setup, night.test)
    assert np.isfinite(drift.leak).tolist() == [[False, False], [True, True]]
    assert "leak-rear" in codes(drift)
    assert "tee" in next(one.template for one in drift.findings if one.code == "next-test-rear")


def test_a_little_out_of_every_line_points_to_what_they_share(demo):
    setup = demo("mill-bed-empty")
    night = make_night(setup, np.random.default_rng(5), part=0.4, corners=CORNERS, gauge_error=PSI)
    drift = find_drift(setup, night.test)
    assert np.isfinite(drift.leak).all()
    assert "next-test-all" in codes(drift)


def test_the_leak_is_what_cold_does_not_explain_over_the_days_between(demo):
    drift = find_drift(demo("mill-bed-empty"), readings([36, 34, 37, 36], [38, 31, 25, 38], temperature="20 degF"))
    assert drift.leak[1, 0] == pytest.approx((drift.lost - drift.expected)[1, 0] / 0.5)
    assert drift.leak_sd[1, 0] == pytest.approx(drift.sd[1, 0] / 0.5)
    assert drift.sd[1, 0] == pytest.approx(np.sqrt(2) * 2 * PSI, rel=0.05)
    assert drift.soonest[1, 0] < drift.days_to_least[1, 0] < drift.latest[1, 0]


def test_days_to_least_pressure_come_true(demo):
    setup = demo("mill-bed-empty")
    night = make_night(setup, np.random.default_rng(7), part=0.05, corners=["rear_left"], gauge_error=SHARP)
    days = find_drift(setup, night.test).days_to_least[1, 0]
    part = 0.05 * (1.0 + days / 0.5)
    later = make_night(setup, np.random.default_rng(7), part=part, corners=["rear_left"], gauge_error=SHARP)
    assert later.after[1, 0] == pytest.approx(float(setup.truck.rear.bag.least_pressure), abs=0.5 * PSI)


@pytest.mark.parametrize(("fell", "code"), [(3.0, []), (3.01, ["leak-rule-rear-left"])])
def test_three_psi_in_five_minutes_is_what_the_rule_allows(demo, fell, code):
    gauges = [36, 34, 37, 36]
    test = readings(gauges, [36, 34, 37 - fell, 36], later="2026-01-10T18:05:00")
    drift = find_drift(demo("mill-bed-empty"), test)
    assert [one for one in codes(drift) if one.startswith("leak-rule")] == code


def test_a_leak_is_as_large_as_a_hole_that_lets_as_much_out(demo):
    setup = demo("mill-bed-empty")
    night = make_night(setup, np.random.default_rng(7), part=0.05, corners=["rear_left"], gauge_error=SHARP)
    drift = find_drift(setup, night.test)
    assert np.isnan(drift.orifice).tolist() == [[True, True], [False, True]]
    out = SHARP_EDGE * orifice_flow(
        standard_pressure(0.0) + (drift.before + drift.after)[1, 0] / 2.0,
        standard_pressure(0.0),
        np.pi / 4 * drift.orifice[1, 0] ** 2,
        float(night.test.after.temperature),
    )
    assert out == pytest.approx(drift.flow[1, 0])
    bag = setup.truck.rear.bag
    held = free_air(
        night.before[1, 0] + standard_pressure(0.0), float(bag.volume), float(night.test.before.temperature)
    )
    assert drift.flow[1, 0] == pytest.approx(0.05 * held / 43_200.0, rel=0.1)


@pytest.mark.parametrize(("stood", "waits"), [("9 min", True), ("10 min", False), (None, False)])
def test_air_that_is_still_warm_is_waited_for(demo, stood, waits):
    gauges = [36, 34, 37, 36]
    table = readings(gauges, gauges).as_file() | ({"rested": stood} if stood else {})
    drift = find_drift(demo("mill-bed-empty"), read_record(LeakTest, table, "night.toml"))
    found = [one for one in drift.findings if one.code == "still-cooling"]
    assert bool(found) is waits
    if waits:
        sag = found[0].amounts["limit"][0]
        assert 0.1 * (37 * PSI + 101_325) < sag < 0.29 * (37 * PSI + 101_325)  # 1 - 1/1.4 at the very most


def test_a_pressure_that_rose_is_asked_about(demo):
    drift = find_drift(demo("mill-bed-empty"), readings([36, 34, 37, 36], [36, 34, 50, 36]))
    assert "gained-rear-left" in codes(drift)
    assert "no-leak" not in codes(drift)


def test_a_loss_that_may_be_the_gauge_is_told_of_as_that(demo):
    drift = find_drift(demo("mill-bed-empty"), readings([36, 34, 37, 36], [36, 34, 32.5, 36]))
    assert codes(drift) == ["perhaps-rear-left", "no-leak"]


def test_pressures_that_cannot_hold_the_load_say_so(demo):
    drift = find_drift(demo("mill-bed-empty"), readings([20, 20, 20, 20], [20, 20, 20, 20]))
    assert "load-differs" in codes(drift)


def test_a_bag_without_a_reading_and_a_reading_without_a_bag_are_refused_by_name(demo):
    setup = demo("mill-bed-empty")
    table = readings([36, 34, 37, 36], [36, 34, 37, 36]).as_file()
    for name in ("before", "after"):
        del table[name]["rear_left"]
    with pytest.raises(BadInput, match=r"before\.rear_left: this bag needs a pressure"):
        find_drift(setup, read_record(LeakTest, table, "night.toml"))
    steel = setup.truck.front.replaced(bag=None, steel_rate="300 lbf/in", steel_load="1800 lbf")
    bare = setup.truck.replaced(front=steel)
    with pytest.raises(BadInput, match="the front axle has no bag"):
        find_drift(Setup(bare), readings([36, 34, 37, 36], [36, 34, 37, 36]))


@pytest.mark.no_cover
def test_false_alarms_are_as_rare_as_stated_and_big_leaks_are_found(demo):
    """Some nights; `tests/bench/drift.py` prints a thousand of each."""
    setup, rng, nights = demo("mill-on-the-hill-road"), np.random.default_rng(11), 60
    alarms = sum(np.isfinite(find_drift(setup, make_night(setup, rng).test).leak).any() for _ in range(nights))
    assert alarms / nights < FALSE_ALARM + 3 * np.sqrt(FALSE_ALARM * (1 - FALSE_ALARM) / nights)
    found = 0
    for _ in range(nights // 4):
        corner = str(rng.choice(CORNERS))
        drift = find_drift(setup, make_night(setup, rng, part=0.6, corners=[corner]).test)
        found += bool(np.isfinite(drift.leak.ravel()[CORNERS.index(corner)]))
    assert found / (nights // 4) > 0.9


def test_least_leak_seen_is_seen_on_every_second_night():
    rng, lines = np.random.default_rng(2), 4
    slope = 1000.0 * np.eye(lines)
    hits = 0
    least = least_seen(slope, np.eye(lines))[0]
    for _ in range(300):
        fall = slope @ np.array([least, 0, 0, 0]) + rng.normal(size=lines)
        hits += bool(find_leaks(fall, lambda part: part @ slope.T, np.eye(lines)).leaking[0])
    assert 0.4 < hits / 300 < 0.65


@given(psi=st.lists(st.floats(33, 40), min_size=4, max_size=4), kelvin=st.floats(250, 310), metres=st.integers(0, 3000))
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_night_on_which_nothing_changed_explains_nothing_and_finds_nothing(demo, psi, kelvin, metres):
    same = {"temperature": f"{kelvin} K", "altitude": f"{metres} m"}
    table = readings(psi, psi).as_file()
    test = read_record(LeakTest, {name: table[name] | same for name in ("before", "after")} | {"schema": 1}, "n.toml")
    drift = find_drift(demo("mill-bed-empty"), test)
    assert drift.expected == pytest.approx(0.0, abs=1.0)
    assert drift.lost == pytest.approx(0.0, abs=1e-6)
    assert np.isnan(drift.leak).all()
    assert np.isnan(drift.days_to_least).all()


@given(fell=st.lists(st.floats(-3, 14), min_size=4, max_size=4), kelvin=st.floats(255, 305), hours=st.integers(1, 72))
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_whatever_the_gauges_say_leaks_are_losses_that_nothing_else_explains(demo, fell, kelvin, hours):
    before = np.array([36.0, 34.0, 37.0, 36.0])
    later = datetime(2026, 1, 10, 18) + timedelta(hours=hours)
    test = readings(before, before - fell, temperature=f"{kelvin} K", later=later.isoformat())
    drift = find_drift(demo("mill-bed-empty"), test)
    leaks = np.isfinite(drift.leak)
    assert drift.leak[leaks] == pytest.approx((drift.lost - drift.expected)[leaks] * 24.0 / hours)
    assert np.all(drift.soonest[leaks] <= drift.days_to_least[leaks])
    assert np.all(drift.days_to_least[leaks] <= drift.latest[leaks])
    assert {f"leak-{c.replace('_', '-')}" for c, one in zip(CORNERS, leaks.ravel(), strict=True) if one} == {
        code for code in codes(drift) if code.startswith("leak-") and "rule" not in code
    }
