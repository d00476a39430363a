"""The most trailer that a truck levels within every label and every limit of its bags, and what stops a heavier one.

The trailer is one of the same tongue ratio, axle distance and left share; only its weight differs. Loads are linear in
it, but what is asked of a bag is not: its area changes with its height. So nothing is taken as monotone: a grid from
nothing to past the lowest trailer rating is levelled in one batch, and the last change from good to bad on it is
narrowed down in batches. An island of good weights that lies between two of the first grid is not seen.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.errors import Refusal
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.validation import Array, Flags
from planner.plans.answer import Answer, Finding, Kind
from planner.plans.level import level_setup
from planner.plans.ratings import Carried, TrailerLabels, checks
from planner.plans.setup import Setup, rig_of
from planner.plans.stops import NO_RATING, find_stops, stopping

POUND: Final = 0.45359237  # [kg] by which the trailer is heavier that says what stops it
FINE: Final = 0.0005 * POUND  # [kg] to which the most is known: under the slack of the labels on any whole pound or kg
GRID: Final = 65  # weights on the first grid
PAST: Final = 1.002  # the grid ends so far past the lowest rating of a trailer's weight
OWN: Final = frozenset({"trailer-gvwr", "trailer-axle", "trailer-tyre"})  # labels on the trailer itself


class Room(NamedTuple):
    """A label or a limit, and how far it is away.

    code : of the finding it would make
    value, limit : what is there and what may be, SI
    kind : of both
    spare : what is left to the limit, less than nought where it is passed, SI
    """

    code: str
    value: float
    limit: float
    kind: Kind
    spare: float


@dataclass(frozen=True)
class MostTrailer:
    """The most trailer that a truck levels.

    Attributes
    ----------
    weight : the most, of the same tongue ratio and axle distance; 0 where not even the lightest does [kg]
    now : what the trailer weighs [kg]
    stopped_by : what is found one pound past it: labels and limits passed, or a stance that is no longer reached
    """

    weight: float
    now: float
    stopped_by: tuple[Finding, ...]


def find_largest_trailer(setup: Setup, *, own_labels: bool = True) -> MostTrailer:
    """Return the most trailer that a truck levels within every label and limit.

    Parameters
    ----------
    setup
        With a trailer; cargo, stance and hitch stay as they are.
    own_labels
        Whether the labels on the trailer count; without them it is the most of a stronger one of the same kind.

    Returns
    -------
    MostTrailer
        Its weight to a thousandth of a pound. A weight is good if nothing stops it, see `stops`.

    Raises
    ------
    Refusal
        If there is no trailer.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> most = find_largest_trailer(setup)
    >>> round(most.weight), round(most.now), most.stopped_by[0].code
    (4531, 3266, 'trailer-gvwr')
    """
    trailer, hitch = setup.trailer, setup.hitch
    if trailer is None or hitch is None:
        raise Refusal("the largest trailer needs a trailer to start from", "none", "choose one")
    ratings = [float(hitch.trailer_rating), *([float(trailer.gvwr)] if own_labels else [])]
    rig, own = rig_of(setup.truck), TrailerLabels.of([trailer])

    def stopped(weight: Array, _: NDArray[np.intp]) -> Flags:
        labels = None if own_labels else own.stronger(weight)
        return find_stops(setup, rig, {"weight": weight}, weight.shape, labels=labels).stopped

    low = float(find_last_good(stopped, np.array([PAST * min(ratings)]))[0])
    before = {one.code for one in _stops(setup, low, own_labels)} if low > 0 else set()
    stops = tuple(one for one in _stops(setup, low + POUND, own_labels) if one.code not in before)
    return MostTrailer(low, trailer.weight, stops)


def find_last_good(
    stopped: Callable[[Array, NDArray[np.intp]], Flags], high: Array, *, fine: float = FINE, at_once: int = GRID
) -> Array:
    """Return the greatest weight of each case that nothing stops, 0 where all are stopped, shape (n,). [kg]

    Parameters
    ----------
    stopped : callable
        Tells which weights [kg], shape (k, m), are stopped of m cases, whose numbers it is given.
    high : array, shape (n,)
        Where the first grid ends. [kg]
    fine : float
        To which it is known. [kg]
    at_once : int
        Weights of the grid that are tried together, from its top: few cost many calls, many are tried in vain.

    Examples
    --------
    >>> limit = np.array([300.0, 700.0])
    >>> find_last_good(lambda weight, cases: weight > limit[cases], np.array([1000.0, 1000.0]), fine=1e-6).round(3)
    array([300., 700.])
    """
    low, over = np.zeros(len(high)), high.astype(float)

    def tried(weights: Array, cases: NDArray[np.intp]) -> Flags:
        """Move both ends to weights that rise, shape (k, m); tell of which cases any is good."""
        ends, good, each = np.vstack([weights, over[cases]]), ~stopped(weights, cases), np.arange(len(cases))
        any_good: Flags = np.asarray(good.any(axis=0))
        last = len(weights) - 1 - good[::-1].argmax(axis=0)
        low[cases[any_good]] = ends[last, each][any_good]
        over[cases] = ends[np.where(any_good, last + 1, 0), each]
        return any_good

    cases, found, grid = np.arange(len(high)), np.zeros(len(high), bool), np.linspace(0.0, 1.0, GRID)
    for end in range(GRID, 0, -at_once):
        if len(cases):
            found[cases] = tried(np.outer(grid[max(end - at_once, 0) : end], high[cases]), cases)
            cases = cases[~found[cases]]
    between = max(at_once // 2, 1)
    parts = np.arange(1, between + 1)[:, None] / (between + 1)
    while len(cases := np.flatnonzero(found & (over - low > fine))):
        tried(low[cases] + parts * (over - low)[cases], cases)
    return low


def of_weight(setup: Setup, weight: float) -> Setup:
    """Return the setup with a trailer of another weight [kg] and the same tongue ratio, axle distance, left share."""
    trailer = setup.trailer
    assert trailer is not None  # the caller has one
    changed = trailer.replaced(
        gross_weight=f"{weight:.9f} kg",
        tongue_ratio=trailer.tongue_share,
        left_share=trailer.side_share,
        deck=(),
    )
    return replace(setup, trailer=changed)


def find_headroom(setup: Setup, answer: Answer) -> tuple[Room, ...]:
    """Return every label and limit that would say stop, and how far away it is; the nearest in its measure first.

    Examples
    --------
    >>> from planner import level, read_trailer, read_truck
    >>> truck, mill = read_truck("profiles/trucks/ridge-truck.toml"), read_trailer("profiles/trailers/band-mill.toml")
    >>> answer = level(truck, trailer=mill, hitch="receiver")
    >>> [room.code for room in find_headroom(answer.setup, answer)][:2]  # the nearest first
    ['trailer-gvwr', 'tongue-rating']
    """
    trailer = setup.trailer
    carried = Carried(
        answer.axle_load,
        answer.tyre_load,
        answer.pressure,
        answer.bag_height,
        answer.bag_load,
        np.asarray(trailer.weight * G if trailer else 0.0),
        np.asarray(trailer.tongue_share if trailer else 0.0),
        np.asarray(answer.trailer_axle_load),
    )
    rooms = [
        Room(
            check.code,
            float(check.value),
            check.limit,
            check.kind,
            (check.limit - float(check.value)) * (-1.0 if check.rule == "pressure-low" else 1.0),
        )
        for check in checks(setup, carried)
        if check.level == "stop" and check.limit > 0 and check.rule not in NO_RATING
    ]
    return tuple(sorted(rooms, key=lambda room: room.spare / room.limit))


def _stops(setup: Setup, weight: float, own_labels: bool) -> tuple[Finding, ...]:
    """Return what is in the way of a trailer of some weight, or of one that is strong enough, worst first. [kg]"""
    changed = of_weight(setup, weight)
    if not own_labels and changed.trailer is not None:
        enough = f"{weight:.9f} kg"
        stronger = changed.trailer.replaced(gvwr=enough, axle_rating=enough, tyre_load_rating=None)
        changed = replace(changed, trailer=stronger)
    return stopping(setup, level_setup(changed).findings)
