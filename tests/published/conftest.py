"""What the published examples stand on: a bag of one area, a rig of four of them, an invented truck and trailer."""

import tomllib
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest

from planner.physics import statics
from planner.physics.air_spring import Bag
from planner.physics.truck_model import Rig
from planner.records import Trailer, Truck, read_record

from .comparison import Compare

TRUCK = """
schema = 1
name = "Test truck"
wheelbase = "4 m"
gvwr = "20000 lb"
gcwr = "60000 lb"
kerb = { front_axle = "4000 lb", rear_axle = "3000 lb", left_share = 0.5 }

[front]
suspension = "solid"
track = "70 in"
spring_spacing = "40 in"
motion_ratio = 1.0
unsprung_weight = "500 lb"
ride_height = "20 in"
gawr = "18000 lb"

[front.tyres]
per_side = 1
rate = "2000 lbf/in"
unloaded_radius = "16 in"
load_rating = "9000 lb"
cold_pressure = "80 psi"

[front.bag]
fitted_height = "250 mm"
height = ["90 mm", "170 mm", "250 mm", "330 mm", "410 mm"]
area = ["320 cm**2", "310 cm**2", "300 cm**2", "290 cm**2", "280 cm**2"]
volume = "10 L"
least_pressure = "0 bar"
greatest_pressure = "15 bar"
"""

TRAILER = """
schema = 1
name = "Test trailer"
coupling = "ball"
gross_weight = "6000 lb"
tongue_ratio = 0.12
coupling_height = "20 in"
parked_height = "22 in"
axle_distance = "160 in"
axle_count = 2
gvwr = "30000 lb"
axle_rating = "15000 lb"
track = "80 in"
"""

HITCHES = [
    {"name": "receiver", "coupling": "ball", "x": "-50 in", "height": "20 in", "ball_diameter": "2 in"},
    {"name": "bed ball", "coupling": "gooseneck", "x": "2 in", "height": "40 in", "ball_diameter": "2 in"},
    {"name": "plate", "coupling": "fifth_wheel", "x": "2 in", "height": "48 in", "roll_coupling": 1.0},
]


def changed(data: dict[str, Any], changes: Mapping[str, object]) -> dict[str, Any]:
    """Return a parsed file with fields changed, each named by its dotted path; None takes the field out."""
    for path, value in changes.items():
        *tables, field = path.split(".")
        table = data
        for name in tables:
            table = table[name]
        table[field] = value
        if value is None:
            del table[field]
    return data


@pytest.fixture
def compare(request: pytest.FixtureRequest, record_property: Callable[[str, object], None]) -> Compare:
    """Return what holds our figures against those of the source that the test module is of."""
    return Compare(request.module.__doc__, record_property)


@pytest.fixture
def make_truck() -> Callable[..., Truck]:
    """Return a maker of trucks with the same axle twice and three hitches, changed by dotted paths."""

    def make(changes: Mapping[str, object] | None = None) -> Truck:
        data = tomllib.loads(TRUCK)
        data["rear"] = tomllib.loads(TRUCK)["front"]
        data["hitches"] = [hitch | {"tongue_rating": "6000 lb", "trailer_rating": "30000 lb"} for hitch in HITCHES]
        return read_record(Truck, changed(data, changes or {}), "truck")

    return make


@pytest.fixture
def make_trailer() -> Callable[..., Trailer]:
    """Return a maker of trailers, changed by field; None takes a field out."""

    def make(**changes: object) -> Trailer:
        return read_record(Trailer, changed(tomllib.loads(TRAILER), changes), "trailer")

    return make


@pytest.fixture
def make_bag() -> Callable[..., Bag]:
    """Return a maker of bags of one area [m²] and volume at fitted height [m³], a piston in a cylinder."""

    def make(area: float, volume: float, stroke: float = 0.25) -> Bag:
        middle, half = 1.0, stroke * volume / area
        heights = np.array([middle - half, middle, middle + half])
        return Bag(heights, np.full(3, area), middle, volume, least_pressure=0.0, greatest_pressure=1e9)

    return make


@pytest.fixture
def make_rig() -> Callable[..., Rig]:
    """Return a maker of rigs: the same bag at four corners, every corner carrying the same load [N]."""

    def make(bag: Bag, corner_load: float = 10e3, wheelbase: float = 4.0, track: float = 1.8) -> Rig:
        both, tracks = np.full(2, 2.0 * corner_load), np.full(2, track)
        return Rig(
            wheelbase=np.asarray(wheelbase),
            kerb=statics.kerb_load(both, both, 0.5, tracks),
            unsprung_load=np.zeros(2),
            half_spacing=tracks / 2.0,
            track=tracks,
            motion_ratio=np.ones(2),
            tyre_rate=np.full(2, 1e12),  # stiff: the examples know no tyres
            anti_roll_rate=np.zeros(2),
            steel_rate=np.zeros(2),
            steel_load=np.zeros(2),
            bags=(bag, bag),
            joined=(False, False),
        )

    return make
