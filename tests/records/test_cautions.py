"""What may be a slip in a truck is asked about with its numbers, and never refused."""

from pathlib import Path

import pytest

from planner.records import Truck, read_record
from planner.records.cautions import truck_cautions
from planner.store import Store
from planner.store.checking import find_cautions


def told(truck):
    """Return the cautions about a truck as lines."""
    return [one.line() for one in truck_cautions(read_record(Truck, truck, "x.toml"))]


def test_a_sound_truck_has_none(truck):
    assert told(truck) == []


def test_an_arch_lip_under_the_tyre_s_top_is_asked_about(truck):
    truck["front"]["ride_height"] = "14.6 in"
    (line,) = told(truck)
    assert line.startswith('front.ride_height: the arch lip would be 2 in under the tyre\'s top, got "14.6 in": ')


def test_a_ride_height_from_the_ground_is_asked_about(truck):
    truck["front"]["ride_height"] = "36 in"
    (line,) = told(truck)
    assert line.startswith('front.ride_height: the arch lip would be 19.4 in over the tyre\'s top, got "36 in": ')
    assert line.endswith("not from the ground")


def test_a_hitch_far_behind_is_asked_about(truck):
    truck["hitches"][0]["x"] = "-158 in"
    (line,) = told(truck)
    assert line.startswith("hitches[0].x: that is more than 0.6 of the wheelbase (94.8 in)")


def test_an_empty_truck_on_one_side_is_asked_about(truck):
    truck["kerb"]["left_share"] = 0.015
    (line,) = told(truck)
    assert line.startswith("kerb.left_share: the left wheels of an empty truck carry about half: 0.4 to 0.6, got 0.015")


def test_twin_tyres_with_the_rating_of_a_single_one_are_asked_about(truck):
    truck["rear"]["tyres"] |= {"per_side": 2, "load_rating": "3195 lb"}
    (line,) = told(truck)
    assert line.startswith("rear.tyres.load_rating: looks like the rating of a single tyre: those on the other axle")
    assert line.endswith("give the sidewall's dual load of one, about 2907.45 lb")
    truck["rear"]["tyres"] |= {"load_rating": "2910 lb"}  # LT235/85R16 E: 2778 of 3042 lb
    assert told(truck) == []


def test_other_tyres_behind_are_no_slip(truck):
    truck["rear"]["tyres"] |= {"per_side": 2, "load_rating": "3500 lb", "unloaded_radius": "18 in"}
    assert told(truck) == []


def test_tyres_that_carry_less_than_their_axle_may_are_asked_about(truck):
    truck["front"]["tyres"]["load_rating"] = "2900 lb"
    (line,) = told(truck)
    assert line.startswith(
        'front.tyres.load_rating: 2 such tyres carry 5800 lb, gawr is "6000 lb", got "2900 lb": check'
    )


def test_the_demo_has_none():
    demo = Path(__file__).parents[2] / "profiles"
    assert find_cautions(Store(demo)) == []


@pytest.mark.parametrize("name", ["any.toml", "trucks/any.toml"])
def test_a_check_finds_them_in_a_folder_and_in_a_file(tmp_path, name):
    demo = (Path(__file__).parents[2] / "profiles/trucks/ridge-truck.toml").read_text("utf-8")
    path = tmp_path / name
    path.parent.mkdir(exist_ok=True)
    path.write_text(demo.replace('ride_height = "20 in"', 'ride_height = "16 in"'), "utf-8")
    store = Store(tmp_path)
    assert [one.field for one in find_cautions(store, [path])] == ["front.ride_height", "rear.ride_height"]
    assert [one.file for one in find_cautions(store)] == (["trucks/any.toml"] * 2 if name.startswith("trucks") else [])
    (tmp_path / "damaged.toml").write_text("=", "utf-8")
    assert find_cautions(store, [tmp_path / "damaged.toml", tmp_path / "none.toml"]) == []
