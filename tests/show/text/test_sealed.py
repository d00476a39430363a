"""A truck with its valves shut in words."""

from planner import open_folder
from planner.plans.level import Shut, level_setup
from planner.plans.setup import Setup
from planner.plans.temperature import sealed_change
from planner.show.text.sealed import sealed_rows


def rows(shut, system="us"):
    outfit = open_folder("profiles").read_outfit("slabs-on-friday")
    setup = Setup.of(outfit.profile, outfit.truck, outfit.trailer)
    return list(sealed_rows(sealed_change(setup, level_setup(setup), shut), system))


def test_bags_sink_and_steel_stays():
    front, _, rear, _ = rows(Shut("20 degF"))
    assert front == ("front left", "stays", "steel", "–")
    assert rear[1].startswith("down 0.")
    assert "→" in rear[2]
    assert rear[3].endswith("ft³ in")


def test_metric_is_metric():
    assert "bar" in rows(Shut("20 degF"), "metric")[2][2]


def test_nothing_is_nothing():
    assert rows(Shut())[2][1::2] == ("stays", "nothing")
