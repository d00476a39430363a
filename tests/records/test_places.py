"""Places on the truck by name: cargo put there, who was aboard at the weighing, who is aboard now; bed and heights."""

import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.plans.setup import Setup
from planner.records import (
    BadInput,
    Cargo,
    PointMass,
    Profile,
    Truck,
    aboard_change_of,
    check_together,
    placed,
    read_record,
)
from planner.records.places import TYPICAL_PLACES

from .conftest import TRUCK

Data = dict[str, Any]
LB, IN = 0.45359237, 0.0254
TYPICAL = ["driver", "passenger", "rear bench", "fuel tank", "tool box"]
OWN = [
    {"name": "driver", "x": "96 in", "y": "16 in"},
    {"name": "jump seat", "x": "60 in", "y": "-10 in", "z": "42 in"},
    {"name": "fuel tank", "x": "44 in", "y": "12 in", "z": "22 in", "full": "238 lb"},
]


def a_truck(truck: Data, **changes: Any) -> Truck:
    """The truck of the contract with some of its fields changed."""
    return read_record(Truck, truck | changes, "t.toml")


def alone(profile: Data, **changes: Any) -> Profile:
    """The profile of the contract without its trailer, with some of its fields changed."""
    bare = {key: value for key, value in profile.items() if key not in ("trailer", "hitch", "cargo")}
    return read_record(Profile, bare | changes, "p.toml")


def told(profile: Profile, truck: Truck) -> list[str]:
    """What does not fit together."""
    with pytest.raises(BadInput) as caught:
        check_together(profile, truck, None, "p.toml")
    return str(caught.value).splitlines()


# Places


def test_a_truck_that_lists_no_places_has_the_typical_ones(truck: Data) -> None:
    got = a_truck(truck)
    assert [one.name for one in got.every_place] == TYPICAL
    for one in got.every_place:
        assert 0 < one.x < got.wheelbase
        assert abs(one.y) < got.front.track / 2
    assert got.place("driver").y > 0 > got.place("passenger").y
    assert got.place("driver").x > got.place("rear bench").x > got.bed_limits.front > got.place("tool box").x


def test_typical_places_go_with_the_wheelbase(truck: Data) -> None:
    short, long = (a_truck(truck, wheelbase=f"{inches} in") for inches in (120, 180))
    for name in TYPICAL:
        assert short.place(name).x / short.wheelbase == pytest.approx(long.place(name).x / long.wheelbase, abs=1e-3)


def test_the_trucks_own_places_stand_in_for_the_typical_ones_of_their_name(truck: Data) -> None:
    got = a_truck(truck, places=OWN)
    assert [one.name for one in got.every_place] == [
        "driver",
        "jump seat",
        "fuel tank",
        "passenger",
        "rear bench",
        "tool box",
    ]
    assert got.place("driver").x == pytest.approx(96 * IN)
    assert got.place("fuel tank").full == pytest.approx(238 * LB)


def test_a_tank_of_ones_own_holds_what_is_typical_until_it_is_said(truck: Data) -> None:
    got = a_truck(truck, places=[{"name": "fuel tank", "x": "44 in"}])
    assert got.place("fuel tank").full == pytest.approx(float(TYPICAL_PLACES["fuel tank"][2].split()[0]))
    assert got.place("fuel tank").y == 0


def test_names_tell_places_apart(truck: Data, faults: Any) -> None:
    two = [{"name": "roof", "x": "90 in"}, {"name": "roof", "x": "60 in"}]
    assert faults(Truck, truck | {"places": two}) == [
        'places[1].name: each place needs its own name, got "roof" again: rename one of them'
    ]


# Cargo at a place


def test_cargo_at_a_place_lies_where_the_place_is(truck: Data, profile: Data) -> None:
    crate = {"name": "Crate", "weight": "90 lb", "at": "jump seat"}
    setup = Setup.of(alone(profile, cargo=[crate]), a_truck(truck, places=OWN))
    (item,) = setup.cargo
    assert (item.x, item.y, item.z) == pytest.approx((60 * IN, -10 * IN, 42 * IN))
    assert setup.cargo == Setup(setup.truck, cargo=(Cargo(**crate),)).cargo  # whoever makes the setup


def test_cargo_at_a_place_loads_the_truck_as_cargo_at_its_x_and_y(truck: Data, profile: Data) -> None:
    ridge = a_truck(truck, places=OWN)
    by_name = {"name": "Crate", "weight": "90 lb", "at": "jump seat"}
    by_number = {"name": "Crate", "weight": "90 lb", "x": "60 in", "y": "-10 in", "z": "42 in"}
    assert [placed(Cargo(**one), ridge) for one in (by_name,)] == [placed(Cargo(**by_number), ridge)]


def test_cargo_is_as_high_as_is_said_then_as_its_place_then_as_the_truck(truck: Data) -> None:
    ridge = a_truck(truck, places=OWN)
    at = {"name": "Crate", "weight": "90 lb", "at": "jump seat"}
    assert placed(Cargo(**at, z="50 in"), ridge).z == pytest.approx(50 * IN)
    assert placed(Cargo(**at), ridge).z == pytest.approx(42 * IN)
    assert placed(Cargo(**at | {"at": "passenger"}), ridge).z == ridge.mass_height
    assert placed(Cargo(name="Crate", weight="90 lb", x="1 in"), ridge).z == ridge.mass_height


def test_cargo_is_at_a_place_or_at_x_and_y(profile: Data, faults: Any) -> None:
    both = {"name": "a", "weight": "1 lb", "at": "driver", "x": "1 in", "y": "2 in"}
    assert faults(Profile, profile | {"cargo": [both]}) == [
        "cargo[0].at: cargo is at a named place, or at x and y, not both, got at and x and y: take at out, or x and y"
    ]
    neither = {"name": "a", "weight": "1 lb", "y": "2 in"}
    (line,) = faults(Profile, profile | {"cargo": [neither]})
    assert line.startswith("cargo[0].x: cargo needs x, or at with the name of a place, got neither: add x = ")


def test_a_misspelt_place_names_the_nearest_and_an_unknown_one_names_them_all(truck: Data, profile: Data) -> None:
    lost = [{"name": "a", "weight": "1 lb", "at": name} for name in ("passanger", "moon")]
    seat, moon = told(alone(profile, cargo=lost), a_truck(truck))
    assert seat == 'p.toml: cargo[0].at: must be a place of the truck, got "passanger": did you mean passenger?'
    assert moon.startswith('p.toml: cargo[1].at: must be a place of the truck, got "moon": ')
    assert moon.endswith(f'"Ridge truck" has {", ".join(TYPICAL)}')


# Who is aboard


def test_a_passenger_is_more_than_at_the_weighing(truck: Data, profile: Data) -> None:
    ridge = a_truck(truck)
    got = Setup.of(alone(profile, aboard=[{"place": "passenger", "weight": "180 lb"}]), ridge)
    seat = ridge.place("passenger")
    assert got.aboard == (PointMass("passenger", pytest.approx(180 * LB), float(seat.x), float(seat.y), 0.72),)
    assert got.cargo == ()


def test_half_a_tank_is_less_than_at_the_weighing(truck: Data, profile: Data) -> None:
    half = [{"place": "fuel tank", "share": 0.5}]
    weighed = truck["kerb"] | {
        "aboard": [{"place": "fuel tank", "share": 0.75}, {"place": "driver", "weight": "200 lb"}]
    }
    (fuel,) = aboard_change_of(alone(profile, aboard=half), a_truck(truck, places=OWN, kerb=weighed))
    assert fuel.weight == pytest.approx(-0.25 * 238 * LB)
    assert fuel.z == pytest.approx(22 * IN)
    (fuel,) = aboard_change_of(alone(profile, aboard=half), a_truck(truck, places=OWN))
    assert fuel.weight == pytest.approx(-0.5 * 238 * LB)  # a kerb that says nothing has a full tank


def test_a_kerb_that_says_nothing_has_a_driver_and_one_that_says_who_has_them_only(truck: Data, profile: Data) -> None:
    heavy = alone(profile, aboard=[{"place": "driver", "weight": "220 lb"}])
    assert aboard_change_of(heavy, a_truck(truck))[0].weight == pytest.approx(220 * LB - 75)
    empty = truck["kerb"] | {"aboard": []}
    assert aboard_change_of(heavy, a_truck(truck, kerb=empty))[0].weight == pytest.approx(220 * LB)


def test_a_place_that_the_profile_does_not_name_is_as_it_was_weighed(truck: Data, profile: Data) -> None:
    weighed = truck["kerb"] | {"aboard": [{"place": "rear bench", "weight": "150 lb"}]}
    ridge = a_truck(truck, kerb=weighed)
    assert aboard_change_of(alone(profile), ridge) == ()
    off = alone(profile, aboard=[{"place": "rear bench", "weight": "0 lb"}])
    assert aboard_change_of(off, ridge)[0].weight == pytest.approx(-150 * LB)


SEATS = st.dictionaries(st.sampled_from(TYPICAL), st.integers(0, 300), min_size=1)


@given(now=SEATS, then=SEATS, data=st.data())
def test_from_one_crew_to_another_it_does_not_matter_who_was_aboard_at_the_weighing(
    now: dict[str, int], then: dict[str, int], data: st.DataObject
) -> None:
    other = {name: data.draw(st.integers(0, 300)) for name in now}
    ridge = read_record(Truck, tomllib.loads(TRUCK), "t.toml")
    ridge = ridge.replaced(kerb=ridge.kerb.replaced(aboard=crew(then)))
    first, second = (aboard_change_of(Profile(name="p", truck="t", aboard=crew(one)), ridge) for one in (now, other))
    got = {a.name: b.weight - a.weight for a, b in zip(first, second, strict=True)}
    assert got == pytest.approx({name: other[name] - now[name] for name in now}, abs=1e-9)


def crew(weights: dict[str, int]) -> list[Data]:
    """Who is aboard, as a file has it. [kg]"""
    return [{"place": name, "weight": f"{weight} kg"} for name, weight in weights.items()]


@pytest.mark.parametrize(
    ("aboard", "expected"),
    [
        ({"place": "passenger"}, "weight: needs weight or share, got neither: "),
        (
            {"place": "passenger", "weight": "1 lb", "share": 0.5},
            "weight: takes weight or share, not both, got both: take one of them out",
        ),
        ({"place": "passenger", "share": 50}, "share: must be <= 1, got 50: "),
        ({"place": "passenger", "weight": "-1 lb"}, 'weight: must be >= 0, got "-1 lb": '),
        ({"weight": "1 lb"}, 'place: is required: add place = "..."'),
    ],
)
def test_each_fault_of_who_is_aboard_is_told_once(
    truck: Data, profile: Data, faults: Any, aboard: Data, expected: str
) -> None:
    for cls, data, where in (
        (Profile, profile | {"aboard": [aboard]}, "aboard[0]"),
        (Truck, truck | {"kerb": truck["kerb"] | {"aboard": [aboard]}}, "kerb.aboard[0]"),
    ):
        lines = faults(cls, data)
        assert len(lines) == 1
        assert lines[0].startswith(f"{where}.{expected}")


BAD = [
    (
        [{"place": "passanger", "weight": "1 lb"}],
        'aboard[0].place: must be a place of the truck, got "passanger": did you ',
    ),
    (
        [{"place": "driver", "weight": "1 lb"}, {"place": "driver", "weight": "1 lb"}],
        'aboard[1].place: each place is named once, got "driver" again: add the weights together',
    ),
    (
        [{"place": "passenger", "share": 0.5}],
        'aboard[0].share: a share needs to know what "passenger" holds when full, got 0.5: give weight, or add full = ',
    ),
]


@pytest.mark.parametrize(("aboard", "expected"), BAD)
def test_those_aboard_are_at_places_of_the_truck(
    truck: Data, profile: Data, faults: Any, aboard: list[Data], expected: str
) -> None:
    (line,) = told(alone(profile, aboard=aboard), a_truck(truck))
    assert line.startswith(f"p.toml: {expected}")
    (line,) = faults(Truck, truck | {"kerb": truck["kerb"] | {"aboard": aboard}})
    assert line.startswith(f"kerb.{expected}")


def test_who_was_aboard_weighs_less_than_the_truck(truck: Data, faults: Any) -> None:
    heavy = truck["kerb"] | {"aboard": [{"place": "tool box", "weight": "5900 lb"}]}
    (line,) = faults(Truck, truck | {"kerb": heavy})
    assert line.startswith(
        "kerb.aboard: must be < the truck's own weight above its axles (5880 lb), got 5900 lb: the kerb axles were "
    )


# Heights and the bed


def test_heights_left_out_are_typical(truck: Data) -> None:
    got = a_truck(truck)
    assert got.mass_height == 0.72  # MASH asks >= 0.71 m of its test pickup (AASHTO MASH table 4, from memory)
    assert got.rear.roll_axis == pytest.approx(16.6 * IN)  # solid: the wheel's centre
    truck["front"] |= {"suspension": "independent"}
    assert a_truck(truck).front.roll_axis == 0


def test_heights_given_are_taken_and_a_roll_axis_may_be_on_the_ground(truck: Data) -> None:
    truck["rear"] |= {"roll_axis_height": "0 in"}
    got = a_truck(truck, kerb=truck["kerb"] | {"mass_height": "30 in"})
    assert got.mass_height == pytest.approx(30 * IN)
    assert got.rear.roll_axis == 0


def test_heights_have_bounds(truck: Data, faults: Any) -> None:
    truck["rear"] |= {"roll_axis_height": "100 in"}
    lines = faults(Truck, truck | {"kerb": truck["kerb"] | {"mass_height": "0 in"}})
    assert sorted(lines) == [
        'kerb.mass_height: must be > 0, got "0 in": check the number and its unit',
        'rear.roll_axis_height: must be <= 78.7402 in, got "100 in": check the number and its unit',
    ]


def test_a_bed_left_out_is_typical_and_part_of_one_too(truck: Data) -> None:
    got = a_truck(truck).bed_limits
    assert got.typical
    assert got.front > 0 > got.rear
    assert 0 < got.width <= 68 * IN
    part = a_truck(truck, bed={"rear": "-40 in"}).bed_limits
    assert part.typical
    assert part.rear == pytest.approx(-40 * IN)
    assert (part.front, part.width) == (got.front, got.width)


def test_a_bed_of_its_own_is_as_given(truck: Data) -> None:
    got = a_truck(truck, bed={"front": "48 in", "rear": "-48 in", "width": "65 in"}).bed_limits
    assert (got.front, got.rear, got.width) == pytest.approx((48 * IN, -48 * IN, 65 * IN))
    assert not got.typical


def test_a_bed_as_it_was_written_before_is_still_one(truck: Data) -> None:
    got = a_truck(truck, bed={"rail_height": "56 in", "end": "-40 in"})
    assert got.bed_limits.rear == pytest.approx(-40 * IN)
    assert got.as_file()["bed"] == {"rail_height": "56 in", "end": "-40 in"}


@pytest.mark.parametrize(
    ("bed", "expected"),
    [
        ({"end": "-40 in", "rear": "-41 in"}, 'bed.end: means the same as rear, got "-40 in" beside it: take end out'),
        (
            {"front": "-50 in", "rear": "10 in"},
            "bed.front: must be ahead of the bed's rear (10 in), got -50 in: measure both forward from the rear axle",
        ),
        ({"rear": "90 in"}, "bed.front: must be ahead of the bed's rear (90 in), got 47.4 in: measure both"),
        ({"width": "0 in"}, 'bed.width: must be > 0, got "0 in": '),
    ],
)
def test_each_fault_of_a_bed_is_told_once(truck: Data, faults: Any, bed: Data, expected: str) -> None:
    lines = faults(Truck, truck | {"bed": bed})
    assert len(lines) == 1
    assert lines[0].startswith(expected)
