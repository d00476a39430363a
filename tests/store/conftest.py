"""A profiles folder written by hand, with comments and an order of its own."""

import platformdirs
import pytest

from planner.store import Store

TRUCK = """\
# the yard's old flatbed
schema = 1
name = "Flatbed"   # painted on the door
wheelbase = "4.2 m"
gvwr = "5200 kg"
gcwr = "11500 kg"

[kerb]   # weighbridge, 3 March
front_axle = "1900 kg"
rear_axle = "1400 kg"
left_share = 0.5

# --- front ---
[front]
suspension = "independent"
track = "1.75 m"
motion_ratio = 0.9
unsprung_weight = "260 kg"
ride_height = "51 cm"
gawr = "2700 kg"
steel_rate = "80 N/mm"
steel_load = "9000 N"
tyres = { per_side = 1, rate = "350 N/mm", unloaded_radius = "42 cm", load_rating = "1.4 t", cold_pressure = "6 bar" }

# --- rear ---
[rear]
suspension = "solid"
track = "1.70 m"
spring_spacing = "1 m"
motion_ratio = 1.0
unsprung_weight = "350 kg"
ride_height = "53 cm"
gawr = "3400 kg"

[rear.tyres]
per_side = 2
rate = "350 N/mm"
unloaded_radius = "42 cm"
load_rating = "1200 kg"
cold_pressure = "5.5 bar"

[rear.bag]
fitted_height = "150 mm"
height = [
    "80 mm",   # on the stop
    "150 mm",
    "220 mm",
]
area = ["360 cm**2", "310 cm**2", "240 cm**2"]
volume = "5 L"
least_pressure = "0.7 bar"
greatest_pressure = "7 bar"

[[hitches]]
name = "receiver"
coupling = "ball"
x = "-1.3 m"
height = "48 cm"
ball_diameter = "50 mm"
tongue_rating = "350 kg"
trailer_rating = "3500 kg"
"""

TWIN = """\
# from the sheet in the glove box
schema = 1
name = "Twin"
height = ["80 mm", "150 mm", "220 mm"]   # seat to seat
load_at = ["2 bar", "4 bar", "6 bar"]
load = [
  ["6800 N", "6000 N", "4700 N"],
  ["14200 N", "12400 N", "9600 N"],  # the row that matters
  ["21600 N", "18900 N", "14700 N"],
]
least_pressure = "0.7 bar"
greatest_pressure = "7 bar"
"""

TRAILER = """\
schema = 1
name = "Log arch"
coupling = "ball"
gross_weight = "1.8 t"
tongue_ratio = 0.12
coupling_height = "48 cm"
parked_height = "52 cm"
axle_distance = "3.1 m"
axle_count = 1
gvwr = "2 t"
axle_rating = "2 t"
track = "1.6 m"
"""

PROFILE = """\
# for the wood lot
schema = 1
name = "Wood lot"
truck = "flatbed"
trailer = "log-arch"   # borrowed
hitch = "receiver"

# never level: the yard slopes
[stance]
front = "0 in"
lean = "1/4 in" # left up

# full can
[[cargo]]
name = "Fuel can"
weight = "40 lb"
x = "12 in"

# lives under the seat
[[cargo]]
name = "Saw"
weight = "9 kg"
x = "80 in"
y = "-10 in"

[[readings]]
at = 2026-05-04T07:30:00
rear_left = { pressure = "42 psi", ride_height = "20.1 in" }
rear_right = { pressure = "40 psi" }
"""


@pytest.fixture(autouse=True, scope="session")
def cache(tmp_path_factory):
    """A cache folder of the tests' own, in place of the user's."""
    place = tmp_path_factory.mktemp("cache")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(platformdirs, "user_cache_path", lambda name, appauthor: place / name)
        yield place


@pytest.fixture
def truck_text():
    return TRUCK


@pytest.fixture
def profile_text():
    return PROFILE


@pytest.fixture
def folder(tmp_path):
    home = tmp_path / "profiles"
    (home / "trucks").mkdir(parents=True)
    (home / "trailers").mkdir()
    (home / "trucks/flatbed.toml").write_text(TRUCK, "utf-8")
    (home / "trailers/log-arch.toml").write_text(TRAILER, "utf-8")
    (home / "wood-lot.toml").write_text(PROFILE, "utf-8")
    return home


@pytest.fixture
def store(folder):
    return Store(folder)
