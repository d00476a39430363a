"""The map of loads: areas that fit each other and the numbers, this load where it is, words for all of it."""

import re
from dataclasses import replace

import numpy as np
import pytest

from planner.plans.load_map import LoadMap, Turn, load_map
from planner.plans.map_inputs import first_two, inputs_of
from planner.plans.setup import Setup
from planner.plans.stops import NOT_REACHED, Stop
from planner.show.drawings.areas import outlines, spots
from planner.show.drawings.axes import axis_of, levels, scale_of, tick_text
from planner.show.drawings.load_map import BOTTOM, HATCHES, LEFT, RIGHT, TOP, colours, map_view
from planner.show.drawings.palette import ON_DARK
from planner.show.text.load_map import OF_BAG, OF_STANCE, areas, sentences, stop_words
from planner.store import Store
from tests.plans.random_records import random_setup
from tests.show.conftest import (
    COILS,
    DEMO,
    DEMO_PROFILES,
    LEAVES,
    PSI,
    make_cargo,
    make_setup,
    make_trailer,
    make_truck,
)
from tests.show.contrast import LINE_CONTRAST, contrast
from tests.show.reading import misplaced, parsed, points, shapes, words

POUND = 0.45359237  # kg
STOPS = (
    Stop("bag", "pressure-high-rear", 100 * PSI, "pressure"),
    Stop("bag", "bag-load-rear", 22_000.0, "load"),
    Stop("label", "gawr-rear", 26_689.0, "load"),
    Stop("label", "trailer-gvwr", 44_438.0, "load"),
    Stop("stance", "lean-left-over"),
)


def make_map(size=60, **changes) -> LoadMap:
    """Return a map made by hand: the trailer's label from 9,990 lb, the rear axle's over a line, bags past a curve."""
    setup = make_setup(trailer=make_trailer(), cargo=[make_cargo()])
    inputs = inputs_of(setup)
    x, y = inputs["weight"], inputs["tongue"]
    across, up = (np.linspace(axis.low, axis.high, size) for axis in (axis_of(x, "us"), axis_of(y, "us")))
    weight, ratio = across / POUND, up[:, None]
    tongue = weight * ratio
    code = np.where(weight > 9990, 4, np.where(tongue > 1300, 3, 0))
    code = np.where(tongue > 2000, 1, code).astype(np.int8)
    found = LoadMap(
        setup=setup,
        x=x,
        y=y,
        x_values=across,
        y_values=up,
        stops=STOPS,
        code=code,
        levels=code != 1,
        pressure=(20 + 0.03 * tongue) * PSI + 0.0 * weight,
        pressure_axle="rear",
        here=0,
        more=Turn(9990 * POUND, 4),
        less=None,
    )
    return replace(found, **changes)


def all_stops() -> LoadMap:
    """Return a map with a stripe for each of five stops, this load stopped."""
    found = make_map()
    stripes = np.repeat(np.arange(6), 10)[None, :] + np.zeros((60, 1), int)
    return replace(found, code=stripes.astype(np.int8), here=3, more=None, less=Turn(5000 * POUND, 0))


def demo_map(slug, keys=None, system="us", size=(150, 150), **setup_changes):
    outfit = Store(DEMO).read_outfit(slug)
    setup = replace(Setup.of(outfit.profile, outfit.truck, outfit.trailer), **setup_changes)
    inputs = inputs_of(setup)
    return load_map(setup, *(axis_of(inputs[key], system) for key in keys or first_two(setup)), size=size)


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("slug", DEMO_PROFILES)
def test_the_demo_is_drawn_with_nothing_cut_or_overlapping_and_small(slug, system):
    picture = map_view(demo_map(slug, system=system, size=(90, 90)), system)
    assert misplaced(picture) == []
    assert len(picture.svg) < 60_000
    parsed(picture)


@pytest.mark.no_cover
@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("slug", DEMO_PROFILES)
def test_any_two_inputs_are_drawn(slug, system):
    outfit = Store(DEMO).read_outfit(slug)
    keys = list(inputs_of(Setup.of(outfit.profile, outfit.truck, outfit.trailer)))
    for one, other in zip(keys, [*keys[1:], keys[0]], strict=True):
        picture = map_view(demo_map(slug, (one, other), system, size=(50, 50)), system)
        assert misplaced(picture) == []
        assert "nan" not in picture.svg
        assert len(picture.svg) < 60_000


@pytest.mark.no_cover
@pytest.mark.parametrize("seed", range(0, 120, 4))  # they meet every stop that 60 of them do
def test_any_truck_is_drawn_and_each_of_its_stops_has_words(seed):
    setup = random_setup(seed)
    if setup is None:
        return
    system, inputs = ("us", "metric")[seed // 4 % 2], inputs_of(setup)
    found = load_map(setup, *(axis_of(inputs[key], system) for key in first_two(setup)), size=(20, 20))
    picture = map_view(found, system)
    assert misplaced(picture) == []
    assert "nan" not in picture.svg
    for stop in found.stops:
        assert stop_words(stop)
        assert "{" not in stop_words(stop)


# Areas


def area_of(loop):
    """Return the area within a closed line, by the shoelace rule; holes run the other way round."""
    x, y = np.array(loop, float).T
    return 0.5 * float(np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y))


@pytest.mark.parametrize("seed", range(30))
def test_outlines_fill_the_grid_and_keep_each_area_its_size(seed):
    rng = np.random.default_rng(seed)
    centres = rng.uniform(0, 40, (5, 2))
    up, across = np.mgrid[0:40, 0:30]
    far = [(up - y) ** 2 + (across - x) ** 2 for y, x in centres]
    codes = np.argmin(far, axis=0) * (1 if seed % 3 else (rng.random((40, 30)) < 0.9))
    found = outlines(codes)
    sizes = {code: sum(area_of(loop) for loop in loops) for code, loops in found.items()}
    assert sum(sizes.values()) == pytest.approx(codes.size)
    if seed % 3:  # areas with smooth edges; of single specks half is left
        for code, size in sizes.items():
            assert size == pytest.approx((codes == code).sum(), abs=0.04 * codes.size)


def test_neighbours_share_their_edge_point_by_point():
    up, across = np.mgrid[0:30, 0:40]
    codes = (across * 3 + up > 70).astype(int) + (up > 20)
    edges = {}
    for code, loops in outlines(codes).items():
        for loop in loops:
            for a, b in zip(loop, [*loop[1:], loop[0]], strict=True):
                edges.setdefault(frozenset((a, b)), set()).add(code)
    alone = [edge for edge, codes_of in edges.items() if len(codes_of) == 1]
    for edge in alone:
        assert any(
            all(point[axis] == end for point in edge) for axis, ends in ((0, (0, 40)), (1, (0, 30))) for end in ends
        )


def test_a_flat_stair_becomes_a_straight_line():
    up, across = np.mgrid[0:20, 0:100]
    codes = (up > 4 + across / 10).astype(int)
    (loop,) = outlines(codes)[1]
    off = [y - (4.5 + x / 10) for x, y in loop if 5 < x < 95 and 4 < y < 15]
    assert len(off) > 5
    assert np.ptp(off) < 0.06


def test_straight_edges_and_the_corner_between_them_stay():
    codes = np.zeros((20, 30), int)
    codes[8:, 12:] = 1
    (loop,) = outlines(codes)[1]
    assert set(loop) >= {(12, 8), (30, 8), (30, 20), (12, 20)}
    assert area_of(loop) == 12 * 18


def test_a_label_stands_well_inside_its_area_or_nowhere():
    codes = np.zeros((40, 40), int)
    codes[:, 20:] = 1
    codes[0:4, 0:4] = 2
    found = spots(codes, 5)
    assert set(found) == {0, 1}
    for code, places in found.items():
        for x, y in places:
            near = codes[int(y) - 4 : int(y) + 5, int(x)], codes[int(y), int(x) - 4 : int(x) + 5]
            assert all((line == code).all() for line in near)


def test_areas_are_where_the_numbers_are():
    found = make_map()
    picture = map_view(found, "us")
    by_letter = {one.get("fill"): points(one) for one in shapes(picture, "area")}
    gvwr = LEFT + (RIGHT - LEFT) * scale_of(found.x, "us").part(9990 * POUND)
    assert min(x for x, _ in by_letter["url(#map-c)"]) == pytest.approx(gvwr, abs=(RIGHT - LEFT) / 59)
    for line in by_letter.values():
        assert all(LEFT <= x <= RIGHT and TOP <= y <= BOTTOM for x, y in line)


# What is on it


def test_this_load_is_where_its_numbers_are():
    found = make_map()
    (ring,) = shapes(map_view(found, "us"), "own")
    x, y = scale_of(found.x, "us"), scale_of(found.y, "us")
    assert float(ring.get("cx")) == pytest.approx(LEFT + (RIGHT - LEFT) * 7200 / x.high, abs=0.01)
    assert float(ring.get("cy")) == pytest.approx(BOTTOM - (BOTTOM - TOP) * (12 - y.low) / (y.high - y.low), abs=0.01)


def test_every_area_has_its_own_hatching_letter_and_words():
    found = all_stops()
    picture = map_view(found, "us")
    fills = [one.get("fill") for one in shapes(picture, "area")]
    assert fills[1:] == [f"url(#map-{letter})" for letter in "abcde"]
    assert [one.get("fill") for one in shapes(picture, "swatch")] == fills
    patterns = re.findall(r"<pattern.*?</pattern>", picture.svg)
    bare = [re.sub(r' id="[^"]*"', "", one) for one in patterns]
    assert len(set(bare)) == 5
    said = words(picture)
    assert [said.count(letter) for letter in "ABCDE"] == [2] * 5
    for area in areas(found, "us"):
        assert area.words.split(",")[0][:30] in " ".join(said)
    assert misplaced(picture) == []


def test_areas_of_one_colour_differ_in_their_lines():
    assert len(set(HATCHES)) == len(HATCHES) >= 5


def test_hatching_stands_out_from_its_ground():
    found = all_stops()
    for code in range(1, 6):
        ground, lines = colours(found, code)
        assert contrast(ground, lines) >= LINE_CONTRAST
        assert contrast(ON_DARK[ground], ON_DARK[lines]) >= LINE_CONTRAST


def test_lines_of_pressure_are_where_the_pressure_is_and_end_where_bags_do():
    found = make_map()
    picture = map_view(found, "us")
    x, y = scale_of(found.x, "us"), scale_of(found.y, "us")
    labels = [float(one.text.split()[0]) for one in parsed(picture).iter() if one.get("class") == "pressure"]
    assert labels == [30.0, 40.0, 50.0, 60.0, 70.0]
    for line in shapes(picture, "contour"):
        read = []
        for px, py in points(line):
            weight = x.low + (x.high - x.low) * (px - LEFT) / (RIGHT - LEFT)
            ratio = (y.low + (y.high - y.low) * (BOTTOM - py) / (BOTTOM - TOP)) / 100
            read.append(20 + 0.03 * weight * ratio)
        assert np.ptp(read) < 0.6
        assert min(abs(read[0] - level) for level in (30, 40, 50, 60, 70)) < 0.5
        assert max(read) < 80.5


def test_a_truck_without_bags_has_areas_and_no_lines():
    setup = make_setup(make_truck(COILS, LEAVES), trailer=make_trailer())
    inputs = inputs_of(setup)
    found = load_map(setup, *(axis_of(inputs[key], "us") for key in first_two(setup)), size=(30, 30))
    picture = map_view(found, "us")
    assert shapes(picture, "contour") == []
    assert "No bags: no lines of pressure." in words(picture)
    assert "stays off its height" in picture.alt
    assert misplaced(picture) == []


def test_without_bags_behind_the_lines_are_of_the_front():
    setup = make_setup(make_truck(rear=LEAVES), trailer=make_trailer())
    inputs = inputs_of(setup)
    found = load_map(setup, *(axis_of(inputs[key], "us") for key in first_two(setup)), size=(30, 30))
    assert "of the front bags" in " ".join(words(map_view(found, "us")))


# Words


def test_words_say_where_this_load_stands_and_what_it_meets_first():
    assert sentences(make_map(), "us") == [
        "This load is inside: it levels, and no limit or label is passed.",
        "Heavier, the first thing it meets is at 9,990 lb: the trailer is over its GVWR.",
    ]
    assert sentences(make_map(more=None), "us")[1] == "Heavier, nothing stops it up to 15,000 lb."
    assert sentences(all_stops(), "us") == [
        "This load is stopped: the rear axle is over its GAWR, 6,000 lb.",
        "Lighter, it is free again from 5,000 lb.",
    ]
    assert sentences(all_stops(), "metric")[1] == "Lighter, it is free again from 2,268 kg."
    assert sentences(replace(all_stops(), less=None), "us")[1] == "Lighter, it is still stopped down to 0 lb."
    assert sentences(replace(all_stops(), here=1), "us")[0] == (
        "This load is stopped: it does not level within the greatest pressure of a rear bag, 100 psi."
    )
    assert sentences(make_map(here=5), "us")[0] == "With this load nothing is over, but a lean is left."


def test_the_alternative_says_it_all():
    picture = map_view(make_map(), "us")
    assert picture.alt.startswith("This load is inside: it levels")
    for part in (
        "Across: trailer weight from 0 lb to 15,000 lb; up: tongue ratio from",
        "this load is at 7,200 lb and 12 %",
        "the trailer is over its GVWR, 9,990 lb",
        "Lines of equal pressure of the rear bags: 30 psi, 40 psi, 50 psi, 60 psi, 70 psi.",
    ):
        assert part in picture.alt


def test_every_kind_of_stop_has_words():
    assert stop_words(Stop("bag", NOT_REACHED)) == "it does not come to the wanted stance"
    assert len(OF_BAG) == 5
    assert len(OF_STANCE) == 3


# Axes


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("slug", DEMO_PROFILES)
def test_axes_end_on_round_numbers_with_this_load_inside(slug, system):
    outfit = Store(DEMO).read_outfit(slug)
    for one in inputs_of(Setup.of(outfit.profile, outfit.truck, outfit.trailer)).values():
        scale = scale_of(one, system)
        assert 3 <= len(scale.ticks) <= 14
        assert scale.ticks[0] == pytest.approx(scale.low)
        assert scale.ticks[-1] == pytest.approx(scale.high)
        assert 0 <= scale.part(one.value) <= 1
        digits = f"{scale.step:.6e}".split("e")[0].rstrip("0").rstrip(".")
        assert digits in ("1", "2", "5")


@pytest.mark.parametrize(
    ("value", "said"), [(12000.0, "12,000"), (-0.5, "\u22120.5"), (0.30000000000000004, "0.3"), (-0.0, "0")]
)
def test_ticks_are_written_as_people_write_them(value, said):
    assert tick_text(value) == said


def test_lines_are_at_round_pressures_between_the_ends():
    assert levels(20 * PSI, 71 * PSI, "pressure", "us") == ([30.0, 40.0, 50.0, 60.0, 70.0], "psi")
    assert levels(20 * PSI, 20 * PSI, "pressure", "us") == ([], "psi")


def test_names_from_files_cannot_break_the_drawing():
    setup = make_setup(trailer=make_trailer(), cargo=[make_cargo(name="<b>&\"' ]]>" + "long " * 40)])
    inputs = inputs_of(setup)
    keys = ("cargo.0.weight", "cargo.0.y")
    found = load_map(setup, *(axis_of(inputs[key], "us") for key in keys), size=(10, 10))
    picture = map_view(found, "us")
    parsed(picture)
    assert misplaced(picture) == []
