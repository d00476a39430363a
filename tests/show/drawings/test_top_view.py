"""From above: to scale, every number there, no label cut or on another."""

import math
from dataclasses import replace

import numpy as np
import pytest

from planner.show.drawings.cargo import MOST_NAMED
from planner.show.drawings.svg import WIDTH
from planner.show.drawings.top_view import BAND, from_above
from tests.show.conftest import (
    BAGGED,
    COILS,
    DUALS_JOINED,
    INCH,
    LEAVES,
    POUND,
    PSI,
    RECEIVER,
    make_answer,
    make_cargo,
    make_finding,
    make_setup,
    make_trailer,
    make_truck,
)
from tests.show.reading import middle, misplaced, shapes, texts, words

HOSTILE = [
    "<b>bold</b>",
    "a]]>&amp;'\"",
    "nul\x00 and bell\x07",
    "\u202eright to left\u202c",
    "שלום עולם",
    "🪵🪚 logs",
    "漢" * 40,
    "W" * 120,
    "\ud800",
    "",
]


def _drawn(setup, system="us", **changes):
    return from_above(setup, make_answer(setup, **changes), system)


@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_demo_is_drawn_with_nothing_cut_or_overlapping(demo, system):
    setup, answer = demo
    assert misplaced(from_above(setup, answer, system)) == []


def test_every_corner_says_what_to_set_what_it_carries_and_no_more_digits_than_the_gauge():
    said = words(_drawn(make_setup()))
    for number in ("38 psi", "37 psi", "46 psi", "39 psi"):
        assert said.count(number) == 1
    for line in ("2,047 lb on tyre", "1,988 lb on tyre", "2,449 lb on tyre", "2,215 lb on tyre"):
        assert line in said
    assert "exact" not in said  # no more digits than the gauge has


def test_pressures_are_the_largest_and_at_their_corners():
    drawn = {text.words: text for text in texts(_drawn(make_setup()))}
    assert drawn["38 psi"].left == drawn["46 psi"].left < WIDTH / 2 < drawn["37 psi"].right == drawn["39 psi"].right
    assert drawn["38 psi"].bottom < drawn["46 psi"].top
    height = {name: text.bottom - text.top for name, text in drawn.items()}
    assert max(height, key=height.get) in ("38 psi", "37 psi", "46 psi", "39 psi")


def test_only_a_side_that_is_heavier_by_more_than_weighings_differ_is_marked():
    assert words(_drawn(make_setup())).count("heavier side") == 1  # rear, by 5 %; in front it is 1.5 %
    even = np.full((2, 2), 2000.0 * POUND)
    assert "heavier side" not in words(_drawn(make_setup(), tyre_load=even))


def test_wheelbase_track_and_spacing_are_to_one_scale():
    truck = make_truck(rear=BAGGED | {"track": "66 in"})
    drawing = _drawn(make_setup(truck))
    front, rear = (shapes(drawing, f"tyre {name}") for name in ("front", "rear"))
    wheelbase = middle(rear[0])[1] - middle(front[0])[1]
    tracks = [middle(pair[1])[0] - middle(pair[0])[0] for pair in (front, rear)]
    bags = [middle(bag) for bag in shapes(drawing, "bag")]
    assert tracks[0] / wheelbase == pytest.approx(68.5 / 158, rel=1e-3)
    assert tracks[1] / wheelbase == pytest.approx(66 / 158, rel=1e-3)
    assert (bags[1][0] - bags[0][0]) / wheelbase == pytest.approx(40 / 158, rel=1e-3)
    assert float(front[0].get("height")) / wheelbase == pytest.approx(2 * 16.6 / 158, rel=1e-3)
    area = math.pi * float(shapes(drawing, "bag")[0].get("r")) ** 2
    assert area / wheelbase**2 == pytest.approx(48 / 158**2, rel=1e-2)


def test_hitch_and_cargo_are_where_they_are():
    setup = make_setup(trailer=make_trailer(), cargo=[make_cargo(x="12 in", y="15 in")])
    drawing = _drawn(setup)
    rear, front = (middle(shapes(drawing, f"tyre {name}")[0])[1] for name in ("rear", "front"))
    inch = (rear - front) / 158
    assert middle(shapes(drawing, "hitch")[0]) == pytest.approx((WIDTH / 2, rear + 52 * inch), abs=0.02)
    assert middle(shapes(drawing, "cargo")[0]) == pytest.approx((WIDTH / 2 - 15 * inch, rear - 12 * inch), abs=0.02)


def test_cargo_has_its_name_and_weight_and_a_heavier_item_a_larger_box():
    cargo = [make_cargo("Fuel drum"), make_cargo("Saw", weight="60 lb", x="40 in", y="-10 in")]
    drawing = _drawn(make_setup(cargo=cargo))
    assert {"Fuel drum", "420 lb", "Saw", "60 lb"} <= set(words(drawing))
    large, small = (float(box.get("width")) for box in shapes(drawing, "cargo"))
    assert large > small


def test_a_long_name_is_shortened():
    said = words(_drawn(make_setup(cargo=[make_cargo("A very long name of a thing in the bed")])))
    assert any(one.startswith("A very") and one.endswith("…") for one in said)


def test_cargo_behind_the_rear_axle_is_named_below_its_block():
    drawn = {text.words: text for text in texts(_drawn(make_setup(cargo=[make_cargo("Chest", x="-25 in")])))}
    assert drawn["Chest"].top > drawn["2,449 lb on tyre"].bottom


def test_cargo_in_the_middle_is_named_at_the_emptier_side():
    cargo = [make_cargo("Left", y="10 in"), make_cargo("Middle", y="0 in", x="30 in")]
    drawn = {text.words: text for text in texts(_drawn(make_setup(cargo=cargo)))}
    assert drawn["Middle"].left > WIDTH / 2 > drawn["Left"].right


def test_many_items_get_numbers_and_a_list():
    cargo = [make_cargo(f"Item {n}", x=f"{10 + n} in", y=f"{(-1) ** n * 12} in") for n in range(MOST_NAMED + 3)]
    drawing = _drawn(make_setup(cargo=cargo))
    said = words(drawing)
    assert misplaced(drawing) == []
    for n in range(1, MOST_NAMED + 4):
        assert str(n) in said
        assert f"{n}. Item {n - 1}, 420 lb" in said


def test_more_than_there_is_room_for_are_summed():
    cargo = [make_cargo(f"Item {n}", weight="10 lb", y="10 in") for n in range(40)]
    drawing = _drawn(make_setup(cargo=cargo))
    listed = [one for one in words(drawing) if one.startswith("and ")]
    shown = len([one for one in words(drawing) if ", 10 lb" in one])
    assert listed == [f"and {40 - shown} more, {10 * (40 - shown)} lb together"]
    assert len(shapes(drawing, "cargo")) == 40
    assert misplaced(drawing) == []


def test_a_corner_with_no_bag_says_steel():
    drawing = _drawn(make_setup(make_truck(front=COILS)))
    assert words(drawing).count("steel") == 2
    assert len(shapes(drawing, "bag")) == 2
    assert "front left steel, no bag" in drawing.alt.lower()


def test_leaves_and_coils_are_drawn_where_the_springs_are():
    leaves = _drawn(make_setup(make_truck(rear=LEAVES)))
    assert words(leaves).count("steel") == 2
    assert misplaced(leaves) == []


def test_a_pair_of_tyres_is_two_and_a_joined_line_is_said():
    drawing = _drawn(make_setup(make_truck(rear=DUALS_JOINED)))
    rear = [middle(tyre)[0] for tyre in shapes(drawing, "tyre rear")]
    assert len(rear) == 4
    inch = (middle(shapes(drawing, "tyre rear")[0])[1] - middle(shapes(drawing, "tyre front")[0])[1]) / 158
    assert (sum(rear[2:]) - sum(rear[:2])) / 2 == pytest.approx(72 * inch, abs=0.05)
    assert "one line" in words(drawing)
    assert "2,449 lb on tyres" in words(drawing)


@pytest.mark.parametrize(("coupling", "part"), [("ball", "ball"), ("pintle", "hook")])
def test_the_hitch_says_what_is_on_it_and_from_what(coupling, part):
    truck = make_truck(hitches=[RECEIVER | {"coupling": coupling}])
    setup = make_setup(truck, trailer=make_trailer(coupling=coupling))
    drawing = _drawn(setup)
    assert f"864 lb on the {part}" in words(drawing)
    assert "Band mill" in words(drawing)
    assert f"864 lb on the {part}, from Band mill." in drawing.alt


def test_with_no_trailer_nothing_is_on_the_hitch():
    drawing = _drawn(make_setup())
    assert not any("on the ball" in one for one in words(drawing))
    assert shapes(drawing, "hitch") == []


def test_an_unhitched_truck_keeps_its_hitch_and_shows_no_drawbar():
    hitched = make_setup(trailer=make_trailer())
    drawing = _drawn(hitched.without_trailer())
    assert len(shapes(drawing, "hitch")) == 1
    assert drawing.svg.count("<path") < _drawn(hitched).svg.count("<path")
    assert not any("on the ball" in one for one in words(drawing))


def test_what_is_wrong_with_one_corner_is_said_there_in_words():
    findings = (
        make_finding(code="pressure-high-front-left"),
        make_finding("caution", code="bag-height-low-rear-right"),
        make_finding(code="gawr-rear"),
    )
    drawing = _drawn(make_setup(), findings=findings)
    assert "■ air over limit" in words(drawing)
    assert "▲ bag at lowest" in words(drawing)
    assert misplaced(drawing) == []


def test_a_tyre_over_its_rating_is_said_at_its_side():
    load = np.array([[2047.0, 1988.0], [3400.0, 2215.0]]) * POUND
    drawing = _drawn(make_setup(), tyre_load=load)
    assert words(drawing).count("■ tyre overload") == 1
    assert "rear left 46 psi, 3,400 lb on tyre, heavier side, ■ tyre overload" in drawing.alt.lower()


def test_wide_numbers_still_fit():
    setup = make_setup()
    answer = make_answer(setup, tyre_load=np.full((2, 2), 22_449.0 * POUND))
    answer = replace(
        answer, pressure=np.full((2, 2), 148.2 * PSI), set=replace(answer.set, pressure=np.full((2, 2), 148 * PSI))
    )
    for system in ("us", "metric"):
        assert misplaced(from_above(setup, answer, system)) == []


@pytest.mark.parametrize("wheelbase", ["0.5 m", "1.2 m", "12 m", "30 m"])
def test_any_wheelbase_is_to_scale(wheelbase):
    truck = make_truck(wheelbase=wheelbase, hitches=[])
    drawing = _drawn(make_setup(truck, cargo=[make_cargo(x="0.1 m"), make_cargo("Two", x="0.2 m", y="-4 in")]))
    assert misplaced(drawing) == []
    front, rear = (shapes(drawing, f"tyre {name}") for name in ("front", "rear"))
    ratio = (middle(rear[0])[1] - middle(front[0])[1]) / (middle(front[1])[0] - middle(front[0])[0])
    assert ratio == pytest.approx(float(wheelbase.split()[0]) / (68.5 * INCH), rel=2e-3)


@pytest.mark.parametrize("place", [("29 m", "0 in"), ("-29 m", "3 in"), ("0 in", "29 m"), ("1 m", "-2 m")])
def test_cargo_anywhere_stays_on_the_paper(place):
    drawing = _drawn(make_setup(cargo=[make_cargo(x=place[0], y=place[1])]))
    x, _ = middle(shapes(drawing, "cargo")[0])
    assert abs(x - WIDTH / 2) <= BAND / 2
    assert misplaced(drawing) == []


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_do_no_harm(name):
    trailer = make_trailer().model_copy(update={"name": name})
    drawing = _drawn(make_setup(trailer=trailer, cargo=[make_cargo(name), make_cargo(name, x="60 in")]))
    assert misplaced(drawing) == []
    assert "<b>" not in drawing.svg


def test_the_drawing_is_said_in_words():
    cargo = [make_cargo(), make_cargo("Saw", x="-9 in", y="0 in"), make_cargo("Rope", y="-2 in")]
    alt = _drawn(make_setup(cargo=cargo)).alt
    assert "Front left 38 psi, 2,047 lb on tyre." in alt
    assert "Fuel drum 420 lb, 12 in ahead of the rear axle, 15 in to the left" in alt
    assert "Saw 420 lb, 9 in behind the rear axle;" in alt
    assert "2 in to the right" in alt
