"""Profiles, and whether their truck, trailer and hitch belong together."""

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

import pytest

from planner.records import BadInput, Profile, Trailer, Truck, check_together, read_record

Data = dict[str, Any]
Faults = Callable[[type, Data], list[str]]
EARLY, LATE = datetime(2026, 5, 4, 7, 30), datetime(2026, 5, 4, 8, 30)  # as an owner writes them


@pytest.fixture
def rig(profile: Data, truck: Data, trailer: Data) -> tuple[Profile, Truck, Trailer]:
    """A profile with the truck and the trailer it names."""
    return (
        read_record(Profile, profile, "p.toml"),
        read_record(Truck, truck, "t.toml"),
        read_record(Trailer, trailer, "r.toml"),
    )


def told(profile: Profile, truck: Truck, trailer: Trailer | None) -> list[str]:
    """Return what does not fit together."""
    with pytest.raises(BadInput) as caught:
        check_together(profile, truck, trailer, "p.toml")
    return str(caught.value).splitlines()


def test_the_example_of_the_contract_is_read(profile: Data) -> None:
    got = read_record(Profile, profile, "p.toml")
    assert got.stance.rear == 0
    assert got.stance.lean == pytest.approx(0.0127)
    assert got.hitching.stow_lift.text == "1 in"
    assert got.pressures is not None
    assert got.pressures.rear_left is None
    assert got.readings[0].front_left is not None
    assert got.readings[0].front_left.ride_height == pytest.approx(20.1 * 0.0254)


def test_a_gap_may_be_nought(profile: Data) -> None:
    profile["hitching"]["gap"] = "0 in"
    assert read_record(Profile, profile, "p.toml").hitching.gap == 0


def test_more_things_than_are_put_on_a_truck_one_by_one_are_refused(profile: Data, faults: Faults) -> None:
    profile["cargo"] = [{"name": "Slab", "weight": "3 lb", "x": "0 in"}] * 500
    assert len(read_record(Profile, profile, "x.toml").cargo) == 500
    profile["cargo"] *= 2
    (line,) = faults(Profile, profile)
    assert "cargo: must be no more than 500 things, got 1,000: combine things that lie together" in line


def test_readings_come_newest_last(profile: Data) -> None:
    profile["readings"] = [{"at": at, "rear_left": {"pressure": "1 psi"}} for at in (EARLY, EARLY, LATE)]
    assert [reading.at for reading in read_record(Profile, profile, "p.toml").readings] == [EARLY, EARLY, LATE]


def test_a_truck_alone_needs_three_fields() -> None:
    got = Profile(name="Empty", truck="ridge-truck")
    assert (got.left_share, got.cargo, got.pressures, got.readings) == (0.5, (), None, ())
    assert (got.hitching.gap.text, got.hitching.stow_lift) == ("1 in", 0)


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"left_share": 1.2}, "left_share: must be <= 1, got 1.2: "),
        ({"stance": {"lean": "13 in"}}, 'stance.lean: must be <= 12 in, got "13 in": '),
        ({"stance": {"front": "-0.5 m"}}, 'stance.front: must be >= -0.3048 m, got "-0.5 m": '),
        ({"truck": "../ridge"}, 'truck: must be a file name, no folder and no .toml, got "../ridge": '),
        ({"truck": "ridge.toml"}, 'truck: must be a file name, no folder and no .toml, got "ridge.toml": '),
        ({"truck": ".."}, "truck: must be a file name, no folder and no .toml"),
        ({"truck": 5}, "truck: must be text, got 5: "),
        ({"hitching": {"gap": "-1 in"}}, 'hitching.gap: must be >= 0, got "-1 in": '),
        ({"pressures": {"front_lfet": "3 psi"}}, 'pressures.front_lfet: unknown key "front_lfet": did you mean front_'),
        ({"pressures": {"front_left": "-3 psi"}}, 'pressures.front_left: must be >= 0, got "-3 psi": '),
        ({"cargo": [{"name": "a", "weight": "0 lb", "x": "0 in"}]}, 'cargo[0].weight: must be > 0, got "0 lb": '),
        ({"readings": [{"at": LATE}]}, "readings[0]: needs at least one corner, got none: add front_left"),
        (
            {"readings": [{"at": LATE, "rear_left": {}}]},
            "readings[0].rear_left: needs a pressure or a ride_height, got ",
        ),
        ({"readings": [{"at": 5, "rear_left": {"pressure": "1 psi"}}]}, "readings[0].at: must be a date and time, got"),
        (
            {"readings": [{"at": "soon", "rear_left": {"pressure": "1 psi"}}]},
            'readings[0].at: must be a date and time, got "soon',
        ),
        (
            {"readings": [{"at": date(2026, 5, 4), "rear_left": {"pressure": "1 psi"}}]},
            "readings[0].at: must be a date and time, got 2026-05-04: write one such as 2026-05-04T07:30:00",
        ),
        (
            {"readings": [{"at": at, "rear_left": {"pressure": "1 psi"}} for at in (LATE, EARLY)]},
            "readings[1].at: must be in order, oldest first, got 2026-05-04T07:30:00 after 2026-05-04T08:30:00: ",
        ),
        (
            {"readings": [{"at": at, "rear_left": {"pressure": "1 psi"}} for at in (EARLY, LATE.astimezone())]},
            "readings: must all have times written the same way, got some with a UTC offset, some without: ",
        ),
    ],
)
def test_each_fault_is_told_once(profile: Data, faults: Faults, change: Data, expected: str) -> None:
    lines = faults(Profile, profile | change)
    assert len(lines) == 1
    assert lines[0].startswith(expected)


def test_a_trailer_needs_a_hitch(profile: Data, faults: Faults) -> None:
    del profile["hitch"]
    assert faults(Profile, profile) == [
        'hitch: a profile with a trailer needs a hitch, got nothing: add hitch = "receiver"'
    ]


def test_what_belongs_together_passes(rig: tuple[Profile, Truck, Trailer]) -> None:
    profile, truck, trailer = rig
    check_together(profile, truck, trailer)
    check_together(profile.replaced(trailer=None), truck, None)
    check_together(profile.replaced(trailer=None, hitch=None), truck, None)


def test_a_misspelt_hitch_names_the_nearest(rig: tuple[Profile, Truck, Trailer]) -> None:
    profile, truck, trailer = rig
    assert told(profile.replaced(hitch="reciever"), truck, trailer) == [
        'p.toml: hitch: must be a hitch of the truck, got "reciever": did you mean receiver?'
    ]


def test_an_unknown_hitch_names_those_there_are(rig: tuple[Profile, Truck, Trailer]) -> None:
    profile, truck, trailer = rig
    named = profile.replaced(hitch="xyz")
    assert told(named, truck, trailer)[0].endswith('got "xyz": "Ridge truck" has receiver, bed ball')
    assert told(named, truck.replaced(hitches=()), trailer)[0].endswith('add a hitch to "Ridge truck"')


def test_the_coupling_must_match_the_trailers(rig: tuple[Profile, Truck, Trailer]) -> None:
    profile, truck, trailer = rig
    assert told(profile, truck, trailer.replaced(coupling="gooseneck")) == [
        'p.toml: hitch: must be a gooseneck, as "Band mill" needs, got "receiver", a ball: use bed ball'
    ]
    assert told(profile, truck, trailer.replaced(coupling="pintle"))[0].endswith('add a pintle to "Ridge truck"')


def test_the_trailer_is_there_when_it_is_named(rig: tuple[Profile, Truck, Trailer]) -> None:
    profile, truck, trailer = rig
    assert told(profile, truck, None)[0].startswith('p.toml: trailer: must be there, got "band-mill": ')
    lines = told(profile.replaced(trailer=None), truck, trailer)
    assert lines[0].startswith('p.toml: trailer: the profile has none, got "Band mill": ')
    with pytest.raises(BadInput, match='profile "Mill on the hill road": trailer'):
        check_together(profile, truck, None)
