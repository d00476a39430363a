"""From the side: to scale on level ground, in the pose the answer says."""

from dataclasses import replace

import numpy as np
import pytest

from planner.plans.answer import Stance
from planner.show.drawings import body_shapes as sizes
from planner.show.drawings.body import Pose, TrailerPose
from planner.show.drawings.side_view import from_side
from planner.show.text.words import level_words, set_ride_heights
from tests.show.conftest import COILS, INCH, LEAVES, PLATE, POUND, make_answer, make_setup, make_trailer, make_truck
from tests.show.reading import middle, misplaced, points, shapes, words

FIFTH = {"coupling": "fifth_wheel", "coupling_height": "47 in", "axle_distance": "276 in"}


@pytest.mark.parametrize("system", ["us", "metric"])
def test_the_demo_is_drawn_with_nothing_cut_or_overlapping(demo, system):
    setup, answer = demo
    assert misplaced(from_side(setup, answer, system)) == []


def _drawn(setup, system="us", before=None, **changes):
    return from_side(setup, make_answer(setup, **changes), system, before=before)


def test_heights_and_lengths_are_to_one_scale_front_to_the_left():
    drawing = _drawn(make_setup(trailer=make_trailer()))
    (front, rear), (hitch,) = shapes(drawing, "wheel"), shapes(drawing, "hitch")
    inch = (middle(rear)[0] - middle(front)[0]) / 158
    assert inch > 0
    ground = middle(rear)[1] + float(rear.get("r"))
    assert (middle(hitch)[0] - middle(rear)[0]) / inch == pytest.approx(52, abs=0.05)
    assert (ground - middle(hitch)[1]) / inch == pytest.approx(19, abs=0.05)
    trailer = [middle(one)[0] for one in shapes(drawing, "trailer-wheel")]
    assert (sum(trailer) / 2 - middle(hitch)[0]) / inch == pytest.approx(168, abs=0.05)


def test_wheels_stand_on_the_ground_squashed_by_their_load():
    setup = make_setup()
    drawing = _drawn(setup)
    front, rear = shapes(drawing, "wheel")
    inch = (middle(rear)[0] - middle(front)[0]) / 158
    feet = [middle(one)[1] + float(one.get("r")) for one in (front, rear)]
    assert feet[0] == pytest.approx(feet[1], abs=0.02)
    squash = np.array([(2047 + 1988) / 2, (2449 + 2215) / 2]) / 2000  # lb over lbf/in
    radii = np.array([float(one.get("r")) for one in (front, rear)]) / inch
    assert radii == pytest.approx(16.6 - squash, abs=0.02)


def _nose_and_tail(drawing):
    outline = points(shapes(drawing, "body")[0])
    return max(outline, key=lambda point: (round(point[0], 1), point[1])), min(
        outline, key=lambda point: (round(point[0], 1), -point[1])
    )


@pytest.mark.parametrize(("front", "rear"), [(2.0, 0.0), (0.0, -3.0), (1.0, 1.0)])
def test_the_body_moves_as_the_stance_says(front, rear):
    setup = make_setup()
    level, moved = _drawn(setup), _drawn(setup, stance=Stance(front * INCH, rear * INCH, 0.0))
    wheels = shapes(level, "wheel")
    inch = (middle(wheels[1])[0] - middle(wheels[0])[0]) / 158
    body = sizes.body(setup.truck)
    lifts = []
    for x, (before, after) in zip(
        (body.tail, body.nose), zip(_nose_and_tail(level), _nose_and_tail(moved), strict=True), strict=True
    ):
        ground = [middle(one)[1] + float(one.get("r")) for one in (wheels[1], shapes(moved, "wheel")[1])]
        lifts.append(((ground[1] - after[1]) - (ground[0] - before[1])) / inch)
        assert lifts[-1] == pytest.approx(rear + (front - rear) * x / (158 * INCH), abs=0.05)
    assert len(lifts) == 2


def test_numbers_stand_beside_what_they_measure():
    said = words(_drawn(make_setup(trailer=make_trailer())))
    for one in ("ride 19.9 in", "ride 20.3 in", "ball 19 in", "158 in", "52 in", "168 in", "level"):
        assert one in said


def test_a_trailer_with_a_neck_reaches_over_the_bed():
    setup = make_setup(trailer=make_trailer(**FIFTH), hitch=PLATE["name"])
    drawing = _drawn(setup)
    assert "plate 47 in" in words(drawing)
    assert "23 ft" in words(drawing)
    assert "4 in" not in words(drawing)
    assert shapes(drawing, "hitch") == []  # a plate is no ball
    assert misplaced(drawing) == []


@pytest.mark.parametrize(("height", "said"), [(19.0, "trailer level"), (21.0, "0.7° nose up"), (16.0, "1° nose down")])
def test_the_trailer_pitches_with_its_coupling(height, said):
    drawing = _drawn(make_setup(trailer=make_trailer()), coupling_height=height * INCH)
    assert said in drawing.alt


def test_the_coupling_of_a_pitched_trailer_is_on_the_ball():
    setup = make_setup(trailer=make_trailer())
    pose = TrailerPose.of(setup, 22 * INCH)
    assert pose.at(0.0, pose.level_height) == pytest.approx((-52 * INCH, 22 * INCH))
    assert pose.at(pose.axle_distance, 0.5)[1] == pytest.approx(0.5)
    assert TrailerPose.of(make_setup(), 0.5) is None
    assert TrailerPose.of(setup, None) is None


def test_arch_lips_are_the_ride_height_above_the_wheels_in_any_stance():
    setup = make_setup()
    kerb = np.array([[4300.0, 4300.0], [3000.0, 3000.0]]) / 2 * POUND
    answer = make_answer(setup, tyre_load=kerb, stance=Stance(0.02, 0.02, 0.0))
    pose = Pose.of(setup, answer)
    lips = [pose.lifted(x, float(pose.arches[k])) for k, x in ((0, pose.wheelbase), (1, 0.0))]
    assert np.array(lips) - pose.wheels.mean(axis=1) == pytest.approx(np.array([20.0, 20.0]) * INCH + 0.02, abs=1e-6)


def test_before_is_in_dashes_and_the_words_say_how_it_stands():
    setup = make_setup()
    plain = _drawn(setup)
    compared = _drawn(setup, before=Stance(0.03, -0.05, 0.0), stance=Stance(0.0, 0.01, 0.002))
    assert compared.svg.count("stroke-dasharray") == plain.svg.count("stroke-dasharray") + 1
    said = " ".join(words(compared))
    assert (
        "Front level, rear 0.4 in high, left side 0.1 in higher. Dashes: front 1.2 in high, rear 2 in low, no lean."
        in said
    )
    assert misplaced(compared) == []
    assert "Front and rear level, no lean." in words(plain)


@pytest.mark.parametrize("axle", [COILS, LEAVES])
def test_steel_is_drawn_as_steel(axle):
    drawing = _drawn(make_setup(make_truck(rear=axle)))
    assert len(shapes(drawing, "steel")) == 1
    assert len(shapes(drawing, "bag")) == 2  # the two folds of the front one


def test_the_bag_is_as_high_as_it_is():
    drawing = _drawn(make_setup())
    wheels = shapes(drawing, "wheel")
    inch = (middle(wheels[1])[0] - middle(wheels[0])[0]) / 158
    folds = [float(fold.get("height")) for fold in shapes(drawing, "bag")]
    assert sum(folds[:2]) / inch == pytest.approx(6.0, abs=0.05)
    assert sum(folds[2:]) / inch == pytest.approx(6.35, abs=0.05)


@pytest.mark.parametrize("changes", [{"axle_distance": "0.5 m", "axle_count": 4}, {"axle_distance": "29 m"}])
@pytest.mark.parametrize("wheelbase", ["1 m", "20 m"])
def test_odd_rigs_stay_on_the_paper(changes, wheelbase):
    setup = make_setup(make_truck(wheelbase=wheelbase), trailer=make_trailer(**changes))
    for system in ("us", "metric"):
        assert misplaced(_drawn(setup, system)) == []


def test_a_bag_is_sized_only_where_there_is_one():
    truck = make_truck(rear=LEAVES)
    assert sizes.bag_radius(truck.front) == pytest.approx((48 / 3.14159265) ** 0.5 * INCH)
    with pytest.raises(ValueError, match="axle with bags"):
        sizes.bag_radius(truck.rear)


def test_a_hitch_with_no_height_is_left_out():
    setup = replace(make_setup(trailer=make_trailer()), trailer=None)
    drawing = _drawn(setup, coupling_height=None)
    assert shapes(drawing, "hitch") == []
    assert not any("ball" in one for one in words(drawing))


def test_level_at_unlike_ride_heights_is_explained_and_heights_are_those_set():
    setup = make_setup()
    answer = make_answer(setup)
    assert "ride heights differ" in level_words(setup, answer, "us")
    assert level_words(setup, replace(answer, level=False), "us") == ""
    alike = np.full((2, 2), 20 * INCH)
    assert level_words(setup, replace(answer, ride_height=alike), "us") == ""
    heavier_left = replace(answer, ride_height=alike + np.array([0.2, 0.0]) * INCH)
    assert "ride heights differ" in level_words(setup, heavier_left, "us")
    higher = replace(answer, set=replace(answer.set, stance=Stance(0.0, INCH, 0.0)))
    assert set_ride_heights(setup, higher)[1] == pytest.approx(answer.ride_height[1] + INCH)
    assert set_ride_heights(setup, higher)[0] == pytest.approx(answer.ride_height[0])
