"""The drawn chart of a bag: its points where they belong, what is read at the fitted height in words."""

import re

import pytest

from planner.records import Bag, BagChart
from planner.show.drawings.bag_chart import BOTTOM, LEFT, RIGHT, TOP, bag_chart
from tests.show.reading import misplaced

HEIGHTS = ["3 in", "4 in", "5 in", "6 in", "7 in", "8 in"]
FAMILY = BagChart(
    name="Any",
    height=HEIGHTS,
    load_at=["20 psi", "60 psi", "100 psi"],
    load=[
        ["1080 lbf", "1060 lbf", "1000 lbf", "920 lbf", "840 lbf", "740 lbf"],
        ["3360 lbf", "3300 lbf", "3120 lbf", "2880 lbf", "2640 lbf", "2340 lbf"],
        ["5700 lbf", "5600 lbf", "5300 lbf", "4900 lbf", "4500 lbf", "4000 lbf"],
    ],
)
ONE_HEIGHT = Bag(
    fitted_height="6 in", height=["5.5 in"], load=[["1000 lbf"], ["2100 lbf"]], load_at=["20 psi", "40 psi"],
    least_pressure="10 psi", greatest_pressure="100 psi",
)  # fmt: skip
AREAS = BagChart(name="Any", height=HEIGHTS, area=["56 in2", "55 in2", "52 in2", "48 in2", "44 in2", "39 in2"])


def circles(picture, cls):
    found = re.findall(rf'<circle cx="([\d.]+)" cy="([\d.]+)"[^>]*class="{cls}"', picture.svg)
    return [(float(x), float(y)) for x, y in found]


def test_every_point_is_on_the_paper_and_rows_lie_over_each_other():
    points = circles(bag_chart(FAMILY, "us"), "point")
    assert len(points) == 18
    assert all(LEFT <= x <= RIGHT and TOP <= y <= BOTTOM for x, y in points)
    assert all(low > high for (_, low), (_, high) in zip(points[:6], points[6:12], strict=True))


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("of", ["load", "area"])
@pytest.mark.parametrize("chart", [FAMILY, ONE_HEIGHT, AREAS], ids=["family", "one height", "areas"])
def test_nothing_is_cut_or_overlaps(chart, of, system):
    assert misplaced(bag_chart(chart, system, of=of, fitted_height=0.1524)) == []


def test_a_load_of_nought_is_at_the_foot():
    """A row of half the load is half as high."""
    (_, low), *_ = circles(bag_chart(FAMILY, "us"), "point")
    high = circles(bag_chart(FAMILY, "us"), "point")[12][1]
    assert (BOTTOM - low) / (BOTTOM - high) == pytest.approx(1080 / 5700, rel=1e-2)


def test_the_fitted_height_is_marked_and_read_in_words():
    picture = bag_chart(FAMILY, "us", fitted_height=0.1524)
    assert len(circles(picture, "fitted")) == 3
    assert "At the fitted height, 6 in: 920 lb at 20 psi, 2,880 lb at 60 psi, 4,900 lb at 100 psi." in picture.alt
    off = bag_chart(FAMILY, "us", fitted_height=0.3)
    assert not circles(off, "fitted")
    assert "At the fitted height, 11.8 in: off the chart." in off.alt


def test_areas_are_drawn_as_areas():
    assert "48.0 in²" in bag_chart(AREAS, "us", fitted_height=0.1524).alt
    assert "Area of the bag over its height" in bag_chart(AREAS, "us").svg


def test_one_height_is_told_to_be_typical():
    picture = bag_chart(ONE_HEIGHT, "us")
    assert "Charted at one height: slope and ends are typical." in picture.alt
    assert len(circles(picture, "point")) == 2
    assert len(circles(picture, "fitted")) == 2
    alone = BagChart(name="Any", height=["6 in"], load=["920 lbf"], load_at="20 psi")
    assert len(circles(bag_chart(alone, "metric"), "point")) == 1
