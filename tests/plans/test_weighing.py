"""Scale slips: values and propagated errors against independent packages, bands against synthetic truths."""

import numpy as np
import pytest
import statsmodels.api as sm
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose
from uncertainties import ufloat

from planner.physics.trailer import wheel_sides
from planner.plans.scale_readings import lever_load, scale_errors
from planner.plans.weighing import weigh
from planner.records import BadInput, Lever, Slip, read_record

LB = 0.45359237
ALONE = {"front_axle": "4300 lb", "rear_axle": "3000 lb"}
HITCHED = {"front_axle": "4020 lb", "rear_axle": "4140 lb", "trailer_axles": "6340 lb"}
WITH_BARS = {"front_axle": "4160 lb", "rear_axle": "3868 lb", "trailer_axles": "6472 lb"}
THREE = {"alone": ALONE, "hitched": HITCHED, "hitched_with_bars": WITH_BARS}


def read(**table):
    return read_record(Slip, {"schema": 1, "name": "slip", **table}, "slip")


def pounds(told):
    return told.value / LB, told.sd / LB


def test_three_passes():
    found = weigh(read(**THREE)).told
    assert_allclose(pounds(found["tongue"])[0], 860.0)
    assert_allclose(pounds(found["gross"])[0], 7200.0)
    assert_allclose(found["tongue_ratio"].value, 860.0 / 7200.0)
    assert_allclose(found["restoration"].value, 0.5)
    assert_allclose(pounds(found["lost"])[0], 280.0)


def test_errors_are_those_of_the_uncertainties_package():
    def reading(value):
        return ufloat(value, np.sqrt(20.0**2 / 12.0 + 20.0**2 / 3.0))  # under 500 divisions of 20 lb: tolerance 20 lb

    f0, r0, f1, r1, axles = (reading(value) for value in (4300.0, 3000.0, 4020.0, 4140.0, 6340.0))
    tongue = f1 + r1 - f0 - r0
    gross = tongue + axles
    found = weigh(read(alone=ALONE, hitched=HITCHED)).told
    for name, judge in (("tongue", tongue), ("gross", gross), ("lost", f0 - f1)):
        assert pounds(found[name]) == pytest.approx((judge.nominal_value, judge.std_dev), rel=1e-9), name
    assert (found["tongue_ratio"].value, found["tongue_ratio"].sd) == pytest.approx(
        ((tongue / gross).n, (tongue / gross).s), rel=1e-9
    )


def test_restoration_has_the_error_of_the_uncertainties_package():
    f0, f1, f2 = (ufloat(value, np.sqrt(20.0**2 / 12.0 + 20.0**2 / 3.0)) for value in (4300.0, 4020.0, 4160.0))
    slip = read(
        alone={"front_axle": "4300 lb"}, hitched={"front_axle": "4020 lb"}, hitched_with_bars={"front_axle": "4160 lb"}
    )
    judge = (f2 - f1) / (f0 - f1)
    found = weigh(slip).told["restoration"]
    assert (found.value, found.sd) == pytest.approx((judge.n, judge.s), rel=1e-9)


def test_two_ways_are_combined_as_statsmodels_does():
    found = weigh(read(alone=ALONE, hitched=HITCHED, trailer_alone={"gross": "7240 lb"}))
    ways = {way.name: way.told for way in found.ways}
    assert set(ways) == {"truck gain", "gross less axles"}
    values, errors = ([getattr(way, name) for way in ways.values()] for name in ("value", "sd"))
    judge = sm.WLS(values, np.ones(2), weights=1.0 / np.square(errors)).fit()
    assert_allclose(found.told["tongue"].value, judge.params[0])
    assert_allclose(found.told["tongue"].sd, 1.0 / np.sqrt(np.sum(1.0 / np.square(errors))))
    assert_allclose(found.disagreement.value / LB, 40.0)
    assert not [one for one in found.findings if one.code == "weights-disagree"]


def test_ways_that_rounding_does_not_explain_are_told_apart():
    found = weigh(read(alone=ALONE, hitched=HITCHED, trailer_alone={"gross": "7400 lb"}))
    one = next(one for one in found.findings if one.code == "weights-disagree")
    assert_allclose(one.value / LB, 200.0)
    assert one.limit / LB == pytest.approx(1.96 * np.sqrt(6 * (20**2 / 12 + 20**2 / 3)), rel=1e-3)


@pytest.mark.parametrize(
    ("table", "name", "wanted"),
    [
        ({"alone": ALONE}, "tongue", ("jack",)),
        ({"alone": ALONE}, "tongue_ratio", ("hitched",)),
        ({"alone": ALONE}, "restoration", ("hitched", "with bars")),
        ({"hitched": HITCHED}, "tongue", ("jack",)),
        ({"hitched": HITCHED}, "restoration", ("alone", "with bars")),
        ({"alone": ALONE, "hitched": HITCHED}, "restoration", ("with bars",)),
        ({}, "tongue_ratio", ("jack", "trailer")),
    ],
)
def test_what_slips_cannot_tell_and_which_weighing_would(table, name, wanted):
    found = weigh(read(**table))
    assert name not in found.told
    assert found.untold[name] == wanted


def test_in_one_draft_the_truck_gain_is_told_and_the_front_axle_is_not():
    found = weigh(read(alone={"truck": "7300 lb"}, hitched={"truck": "8160 lb", "trailer_axles": "6340 lb"}))
    assert pounds(found.told["tongue"]) == pytest.approx((860.0, np.sqrt(2 * (20**2 / 12 + 20**2 / 3))))
    assert "lost" not in found.told


def test_tolerance_grows_by_a_division_for_each_five_hundred():
    assert scale_errors(499 * 20, 20).variance == pytest.approx(20**2 / 12 + 20**2 / 3)
    assert scale_errors(501 * 20, 20).variance == pytest.approx(20**2 / 12 + 40**2 / 3)
    assert scale_errors(501 * 20, 20, 0.0).variance == pytest.approx(20**2 / 12)


def test_lever_is_as_the_uncertainties_package_has_it():
    value, errors = lever_load(Lever(reading="310 lb", beam="22 lb", tongue_arm="12 in", scale_arm="48 in"))
    net = ufloat(310, np.sqrt(1 / 12)) - ufloat(22, np.sqrt(1 / 12))
    judge = net * ufloat(1, 0.01) * ufloat(48, 0.125) / ufloat(12, 0.125)
    assert (value / LB, errors.sd / LB) == pytest.approx((judge.n, judge.s), rel=1e-6)


class TestWithTruck:
    @pytest.fixture
    def rig(self, make_truck, make_trailer):
        truck = make_truck({"wheelbase": "150 in"})
        return truck, make_trailer(), truck.hitch("receiver")  # 50 in behind, a third of the wheelbase

    def test_one_axle_is_enough(self, rig):
        slip = read(alone={"rear_axle": "3000 lb"}, hitched={"rear_axle": "4200 lb", "trailer_axles": "6300 lb"})
        found = weigh(slip, *rig)
        assert pounds(found.told["tongue"])[0] == pytest.approx(900.0)  # 1200 / (1 + 1/3)
        assert [way.name for way in found.ways] == ["axles and levers"]
        assert "tongue" not in weigh(slip).told

    def test_bars_may_be_set_if_the_truck_is_known(self, rig):
        """900 lb: 300 off the front; bars give 150 back, and 150 x 150/160 to the trailer."""
        bars = {"front_axle": "4150 lb", "rear_axle": f"{3000 + 1200 - 150 - 150 * 150 / 160} lb"}
        slip = read(resolution="1 lb", alone=ALONE, hitched_with_bars=bars | {"trailer_axles": f"{6300 + 140.625} lb"})
        found = weigh(slip, *rig).told
        assert pounds(found["tongue"])[0] == pytest.approx(900.0)
        assert found["restoration"].value == pytest.approx(0.5)
        assert pounds(found["gross"])[0] == pytest.approx(7200.0)
        assert "tongue" not in weigh(slip).told

    def test_levers_make_it_surer(self, rig):
        slip = read(alone=ALONE, hitched={"front_axle": "4000 lb", "rear_axle": "4200 lb"})
        assert weigh(slip, *rig).told["tongue"].sd < 0.6 * weigh(slip).told["tongue"].sd

    def test_a_jack_behind_the_coupling_carries_more(self, rig):
        slip = read(trailer_alone={"jack": "1000 lb", "jack_behind": "16 in", "axles": "6200 lb"})
        found = weigh(slip, *rig).told
        assert pounds(found["tongue"])[0] == pytest.approx(900.0)
        assert pounds(found["gross"])[0] == pytest.approx(7200.0)
        assert "tongue" not in weigh(slip).told

    def test_a_front_axle_that_gained_is_refused(self, rig):
        slip = read(alone=ALONE, hitched={"front_axle": "4380 lb", "rear_axle": "4100 lb"})
        with pytest.raises(BadInput, match=r"hitched.front_axle: .*check the front axle in .alone. and in .hitched."):
            weigh(slip, *rig)

    def test_readings_that_do_not_fit_the_truck_are_told(self, rig):
        slip = read(alone=ALONE, hitched={"front_axle": "4200 lb", "rear_axle": "4000 lb"})
        assert "slips-disagree" in {one.code for one in weigh(slip, *rig).findings}
        assert "slips-disagree" not in {one.code for one in weigh(slip).findings}

    def test_wheel_by_wheel_gives_left_shares(self, rig):
        left, right = wheel_sides(6300.0, 7200.0, 0.52)
        alone = {"front_left": "2200 lb", "front_right": "2100 lb", "rear_left": "1500 lb", "rear_right": "1500 lb"}
        hitched = {"front_left": "2050 lb", "front_right": "1950 lb", "rear_left": "2100 lb", "rear_right": "2100 lb"}
        slip = read(alone=alone, hitched=hitched | {"trailer_left": f"{left} lb", "trailer_right": f"{right} lb"})
        found = weigh(slip, *rig).told
        assert found["truck_left"].value == pytest.approx(0.5 + 50 / 7300)
        assert found["trailer_left"].value == pytest.approx(0.52)
        assert found["hitch_left"].value == pytest.approx(0.5)


@settings(max_examples=25)
@given(st.integers(0, 10_000), st.sampled_from(["hitched_with_bars", "trailer_alone"]))
def test_a_further_slip_makes_nothing_less_sure(seed, further):
    _, table = synthetic(np.random.default_rng(seed), None)
    few = {name: table[name] for name in ("alone", "hitched")}
    before, after = weigh(read(**few)).told, weigh(read(**few, **{further: table[further]})).told
    assert set(before) <= set(after)
    assert all(after[name].sd <= before[name].sd * (1 + 1e-9) for name in ("tongue", "gross", "front", "rear", "lost"))


@settings(max_examples=25)
@given(st.integers(0, 10_000))
def test_the_unit_of_a_slip_does_not_matter(seed):
    _, table = synthetic(np.random.default_rng(seed), None)
    metric = {
        name: {axle: f"{float(text.split()[0]) * LB:.9f} kg" for axle, text in part.items()}
        for name, part in table.items()
    }
    pounds_told = weigh(read(**table)).told
    kilograms_told = weigh(read(**metric, resolution=f"{20 * LB} kg")).told
    for name, told in pounds_told.items():
        assert kilograms_told[name].value == pytest.approx(told.value, rel=1e-6)
        assert kilograms_told[name].sd == pytest.approx(told.sd, rel=1e-6)


@settings(max_examples=25)
@given(st.integers(0, 10_000))
def test_what_is_told_balances(seed):
    """The fitted weights add up to each other, whatever the readings were: nothing is lost between the slips."""
    _, table = synthetic(np.random.default_rng(seed), None)
    found = weigh(read(alone=table["alone"], hitched=table["hitched"]))
    told, slip = found.told, found.slip
    assert told["front"].value - told["lost"].value == pytest.approx(float(slip.hitched.front_axle))
    assert told["gross"].value - told["tongue"].value == pytest.approx(float(slip.hitched.trailer_axles))
    assert told["tongue_ratio"].value == pytest.approx(told["tongue"].value / told["gross"].value)


def synthetic(draw, tolerance):
    """Return the truths of a random rig by name, and its slip as a scale prints it [lb]."""
    front, rear, gross = draw.uniform(2500, 5500), draw.uniform(2000, 4500), draw.uniform(3000, 14000)
    tongue, overhang, back = gross * draw.uniform(0.08, 0.16), draw.uniform(0.2, 0.45), draw.uniform(0.2, 0.8)
    lost = tongue * overhang
    gained = back * lost
    returned = gained * draw.uniform(0.7, 1.1)
    passes = {
        "alone": (front, rear),
        "hitched": (front - lost, rear + lost + tongue, gross - tongue),
        "hitched_with_bars": (
            front - lost + gained,
            rear + lost + tongue - gained - returned,
            gross - tongue + returned,
        ),
    }

    def show(weight):
        most = 20 * np.ceil(weight / 10_000) if tolerance is None else tolerance
        return f"{20 * round((weight + draw.uniform(-most, most)) / 20)} lb"

    names = ("front_axle", "rear_axle", "trailer_axles")
    table = {
        name: {axle: show(one) for axle, one in zip(names, values, strict=False)} for name, values in passes.items()
    }
    table["trailer_alone"] = {"gross": show(gross)}
    truth = {"tongue": tongue * LB, "gross": gross * LB, "tongue_ratio": tongue / gross, "restoration": back}
    return truth | {"lost": lost * LB, "front": front * LB}, table


@pytest.mark.parametrize(
    ("parts", "tolerance"),
    [(("alone", "hitched"), 0), (("alone", "hitched", "hitched_with_bars", "trailer_alone"), None)],
)
def test_the_band_of_95_percent_holds_the_truth_in_93_to_97_of_100(parts, tolerance):
    draw = np.random.default_rng(14)
    held: dict[str, list[bool]] = {}
    for _ in range(1000):
        truth, table = synthetic(draw, tolerance)
        given = {name: table[name] for name in parts} | ({} if tolerance is None else {"tolerance": f"{tolerance} lb"})
        for name, told in weigh(read(**given)).told.items():
            if name in truth:
                held.setdefault(name, []).append(told.band[0] <= truth[name] <= told.band[1])
    shares = {name: np.mean(found) for name, found in held.items()}
    assert all(len(found) == 1000 for found in held.values())
    assert {name: share for name, share in shares.items() if not 0.93 <= share <= 0.97} == {}
