"""Places on the truck where people and goods ride, who and what is at them, and the bed.

Where a truck lists none, they are typical: in proportion to wheelbase and track, for a pickup with the driver on the
left. All proportions are from memory of such trucks, no standard gives them; an owner's own numbers replace them.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Annotated, Final

from pydantic import Field

from planner.errors import UnknownName
from planner.records.base import Broken, Record, rule
from planner.records.field_paths import nearest
from planner.records.fields import Length, Name, Place, Share, Weight, default
from planner.units.quantity import Kilogram, Refusal, quantity, read, shown

# Name: ahead of the rear axle in wheelbases, left of the centre line in front tracks, weight when full.
TYPICAL_PLACES: Final[dict[str, tuple[float, float, str | None]]] = {
    "driver": (0.60, 0.22, None),
    "passenger": (0.60, -0.22, None),
    "rear bench": (0.38, 0.0, None),
    "fuel tank": (0.33, 0.15, "96 kg"),  # 34 US gal of petrol, 0.745 kg/L
    "tool box": (0.26, 0.0, None),  # across the front of the bed
}
BED_FRONT: Final = 0.30  # of the wheelbase, ahead of the rear axle
BED_REAR: Final = -0.29  # of the wheelbase
BED_WIDTH: Final = 0.95  # of the rear track, between the sides


class NamedPlace(Record):
    """A place on the truck by its name: a seat, a tank, a box."""

    name: Name
    x: Place  # ahead of the rear axle
    y: Place = default("0 in", "length")  # left of the centre line
    z: Length | None = None  # middle of what is there, above ground; left out: as high as the truck's own middle
    full: Weight | None = None  # what is there when it is full, such as a tank's fuel; a share needs it


class Aboard(Record):
    """Who or what is at a place of the truck: a weight, or a share of what the place holds when full."""

    place: Name
    weight: Annotated[Kilogram, Field(ge=0, le=100_000)] | None = None  # nought: nobody
    share: Share | None = None

    @rule
    def _weight_or_share(self) -> Iterator[Broken]:
        """Require one way to say how much."""
        if self.weight is None and self.share is None:
            remedy = 'add weight = "180 lb", or share = 0.5 of what is there when full'
            yield ("weight",), Refusal("needs weight or share", "neither", remedy)
        elif self.weight is not None and self.share is not None:
            yield ("weight",), Refusal("takes weight or share, not both", "both", "take one of them out")


class Bed(Record):
    """The bed of a truck: where cargo may lie, and what a trailer's neck or overhang passes over."""

    front: Place | None = None  # ahead of the rear axle
    rear: Place | None = None  # of the bed, ahead of the rear axle; < 0
    end: Place | None = None  # the same, as it was called before
    width: Annotated[Length, Field(le=4)] | None = None  # between the sides
    rail_height: Length | None = None  # top of rail or box above ground, at kerb weight, level, at the bed's rear

    @rule
    def _rear_is_given_once(self) -> Iterator[Broken]:
        """Require one name for the rear end."""
        if self.rear is not None and self.end is not None:
            yield ("end",), Refusal("means the same as rear", f'"{self.end.text}" beside it', "take end out")


@dataclass(frozen=True)
class BedLimits:
    """Where the bed lies: its ends ahead of the rear axle and its width [m], and whether any of them is typical."""

    front: float
    rear: float
    width: float
    typical: bool


def kerb_aboard() -> tuple[Aboard, ...]:
    """Return who was aboard at the weighing where the truck does not say: a driver and a full tank, as a kerb is meant.

    The driver's 75 kg are those of Regulation (EU) No 1230/2012, mass in running order (from memory).
    """
    return (
        Aboard(place="driver", weight=read("75 kg", "weight")),
        Aboard(place="fuel tank", share=1.0),
    )


def bed_limits(bed: Bed | None, wheelbase: float, rear_track: float) -> BedLimits:
    """Return where the bed lies: as given, else typical of wheelbase and track [m]."""
    bed = bed or Bed()
    rear = bed.end if bed.rear is None else bed.rear
    given = (bed.front, rear, bed.width)
    usual = (BED_FRONT * wheelbase, BED_REAR * wheelbase, BED_WIDTH * rear_track)
    front, back, width = (typical if own is None else float(own) for own, typical in zip(given, usual, strict=True))
    return BedLimits(front, back, width, None in given)


@lru_cache(maxsize=64)
def every_place(own: tuple[NamedPlace, ...], wheelbase: float, front_track: float) -> tuple[NamedPlace, ...]:
    """Return the truck's own places, then the typical ones of other names; what they hold is typical if left out."""
    named = {one.name for one in own}
    filled = [
        one.replaced(full=TYPICAL_PLACES[one.name][2])
        if one.full is None and TYPICAL_PLACES.get(one.name, (0, 0, None))[2]
        else one
        for one in own
    ]
    typical = [
        NamedPlace(
            name=name,
            x=quantity(round(ahead * wheelbase, 3), "m", "length"),
            y=quantity(round(left * front_track, 3), "m", "length"),
            full=full,
        )
        for name, (ahead, left, full) in TYPICAL_PLACES.items()
        if name not in named
    ]
    return (*filled, *typical)


def no_place(name: str, places: Sequence[NamedPlace], truck: str) -> Refusal | None:
    """Return what is wrong with the name of a place, if anything."""
    names = [one.name for one in places]
    if name in names:
        return None
    near = nearest(name, names)
    remedy = f"did you mean {near}?" if near else f"{shown(truck)} has {', '.join(names)}"
    return Refusal("must be a place of the truck", shown(name), remedy)


def misplaced(aboard: Sequence[Aboard], places: Sequence[NamedPlace], truck: str) -> Iterator[Broken]:
    """Yield what is wrong between who is aboard and the truck's places, by position and field."""
    by_name = {one.name: one for one in places}
    seen: set[str] = set()
    for i, one in enumerate(aboard):
        if refusal := no_place(one.place, places, truck):
            yield (i, "place"), refusal
            continue
        if one.place in seen:
            yield (
                (i, "place"),
                Refusal("each place is named once", f"{shown(one.place)} again", "add the weights together"),
            )
        seen.add(one.place)
        if one.share is not None and by_name[one.place].full is None:
            why = f"a share needs to know what {shown(one.place)} holds when full"
            remedy = f'give weight, or add full = "200 lb" to that place of {shown(truck)}'
            yield (i, "share"), Refusal(why, f"{one.share:g}", remedy)


def weights_at(aboard: Sequence[Aboard], places: Sequence[NamedPlace]) -> dict[str, float]:
    """Return the weight at each place that is named, shares resolved [kg]; UnknownName where there is no such place."""
    full = {one.name: one.full for one in places}
    if strange := [one.place for one in aboard if one.place not in full]:
        raise UnknownName("place", strange[0], full)
    return {
        one.place: float(one.weight) if one.weight is not None else (one.share or 0.0) * float(full[one.place] or 0.0)
        for one in aboard
    }
