"""What was learnt, written into the record: it settles as the readings said, in each way a chart may be given."""

import tomllib
from datetime import date

import numpy as np
import pytest

from planner.plans.calibration import calibrate
from planner.plans.learnt_truck import learnt_truck
from planner.plans.setup import Setup
from planner.plans.uncertainty.reading_fit import fit_readings
from planner.plans.uncertainty.spreads import spreads_of
from planner.plans.uncertainty.trim_pressures import trim_trucks
from planner.records import Truck, read_record
from planner.store import Store
from tests.bench.demo_readings import SKID_TRUCK

from .conftest import DEMO
from .measured_trucks import measured
from .weighings import draw_truth, make_readings

RIDGE, YARD = (Store(DEMO).read_truck(slug) for slug in ("ridge-truck", "yard-truck"))
FINE = {"gauge_step": "0.1 psi", "gauge_error": "0.2 psi", "tape_error": "0.03 in"}
LEAF = RIDGE.replaced(
    instruments=FINE,
    typical=("rear.steel_load", "rear.steel_rate", "rear.bag.area"),
    rear=RIDGE.rear.replaced(steel_rate="150 lbf/in", steel_load="500 lbf"),
)
DAY = date(2026, 5, 6)


def learnt(truck, seed=3, count=5):
    truth = draw_truth(truck, np.random.default_rng(seed))
    found = calibrate(truck, make_readings(truck, truth, np.random.default_rng(seed + 1), count))
    return found, learnt_truck(found, DAY)


def test_what_was_learnt_is_no_longer_typical_and_has_its_own_spread():
    found, truck = learnt(LEAF)
    area = found["rear.bag.area_scale"]
    assert area.learnt
    assert "rear.bag.area" not in truck.typical
    assert spreads_of(Setup(truck))["area.rear"].value == pytest.approx(area.sd / area.value, rel=0.02)
    assert spreads_of(Setup(truck))["area.rear"].origin == "file"
    assert truck.rear.bag.fitted_area == pytest.approx(area.value * LEAF.rear.bag.fitted_area, rel=1e-3)
    for path in ("rear.steel_load", "rear.steel_rate"):
        assert (path in truck.typical) != found[path].learnt
    kept = truck.weighings[-1]
    assert (kept.on, kept.source) == (DAY, "5 readings on a scale")
    former = dict(zip(kept.fields, kept.former, strict=True))
    assert former["rear.bag.area"] == ", ".join(one.text for one in LEAF.rear.bag.area)


def test_a_truck_that_learnt_nothing_is_the_same():
    bare = {"at": "2026-05-04T07:30:00", "front_axle": "4300 lb", "rear_axle": "3000 lb"}
    from planner.records.weighed_reading import weighed_readings

    found = calibrate(RIDGE, weighed_readings(bare | {"rear_left": {"ride_height": "20 in"}}, "a.toml"))
    assert learnt_truck(found, DAY) is RIDGE


def test_calibrating_the_learnt_truck_finds_it_right():
    truth = draw_truth(LEAF, np.random.default_rng(7))
    readings = make_readings(LEAF, truth, np.random.default_rng(8), 5)
    first = calibrate(LEAF, readings)
    again = calibrate(learnt_truck(first, DAY), readings)
    assert again["rear.bag.area_scale"].value == pytest.approx(1.0, abs=0.5 * first["rear.bag.area_scale"].sd)


def in_loads(bag):
    """Return a bag whose chart is in loads at one pressure."""
    loads = tuple(f"{float(area) * 689476} N" for area in bag.area)
    return bag.replaced(area=None, load=loads, load_at="100 psi")


@pytest.mark.parametrize("how", ["loads", "one height"])
def test_charts_of_loads_and_of_one_height_are_scaled_too(how):
    bag = in_loads(RIDGE.rear.bag) if how == "loads" else RIDGE.rear.bag.replaced(height=("6 in",), area=("48 in**2",))
    truck = RIDGE.replaced(instruments=FINE, rear=RIDGE.rear.replaced(bag=bag))
    readings = make_readings(RIDGE, draw_truth(RIDGE, np.random.default_rng(3)), np.random.default_rng(4), 4)
    found = calibrate(truck, readings)
    new = learnt_truck(found, DAY)
    assert new.rear.bag.fitted_area == pytest.approx(found["rear.bag.area_scale"].value * bag.fitted_area, rel=2e-3)


def test_steel_alone_and_a_shared_line_are_written():
    found, truck = learnt(YARD.replaced(instruments=FINE))
    assert found["front.steel_load"].learnt
    assert float(truck.front.steel_load) == pytest.approx(found["front.steel_load"].value, rel=1e-4)
    assert "front.steel_load" in truck.spread


def test_what_was_learnt_together_is_kept_with_its_correlation():
    found, truck = learnt(LEAF)
    fields = truck.correlation.fields
    assert {"rear.bag.area", "rear.steel_load"} <= set(fields) <= set(truck.spread)
    places = [n for n, one in enumerate(found.parameters) if one.path.replace("_scale", "") in fields]
    assert truck.correlation.matrix == pytest.approx(found.correlation[np.ix_(places, places)], abs=1e-3)
    assert read_record(Truck, tomllib.loads(truck.to_toml()), "truck.toml") == truck
    pair = spreads_of(Setup(truck))
    assert (
        dict(pair["area.rear"].correlated)["steel_load.rear"] == dict(pair["steel_load.rear"].correlated)["area.rear"]
    )


@pytest.mark.parametrize("seed", range(3))
def test_readings_learnt_one_after_the_other_teach_what_they_teach_at_once(seed):
    """The second half of the readings starts from what the first taught. What no file holds, how much larger one side's
    bag is and a rest of the chart's slope, is learnt anew, and sums are not quite straight: a third of a deviation.
    """
    truth = draw_truth(LEAF, np.random.default_rng(seed))
    readings = make_readings(LEAF, truth, np.random.default_rng(seed + 9), 6)
    whole = learnt_truck(calibrate(LEAF, readings), DAY)
    first = learnt_truck(calibrate(LEAF, readings[:3]), DAY)
    second = learnt_truck(calibrate(first, readings[3:]), DAY)
    for field in ("steel_load", "steel_rate"):
        sd = float(whole.spread[f"rear.{field}"])
        assert float(getattr(second.rear, field)) == pytest.approx(float(getattr(whole.rear, field)), abs=sd / 3), field
        assert float(second.spread[f"rear.{field}"]) == pytest.approx(sd, rel=0.15), field
    area = float(whole.spread["rear.bag.area"])
    assert second.rear.bag.fitted_area == pytest.approx(whole.rear.bag.fitted_area, abs=area / 3)
    rows = np.array(second.correlation.matrix)
    assert np.linalg.eigvalsh(rows).min() > 0


def test_a_correlation_of_other_fields_stays():
    kerb = {"fields": ("kerb.front_axle", "kerb.rear_axle"), "matrix": ((1.0, 0.4), (0.4, 1.0))}
    spread = {"kerb.front_axle": "20 lb", "kerb.rear_axle": "20 lb"}
    _, truck = learnt(LEAF.replaced(spread=spread, correlation=kerb))
    assert truck.correlation.fields[-2:] == kerb["fields"]
    assert truck.correlation.matrix[-1][-2] == 0.4


@pytest.mark.parametrize(("slug", "most"), [("weekly-mill-run", 0.9), ("mill-on-the-hill-road", 1.05)])
def test_a_trim_is_no_less_sure_for_what_its_truck_has_learnt(slug, most):
    """Steel and bags: surer. Bags alone: as before, as that band is of the looks at the gauge and the tape."""
    outfit = Store(DEMO).read_outfit(slug)
    bought = (
        outfit.truck if outfit.profile.truck == "ridge-truck" else read_record(Truck, SKID_TRUCK, "skid-truck.toml")
    )
    readings = make_readings(bought, draw_truth(bought, np.random.default_rng(4)), np.random.default_rng(5), 4)
    taught = learnt_truck(calibrate(bought, readings), DAY)
    first, then = (
        np.median(trim_trucks(fit_readings(truth.unknowns, truth.readings)).half_width)
        for truth in (measured(Setup.of(outfit.profile, truck, outfit.trailer), 20, 1) for truck in (bought, taught))
    )
    assert then < most * first
