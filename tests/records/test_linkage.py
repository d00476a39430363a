"""The links of a rear axle: sound ones are read, and each rule says what is wrong, where, and what to do."""

import pytest

from planner.records import Truck, read_record
from tests.linkages import at, make_linkage, make_track_bar


@pytest.fixture
def linked(truck):
    truck["rear"]["linkage"] = make_linkage()
    return truck


def test_right_bars_are_mirrored_left_ones_unless_they_are_given(linked):
    linked["rear"]["linkage"]["lower_right"] = {"frame": at(28, -15, 15), "axle": at(0, -20, 13)}
    bars = read_record(Truck, linked, "x.toml").rear.linkage.bars
    assert list(bars) == ["lower left", "lower right", "upper left", "upper right"]
    assert bars["lower right"][0] == pytest.approx((28 * 0.0254, -15 * 0.0254, 15 * 0.0254))
    assert bars["upper right"][1] == pytest.approx((-0.0254, -4 * 0.0254, 24 * 0.0254))


@pytest.mark.parametrize("table", [make_linkage(), make_track_bar(), make_track_bar(uppers=1)])
def test_a_truck_with_links_is_written_as_it_was_read(truck, table):
    truck["rear"]["linkage"] = table
    got = read_record(Truck, truck, "x.toml")
    assert got.as_file()["rear"]["linkage"] == table


@pytest.mark.parametrize(
    ("change", "field", "words"),
    [
        ({"lower": {"frame": at(0, 20, 13), "axle": at(0, 20, 13)}}, "lower.axle", "must be at least 2 in"),
        ({"upper": {"frame": at(22, 17, 22), "axle": at(-1, 17, 23)}}, "upper", "parallel bars need a track_bar"),
        ({"uppers": 1}, "track_bar", "nothing else holds the axle sideways"),
        ({"shock": make_linkage()["shock"] | {"longest": "16 in"}}, "shock.shortest", 'longest "16 in"'),
        (
            {"hose": make_linkage()["hose"] | {"length": "8 in"}},
            "hose.length",
            "must be > the distance between its ends",
        ),
        ({"driveshaft": make_linkage()["driveshaft"] | {"pinion_angle": "45 deg"}}, "pinion_angle", "must be <= 30"),
        ({"driveshaft": make_linkage()["driveshaft"] | {"carrier": at(5, 0, 20)}}, "carrier.x", "must be ahead of"),
        ({"bump_travel": "3 ft**2"}, "bump_travel", "length"),
        ({"lowr": 1}, "lowr", "did you mean lower?"),
    ],
)
def test_what_cannot_be_is_refused_by_field_with_a_remedy(linked, faults, change, field, words):
    linked["rear"]["linkage"] |= change
    (line,) = faults(Truck, linked)
    assert line.startswith("rear.linkage.")
    assert field in line
    assert words in line


def test_links_are_of_a_solid_rear_axle(linked, faults):
    linked["front"]["linkage"] = make_linkage()
    linked["rear"]["suspension"] = "independent"
    lines = faults(Truck, linked)
    assert [line.split(":")[0] for line in lines] == ["rear.linkage", "front.linkage"]
