"""The profile: a truck, a trailer, what rides on the truck, and the pressures saved for it."""

from collections.abc import Iterator
from itertools import pairwise
from typing import Annotated, Final

from pydantic import BeforeValidator, Field

from planner.errors import BadInput, Problem
from planner.records.base import Broken, Record, rule
from planner.records.field_paths import dotted, nearest
from planner.records.fields import (
    InsteadOf,
    Length,
    Moment,
    Name,
    Needed,
    Place,
    Pressure,
    Share,
    Step,
    Weight,
    default,
    name_text,
    too_many,
)
from planner.records.file_header import Filed
from planner.records.places import Aboard, misplaced, no_place
from planner.records.reading import Reading
from planner.records.trailer import Trailer
from planner.records.truck import Truck
from planner.units.quantity import Metre, Refusal, shown


def _file_name(value: object) -> str:
    """Read the name of a file in the profiles folder: no path, no ending."""
    name = name_text(value)
    if name.startswith(".") or any(mark in name for mark in '/\\:*?"<>|') or name.endswith(".toml"):
        raise Refusal("must be a file name, no folder and no .toml", shown(value), 'write one such as "ridge-truck"')
    return name


FileName = Annotated[str, BeforeValidator(_file_name)]
QUARTER_INCH: Final = Step(0.25, 5.0)
# 12 in: past it no bag reaches and angles are not small
Rise = Annotated[Metre, Field(ge=-0.3048, le=0.3048), QUARTER_INCH]
Lift = Annotated[Metre, Field(ge=0, le=0.5), QUARTER_INCH]


class Stance(Record):
    """How the truck is to stand, against level; nought is level."""

    # rise of the body at the front axle line
    front: Annotated[Rise, Field(title="Front, above level")] = default("0 in", "length")
    rear: Annotated[Rise, Field(title="Rear, above level")] = default("0 in", "length")
    # over the rear track
    lean: Annotated[Rise, Field(title="Left side above right side")] = default("0 in", "length")


class Cargo(Record):
    """Something on the truck that is not in its kerb weight."""

    name: Annotated[Name, Field(title="Name")]
    weight: Annotated[Weight, Field(title="Weight"), Step(50.0, 25.0)]
    at: Annotated[Name | None, Field(title="Lies at"), InsteadOf(("x", "y"))] = None  # a place of the truck by its name
    x: Annotated[Place | None, Field(title="Ahead of rear axle"), Needed(), Step(2.0, 50.0)] = None
    y: Annotated[Place | None, Field(title="Left of centre")] = None  # left out: on the centre line
    # left out: as high as that of the place, or as the truck's own
    z: Annotated[Length | None, Field(title="Middle above ground")] = None

    @rule
    def _lies_in_one_place(self) -> Iterator[Broken]:
        """Require one way to say where it is."""
        if self.at is None:
            if self.x is None:
                remedy = 'add x = "12 in", ahead of the rear axle, or at = "passenger"'
                yield ("x",), Refusal("cargo needs x, or at with the name of a place", "neither", remedy)
        elif given := [name for name in ("x", "y") if getattr(self, name) is not None]:
            why = "cargo is at a named place, or at x and y, not both"
            yield ("at",), Refusal(why, f"at and {' and '.join(given)}", "take at out, or x and y")


class Hitching(Record):
    """How the trailer is hooked on."""

    # ball top to coupler
    gap: Annotated[Lift, Field(title="Gap between hitch and coupler when backing under")] = default("1 in", "length")
    stow_lift: Annotated[Lift, Field(title="Lift above the parked height, to fold the jack")] = default(
        "0 in", "length"
    )


class Pressures(Record):
    """What is set in the bags; a corner without a bag is left out."""

    front_left: Pressure | None = None
    front_right: Pressure | None = None
    rear_left: Pressure | None = None
    rear_right: Pressure | None = None


class Trimmed(Record):
    """Pressures that gauge and tape asked for, and what levelling said then: while it says the same, they suit."""

    at: Moment
    pressures: Pressures
    planned: Pressures


class Profile(Filed):
    """One loaded rig, saved under a name."""

    truck: FileName
    trailer: FileName | None = None
    hitch: Name | None = None
    # of the hitch load, on the truck
    left_share: Annotated[Share, Field(title="Left share of hitch and bed load"), Step(1.0, 1.0)] = 0.5
    stance: Stance = Field(default_factory=Stance)
    aboard: tuple[Aboard, ...] = ()  # who is at which place; a place not named is as it was weighed
    cargo: tuple[Cargo, ...] = ()
    hitching: Hitching = Field(default_factory=Hitching)
    pressures: Pressures | None = None  # until something is saved
    readings: tuple[Reading, ...] = ()  # newest last
    trimmed: Trimmed | None = None  # of no meaning any more once other pressures are saved

    @rule
    def _trailer_needs_a_hitch(self) -> Iterator[Broken]:
        """Require a hitch for a trailer."""
        if self.trailer is not None and self.hitch is None:
            yield ("hitch",), Refusal("a profile with a trailer needs a hitch", "nothing", 'add hitch = "receiver"')

    @rule
    def _cargo_is_no_more_than_is_put_there(self) -> Iterator[Broken]:
        """Require no more things than are put on a truck one by one."""
        yield from ((("cargo",), refusal) for refusal in too_many(self.cargo))

    @rule
    def _readings_are_in_order(self) -> Iterator[Broken]:
        """Require the newest last, so that the last one is the one to trim by."""
        if len({reading.at.tzinfo is None for reading in self.readings}) > 1:
            why = "give every reading a UTC offset, or none"
            yield (
                ("readings",),
                Refusal("must all have times written the same way", "some with a UTC offset, some without", why),
            )
            return
        for i, (one, next_one) in enumerate(pairwise(self.readings), start=1):
            if next_one.at < one.at:
                got = f"{next_one.at.isoformat()} after {one.at.isoformat()}"
                yield (
                    ("readings", i, "at"),
                    Refusal("must be in order, oldest first", got, "put the newest reading last"),
                )


def check_together(profile: Profile, truck: Truck, trailer: Trailer | None, file: str | None = None) -> None:
    """Check that a profile's truck, trailer, hitch and places belong together.

    Parameters
    ----------
    profile, truck, trailer
        The profile, and the truck and trailer it names; None when it names no trailer.
    file
        What to call the profile in messages; its name when left out.

    Raises
    ------
    BadInput
        With all that does not fit.

    """
    called = file or f'profile "{profile.name}"'
    refusals = [
        *_trailer_as_named(profile, trailer),
        *_hitch_fits(profile, truck, trailer),
        *_places_are_there(profile, truck),
        *_pressures_fit(profile, truck),
    ]
    if refusals:
        raise BadInput(Problem(called, field, one.got, one.rule, one.remedy) for field, one in refusals)


def _trailer_as_named(profile: Profile, trailer: Trailer | None) -> Iterator[tuple[str, Refusal]]:
    """Yield what is wrong between the trailer that is named and the one that came."""
    if trailer is None and profile.trailer is not None:
        yield "trailer", Refusal("must be there", shown(profile.trailer), "add its file, or leave trailer out")
    if trailer is not None and profile.trailer is None:
        yield (
            "trailer",
            Refusal("the profile has none", shown(trailer.name), "name it in the profile, or leave it out"),
        )


def _hitch_fits(profile: Profile, truck: Truck, trailer: Trailer | None) -> Iterator[tuple[str, Refusal]]:
    """Yield what is wrong between profile, hitch and trailer."""
    if profile.hitch is None or profile.trailer is None:
        return
    names = [hitch.name for hitch in truck.hitches]
    if profile.hitch not in names:
        near = nearest(profile.hitch, names)
        has = f"{shown(truck.name)} has {', '.join(names)}" if names else f"add a hitch to {shown(truck.name)}"
        yield (
            "hitch",
            Refusal("must be a hitch of the truck", shown(profile.hitch), f"did you mean {near}?" if near else has),
        )
    elif trailer is not None and truck.hitch(profile.hitch).coupling != trailer.coupling:
        fitting = [hitch.name for hitch in truck.hitches if hitch.coupling == trailer.coupling]
        remedy = f"use {' or '.join(fitting)}" if fitting else f"add a {trailer.coupling} to {shown(truck.name)}"
        why = f"must be a {trailer.coupling}, as {shown(trailer.name)} needs"
        yield "hitch", Refusal(why, f"{shown(profile.hitch)}, a {truck.hitch(profile.hitch).coupling}", remedy)
    elif trailer is not None and trailer.bars > 0 and truck.hitch(profile.hitch).x >= 0:
        why = "must be behind the rear axle (x < 0) for weight-distribution bars"
        yield "hitch", Refusal(why, shown(profile.hitch), f"set bars = 0 in {shown(trailer.name)}, or use a receiver")


def _places_are_there(profile: Profile, truck: Truck) -> Iterator[tuple[str, Refusal]]:
    """Yield what is wrong between the places that the profile names and those of the truck."""
    if not profile.aboard and all(item.at is None for item in profile.cargo):
        return
    places = truck.every_place
    for i, item in enumerate(profile.cargo):
        if item.at is not None and (refusal := no_place(item.at, places, truck.name)):
            yield f"cargo[{i}].at", refusal
    for loc, refusal in misplaced(profile.aboard, places, truck.name):
        yield dotted(("aboard", *loc)), refusal


def _pressures_fit(profile: Profile, truck: Truck) -> Iterator[tuple[str, Refusal]]:
    """Yield what is wrong between the pressures saved and the bags of the truck."""
    if profile.pressures is None:
        return
    for axle_name, axle in (("front", truck.front), ("rear", truck.rear)):
        corners = [f"{axle_name}_left", f"{axle_name}_right"]
        given = {c: p for c in corners if (p := getattr(profile.pressures, c)) is not None}
        if axle.bag is None:
            for corner, pressure in given.items():
                why = f"the {axle_name} axle of {shown(truck.name)} has no bag"
                yield f"pressures.{corner}", Refusal(why, f'"{pressure.text}"', "take it out")
        elif axle.plumbing == "joined" and len(set(given.values())) > 1:
            got = " and ".join(f'"{pressure.text}"' for pressure in given.values())
            why = "must be the same: both bags share one line"
            yield f"pressures.{corners[0]}", Refusal(why, got, "give both the same pressure")
