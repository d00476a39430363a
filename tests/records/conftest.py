"""A sound truck, trailer and profile, as parsed from their files, for tests to break."""

import tomllib
from collections.abc import Callable
from typing import Any

import pytest

from planner.records import BadInput, Record, read_record

TRUCK = """
schema = 1
name = "Ridge truck"
wheelbase = "158 in"
gvwr = "11500 lb"
gcwr = "26000 lb"
typical = ["front.tyres.rate", "rear.unsprung_weight"]

[kerb]
front_axle = "4300 lb"
rear_axle = "3000 lb"
left_share = 0.505

[front]
suspension = "solid"
track = "68.5 in"
spring_spacing = "40 in"
motion_ratio = 1.0
unsprung_weight = "620 lb"
ride_height = "20 in"
gawr = "6000 lb"
anti_roll_rate = "1200 N*m/deg"
plumbing = "separate"

[front.tyres]
per_side = 1
rate = "2000 lbf/in"
unloaded_radius = "16.6 in"
load_rating = "3195 lb"
cold_pressure = "80 psi"

[front.bag]
fitted_height = "6 in"
height = ["3 in", "4 in", "5 in", "6 in", "7 in", "8 in"]
area   = ["56 in**2", "55 in**2", "52 in**2", "48 in**2", "44 in**2", "39 in**2"]
volume = "310 in**3"
least_pressure = "10 psi"
greatest_pressure = "100 psi"
load_rating = "5000 lbf"

[rear]
suspension = "solid"
track = "68 in"
spring_spacing = "38 in"
motion_ratio = 1.0
unsprung_weight = "800 lb"
ride_height = "21 in"
gawr = "7050 lb"
steel_rate = "600 lbf/in"
steel_load = "1000 lbf"

[rear.tyres]
per_side = 1
rate = "2100 lbf/in"
unloaded_radius = "16.6 in"
load_rating = "3640 lb"
cold_pressure = "80 psi"

[[hitches]]
name = "receiver"
coupling = "ball"
x = "-52 in"
height = "19 in"
ball_diameter = "2.3125 in"
tongue_rating = "1200 lb"
trailer_rating = "12000 lb"
roll_coupling = 0.0

[[hitches]]
name = "bed ball"
coupling = "gooseneck"
x = "3 in"
height = "42 in"
ball_diameter = "2.3125 in"
tongue_rating = "5000 lb"
trailer_rating = "16000 lb"

[air]
tank_volume = "10 gal"
cut_in = "110 psi"
cut_out = "145 psi"
delivery_pressure = ["0 psi", "100 psi", "150 psi"]
delivery = ["1.8 ft**3/min", "1.1 ft**3/min", "0.8 ft**3/min"]
duty = 1.0
line_length = { front_left = "14 ft", front_right = "14 ft", rear_left = "8 ft", rear_right = "8 ft" }
line_bore = "0.25 in"
valve_conductance = "0.5 L/(s*bar)"

[spread]
"front.tyres.rate" = "300 lbf/in"
"kerb.left_share" = 0.01
"""

TRAILER = """
schema = 1
name = "Band mill"
coupling = "ball"
gross_weight = "7200 lb"
tongue_ratio = 0.12
coupling_height = "19 in"
parked_height = "21 in"
axle_distance = "168 in"
axle_count = 2
gvwr = "9990 lb"
axle_rating = "5200 lb"
tyre_load_rating = "2540 lb"
track = "80 in"
left_share = 0.5
bars = 0.0
"""

PROFILE = """
schema = 1
name = "Mill on the hill road"
truck = "ridge-truck"
trailer = "band-mill"
hitch = "receiver"
left_share = 0.5

[stance]
front = "0 in"
lean = "0.5 in"

[[cargo]]
name = "Fuel drum"
weight = "420 lb"
x = "12 in"
y = "15 in"

[hitching]
gap = "1 in"
stow_lift = "1 in"

[pressures]
front_left = "42 psi"
front_right = "41 psi"

[[readings]]
at = 2026-05-04T07:30:00
front_left = { pressure = "42 psi", ride_height = "20.1 in" }
"""

Data = dict[str, Any]


@pytest.fixture
def truck() -> Data:
    """A truck with bags in front and leaves behind."""
    return tomllib.loads(TRUCK)


@pytest.fixture
def trailer() -> Data:
    """A trailer on a ball."""
    return tomllib.loads(TRAILER)


@pytest.fixture
def profile() -> Data:
    """A profile that couples the two."""
    return tomllib.loads(PROFILE)


@pytest.fixture
def faults() -> Callable[[type[Record], Data], list[str]]:
    """Read a broken file and return its problems as lines, without the file's name."""

    def read(cls: type[Record], data: Data) -> list[str]:
        with pytest.raises(BadInput) as caught:
            read_record(cls, data, "x.toml")
        return [problem.line().removeprefix("x.toml: ") for problem in caught.value.problems]

    return read
