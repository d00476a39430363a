"""Links in plain lines: what a pose does, what an inch on a bar does, what was asked for."""

import numpy as np
import pytest

from planner.plans.linkage import bar_effects, bars_for, move_axle
from planner.show.text.linkage import ONE_MORE, bar_lines, motion_lines, wanted_lines
from tests.linkages import make_linkage, make_track_bar
from tests.show.conftest import BAGGED, make_truck


def linked(**changes):
    return make_truck(rear=BAGGED | {"linkage": make_linkage(**changes)})


def test_at_design_height_nothing_has_moved():
    told = "\n".join(motion_lines(linked(), move_axle(linked(), 0.0), "us"))
    assert "Pinion 2° nose up, against ride height as it was." in told
    assert "Driveshaft's joints, front to rear: 1.4°, 1.4°; first and last 0° apart." in told
    assert "Axle fore and aft and sideways as it was." in told
    assert "Shocks 19.1 in left, 19.1 in right; closed 14 in, open 24 in." in told
    assert "Brake hose: 5.8 in slack." in told


@pytest.mark.parametrize("system", ["us", "metric"])
def test_what_is_not_on_the_truck_is_not_told_of(system):
    bare = linked(driveshaft=None, shock=None, hose=None)
    told = "\n".join(motion_lines(bare, move_axle(bare, 0.03, 0.02), system))
    assert "Axle turned: " in told
    assert "steers to the" in told
    assert not {"Driveshaft", "Shocks", "hose"} & set(told.split())


def test_an_inch_on_a_bar_is_told_in_a_sentence():
    upper = list(bar_lines(bar_effects(linked(), ONE_MORE["us"]), "us"))[1]
    effect = bar_effects(linked(), ONE_MORE["us"])[1]
    turned = f"{np.degrees(effect.pinion_up):.1f}° nose up"
    assert upper.startswith(f"An inch more on both upper bars turns the pinion {turned} and moves the axle ")
    assert upper.endswith(" in back.")
    assert next(bar_lines(bar_effects(linked(), ONE_MORE["metric"]), "metric")).startswith("10 mm more on both lower")


def test_what_was_asked_for_is_told_by_pairs_where_both_sides_are_alike():
    truck = make_truck(rear=BAGGED | {"linkage": make_track_bar(uppers=1)})
    told = list(wanted_lines(bars_for(truck, 0.02, 0.0), "us"))
    assert [line.split(":")[0] for line in told] == ["Both lower bars", "Upper bar", "Track bar"]
    assert told[1].endswith("longer.")
    assert next(wanted_lines(bars_for(truck, 0.0, 0.0), "us")) == "Both lower bars: as long as now."
