"""The numbers of a load that may be varied: what each is now, what it may be, and a range worth looking at."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final, NamedTuple

from planner.physics.constants import STANDARD_GRAVITY as G
from planner.plans.answer import Kind
from planner.plans.ratings import TONGUE_RANGES
from planner.plans.setup import Setup, rig_of
from planner.records import Hitch, Trailer
from planner.records.trailer import GREATEST_TONGUE_RATIO

HEAVIER: Final = 1.3  # a range of weights ends so far past what is there or rated
BESIDE: Final = 0.04  # [-] a range of tongue ratios goes so far past the usual one
NEAR: Final = 0.1  # [m] a range of rises goes so far up and down
LEANING: Final = 0.05  # [m] and of leans
MANY: Final = 6.0  # a range of cargo goes to so many times of what is there, if the truck may carry it
LIGHT: Final = 200.0  # [kg] a range of weights ends no earlier


class Input(NamedTuple):
    """One number of a load.

    Attributes
    ----------
    key : "weight", "tongue", "left", "bars", "cargo.0.x", "stance.rear", …
    label : what it is, in words
    kind : of which kind
    value : what it is now [SI]
    low, high : a range worth looking at, with the value inside [SI]
    least, greatest : what it may be [SI]
    """

    key: str
    label: str
    kind: Kind
    value: float
    low: float
    high: float
    least: float
    greatest: float


def inputs_of(setup: Setup) -> dict[str, Input]:
    """Return every input of a load by its key, those asked first in front.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> list(inputs_of(setup))
    ['weight', 'tongue', 'bars', 'stance.front', 'stance.rear', 'stance.lean']
    """
    found = [*_of_trailer(setup), *_of_cargo(setup), *_of_stance(setup)]
    return {one.key: one for one in found}


def first_two(setup: Setup) -> tuple[str, str]:
    """Return the two inputs that a map is over if none are asked: trailer weight and tongue, else a load and its place.

    A truck with nothing on or behind it is asked about a load to come.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import Setup
    >>> setup = Setup(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> first_two(setup)
    ('more.weight', 'more.x')
    """
    if setup.trailer is not None:
        return "weight", "tongue"
    if not setup.cargo:
        return "more.weight", "more.x"
    heaviest = max(range(len(setup.cargo)), key=lambda place: setup.cargo[place].weight)
    return f"cargo.{heaviest}.weight", f"cargo.{heaviest}.x"


def _of_trailer(setup: Setup) -> Iterator[Input]:
    """Yield what may be varied of the trailer and its hitch."""
    trailer, hitch = setup.trailer, setup.hitch
    if trailer is None or hitch is None:
        return
    yield _weight("weight", "Trailer weight", trailer.weight, min(float(hitch.trailer_rating), float(trailer.gvwr)))
    yield _tongue(trailer)
    if hitch.roll_coupling > 0:
        yield _range("left", "Left share of the hitch load", "share", setup.left_share, (0.3, 0.7), (0.0, 1.0))
    if hitch.x < 0:
        yield _bars(trailer, hitch)


def _weight(key: str, label: str, value: float, rating: float) -> Input:
    """Return a weight, from nothing to past what it is and what it is rated for."""
    return Input(key, label, "weight", value, 0.0, max(HEAVIER * max(value, rating), LIGHT), 0.0, float("inf"))


def _tongue(trailer: Trailer) -> Input:
    """Return the tongue ratio, a little past the usual range."""
    least, greatest = TONGUE_RANGES[trailer.coupling]
    usual, bounds = (least - BESIDE, greatest + BESIDE), (0.0, GREATEST_TONGUE_RATIO)
    return _range("tongue", "Tongue ratio", "share", trailer.tongue_share, usual, bounds)


def _bars(trailer: Trailer, hitch: Hitch) -> Input:
    """Return what weight-distribution bars put back."""
    assert hitch.x < 0  # the caller asked
    return _range("bars", "Bars put back", "share", trailer.bars, (0.0, 1.0), (0.0, 3.0))


def _of_cargo(setup: Setup) -> Iterator[Input]:
    """Yield weight and place of everything on the truck; of a load to come where there is nothing."""
    wheelbase, half = float(setup.truck.wheelbase), float(setup.truck.rear.track) / 2.0
    spare, same = _spare(setup), Counter(item.name for item in setup.cargo)
    if not setup.cargo and setup.trailer is None:
        yield _weight("more.weight", "A load on the truck", 0.0, spare)
        yield _ahead("more.x", "Its place ahead of the rear axle", 0.0, wheelbase)
    for place, item in enumerate(setup.cargo):
        key = f"cargo.{place}"
        name = item.name if same[item.name] == 1 else f"{item.name} ({place + 1})"
        weight = float(item.weight)
        yield _weight(f"{key}.weight", f"{name}: weight", weight, min(weight + spare, MANY * weight))
        yield _ahead(f"{key}.x", f"{name}: ahead of the rear axle", float(item.x), wheelbase)
        across, anywhere = (-half, half), (-float("inf"), float("inf"))
        yield _range(f"{key}.y", f"{name}: left of centre", "length", float(item.y), across, anywhere)


def _spare(setup: Setup) -> float:
    """Return what the truck may still carry before it is at its GVWR; nothing where it is over. [kg]"""
    on_ground = setup.load(rig_of(setup.truck)).axle.sum()
    return max(float(setup.truck.gvwr) - float(on_ground) / G, 0.0)


def _ahead(key: str, label: str, value: float, wheelbase: float) -> Input:
    """Return a place ahead of the rear axle, from behind it to the front axle."""
    along = (-0.4 * wheelbase, wheelbase)
    return _range(key, label, "length", value, along, (-float("inf"), float("inf")))


def _of_stance(setup: Setup) -> Iterator[Input]:
    """Yield the parts of the wanted stance."""
    front, rear, roll = (float(part) for part in setup.wanted)
    lean = roll * float(setup.truck.rear.track)
    for key, label, value, room in (
        ("front", "Front, wanted above level", front, NEAR),
        ("rear", "Rear, wanted above level", rear, NEAR),
        ("lean", "Left side, wanted above right", lean, LEANING),
    ):
        yield _range(f"stance.{key}", label, "length", value, (-room, room), (-float("inf"), float("inf")))


def _range(
    key: str, label: str, kind: Kind, value: float, usual: tuple[float, float], bounds: tuple[float, float]
) -> Input:
    """Return an input with its usual range, stretched so that the value lies well inside, and cut to what it may be."""
    margin = 0.1 * (usual[1] - usual[0])
    low, high = min(usual[0], value - margin), max(usual[1], value + margin)
    return Input(key, label, kind, value, max(low, bounds[0]), min(high, bounds[1]), *bounds)
