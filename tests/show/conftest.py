"""Two trucks and two trailers written out, and answers made by hand, so that a drawing changes only when it is drawn
otherwise; and the demo, answered in earnest."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from planner.plans.answer import Answer, Finding, Setting, Stance
from planner.plans.level import level_setup
from planner.plans.setup import Setup
from planner.records import Cargo, Trailer, Truck
from planner.store import Store

PSI, INCH, POUND = 6894.757293168361, 0.0254, 4.4482216152605  # Pa, m, N
DEMO = Path(__file__).parents[2] / "profiles"
DEMO_PROFILES = sorted(path.stem for path in DEMO.glob("*.toml"))

TYRES = {
    "per_side": 1,
    "rate": "2000 lbf/in",
    "unloaded_radius": "16.6 in",
    "load_rating": "3195 lb",
    "cold_pressure": "80 psi",
}
BAG = {
    "fitted_height": "6 in",
    "height": ["3 in", "6 in", "8 in"],
    "area": ["56 in**2", "48 in**2", "39 in**2"],
    "volume": "310 in**3",
    "least_pressure": "10 psi",
    "greatest_pressure": "100 psi",
    "load_rating": "5000 lbf",
}
BAGGED = {
    "suspension": "solid",
    "track": "68.5 in",
    "spring_spacing": "40 in",
    "motion_ratio": 1.0,
    "unsprung_weight": "620 lb",
    "ride_height": "20 in",
    "gawr": "6000 lb",
    "tyres": TYRES,
    "bag": BAG,
}
COILS = {
    "suspension": "independent",
    "track": "68 in",
    "motion_ratio": 0.65,
    "unsprung_weight": "380 lb",
    "ride_height": "19.5 in",
    "gawr": "5500 lb",
    "steel_rate": "700 lbf/in",
    "steel_load": "2708 lbf",
    "tyres": TYRES,
}
DUALS_JOINED = BAGGED | {"plumbing": "joined", "track": "72 in", "tyres": TYRES | {"per_side": 2}}
LEAVES = {key: value for key, value in BAGGED.items() if key != "bag"} | {
    "steel_rate": "280 lbf/in",
    "steel_load": "1200 lbf",
}
RECEIVER = {
    "name": "receiver",
    "coupling": "ball",
    "x": "-52 in",
    "height": "19 in",
    "ball_diameter": "2.3125 in",
    "tongue_rating": "1200 lb",
    "trailer_rating": "12000 lb",
}
PLATE = RECEIVER | {"name": "plate", "coupling": "fifth_wheel", "x": "4 in", "height": "47 in"}


def make_truck(front=BAGGED, rear=BAGGED, wheelbase="158 in", **changes):
    """Return a truck of two axles."""
    table = {
        "name": "Test truck",
        "wheelbase": wheelbase,
        "gvwr": "11500 lb",
        "gcwr": "26000 lb",
        "kerb": {"front_axle": "4300 lb", "rear_axle": "3000 lb", "left_share": 0.505},
        "front": front,
        "rear": rear,
        "hitches": [RECEIVER, PLATE],
    }
    return Truck.model_validate(table | changes)


def make_trailer(**changes):
    """Return a trailer on a ball, 7,200 lb with 864 lb on its tongue."""
    table = {
        "name": "Band mill",
        "coupling": "ball",
        "gross_weight": "7200 lb",
        "tongue_ratio": 0.12,
        "coupling_height": "19 in",
        "parked_height": "21 in",
        "axle_distance": "168 in",
        "axle_count": 2,
        "gvwr": "9990 lb",
        "axle_rating": "5200 lb",
        "tyre_load_rating": "2540 lb",
        "track": "80 in",
    }
    return Trailer.model_validate(table | changes)


def make_cargo(name="Fuel drum", weight="420 lb", x="12 in", y="15 in"):
    """Return an item of cargo; a name no record would take goes in past its check."""
    item = Cargo.model_validate({"name": "plain", "weight": weight, "x": x, "y": y})
    return item.model_copy(update={"name": name})


def make_setup(truck=None, *, trailer=None, hitch=None, cargo=()):
    """Return a setup; with a trailer and no hitch named, on the receiver."""
    truck = truck or make_truck()
    named = truck.hitch(hitch or "receiver") if trailer is not None else None
    return Setup(truck, trailer, named, tuple(cargo))


def make_answer(setup, **changes):
    """Return an answer made by hand: 38, 37, 46, 39 psi, no findings, level."""
    bags = np.array([[axle.bag is not None] * 2 for axle in (setup.truck.front, setup.truck.rear)])

    def where_bag(values, unit):
        return np.where(bags, np.array(values, float) * unit, np.nan)

    height = None if setup.hitch is None else float(setup.hitch.height)
    level = Stance(0.0, 0.0, 0.0)
    tyres = np.array([[2047.0, 1988.0], [2449.0, 2215.0]]) * POUND
    answer = Answer(
        pressure=where_bag([[38.3, 36.9], [46.2, 39.4]], PSI),
        bag_height=where_bag([[6.0, 6.0], [6.4, 6.3]], INCH),
        bag_load=where_bag([[1754.0, 1711.0], [2142.0, 1888.0]], POUND),
        spring_load=np.array([[1754.0, 1711.0], [2142.0, 1888.0]]) * POUND,
        tyre_load=tyres,
        ride_height=np.array([[20.0, 19.9], [20.4, 20.3]]) * INCH,
        axle_load=tyres.sum(axis=1),
        side_moment=np.array([10.0, 130.0]),
        frame_twist=0.0,
        bounce_frequency=np.array([1.96, 1.84]),
        hitch_load=864.0 * POUND if setup.trailer else 0.0,
        trailer_axle_load=6336.0 * POUND if setup.trailer else 0.0,
        stance=level,
        coupling_height=height,
        level=True,
        set=Setting(
            where_bag([[38, 37], [46, 39]], PSI),
            level,
            height,
            where_bag([[6.0, 6.0], [6.4, 6.3]], INCH),
            where_bag([[1754.0, 1711.0], [2142.0, 1888.0]], POUND),
        ),
        findings=(),
    )
    same = {name: changes[name] for name in ("stance", "coupling_height") if name in changes and "set" not in changes}
    return replace(answer, set=replace(answer.set, **same), **changes) if same else replace(answer, **changes)


def make_finding(
    level="stop", code="gawr-rear", template="The rear axle carries {value}, over its {limit}.", **amounts
):
    """Return a finding."""
    amounts = amounts or {"value": (30_000.0, "load"), "limit": (26_000.0, "load")}
    return Finding(level, code, template, "a label", amounts)


@pytest.fixture(params=DEMO_PROFILES)
def demo(request):
    """Return each demo profile's setup and its answer."""
    outfit = Store(DEMO).read_outfit(request.param)
    setup = Setup.of(outfit.profile, outfit.truck, outfit.trailer)
    return setup, level_setup(setup)
