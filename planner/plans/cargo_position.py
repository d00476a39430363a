"""What if one thing on the truck lay somewhere else: where it makes the truck sit level with even pressures.

Closed form by moments. A truck that is level has even pressures left and right on an axle if that axle carries no side
moment. With two lines to each axle the split of the side moment is the one that twists the frame least (see
`physics.statics.point_load`), so each axle asks its own: an item of weight w at a share s of the wheelbase and y left
of centre puts w y s on the front axle and w y (1 - s) on the rear one. Where a line joins two bags, or an axle has
none, the axles share the side moment as they come, and it is enough that it is nothing in all.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np

from planner.errors import Refusal
from planner.physics import levelling
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.statics import Load, point_load
from planner.physics.truck_model import Rig
from planner.physics.validation import Array
from planner.plans.setup import Setup, rig_of
from planner.plans.trailer_deck import place_of
from planner.records import BedLimits, PlacedCargo

AT_IT: float = 1e-4  # [m] less than this from its place is at it: far below any tape
HITCH_ROOM: float = 0.3  # [m] about a hitch in the bed with a trailer on it, where nothing is put: from memory
NOTHING: float = 1e-6  # [N·m] a side moment below is rounding

Why = Literal["", "off the bed", "opposite sides", "on the hitch"]
Point = tuple[float, float]


@dataclass(frozen=True)
class EvenMove:
    """Where one item on the truck makes its pressures even left and right, or as even as this item can.

    Attributes
    ----------
    item, place : its name, and which of the cargo it is
    x, y : where to put it, ahead of the rear axle and left of the centre line; in the bed, or where it lies [m]
    ahead, left : how far that is from where it lies [m]
    possible : whether it then sits even
    why_not : what is in the way: it would have to be off the bed, or where the trailer hangs on a hitch in it; or the
        axles are heavier on opposite sides
    wanted : how far left of the centre line it would have to be, were the bed endless; nan where no place does it [m]
    uneven : pressure left less right of each axle once it lies there, nan where an axle has no bags [Pa]
    lean : left side above right side against level once it lies there, over the rear track [m]
    across : how far left of the centre line it is best, off the hitch, where it stays as far ahead as it is [m]
    uneven_across : the same pressures once it lies there [Pa]
    """

    item: str
    place: int
    x: float
    y: float
    ahead: float
    left: float
    possible: bool
    why_not: Why
    wanted: float
    uneven: tuple[float, float]
    lean: float
    across: float
    uneven_across: tuple[float, float]

    @property
    def far(self) -> float:
        """How far it is moved. [m]"""
        return float(np.hypot(self.ahead, self.left))

    @property
    def there(self) -> bool:
        """Whether it lies there already."""
        return self.far < AT_IT


def even_move(setup: Setup, item: str | int) -> EvenMove:
    """Return where to put one item on the truck, so that it sits level with even pressures left and right.

    Parameters
    ----------
    setup
        With cargo on the truck.
    item
        Its name, or its place among the cargo from 0.

    Raises
    ------
    Refusal
        If there is no such item or several of that name, or a lean is wanted: then even pressures are not.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-on-the-hill-road")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> move = even_move(setup, 0)
    >>> move.item, round(move.ahead, 2), round(move.left, 2), move.possible
    ('Fuel drum', 0.9, -0.5, False)
    """
    return even_moves(setup)[_place(setup, item)]


def best_move(moves: Iterable[EvenMove]) -> EvenMove | None:
    """Return the least move that makes the pressures even; None where no item does it alone."""
    return min((move for move in moves if move.possible), key=lambda move: move.far, default=None)


def even_moves(setup: Setup) -> tuple[EvenMove, ...]:
    """Return the same for every item on the truck, in the order of the cargo; see :func:`even_move`."""
    if setup.stance.lean:
        rule = "the lean wanted must be 0 m for even pressures"
        raise Refusal(rule, f"{setup.stance.lean:g} m", "set the stance to level")
    rig = rig_of(setup.truck)
    load = setup.load(rig)
    if not setup.cargo:
        return ()
    weight, x, y = np.array([[item.weight, item.x, item.y] for item in setup.cargo], float).T
    own, bed = point_load(weight * G, x, y, rig.wheelbase), setup.truck.bed_limits
    others, front = load.side_moment - own.side_moment, load.least_twist - own.least_twist
    rest = zip(setup.cargo, others.tolist(), front.tolist(), strict=True)
    found = [_off_hitch(setup, item, _where(bed, rig, item, *one)) for item, *one in rest]
    uneven, lean = _then(setup, rig, load, np.array([(one.x, one.y) for one in found]))
    at_its_place = np.array([(float(item.x), one.across) for item, one in zip(setup.cargo, found, strict=True)])
    across, _ = _then(setup, rig, load, at_its_place)
    return tuple(
        EvenMove(
            item=item.name,
            place=place,
            x=where.x,
            y=where.y,
            ahead=where.x - float(item.x),
            left=where.y - float(item.y),
            possible=not where.why_not,
            why_not=where.why_not,
            wanted=where.wanted,
            uneven=(float(uneven[place, 0]), float(uneven[place, 1])),
            lean=float(lean[place]),
            across=where.across,
            uneven_across=(float(across[place, 0]), float(across[place, 1])),
        )
        for place, (item, where) in enumerate(zip(setup.cargo, found, strict=True))
    )


class _Where(NamedTuple):
    """The best place of an item on the truck, what is in the way of a better one, and the best one straight across."""

    x: float
    y: float
    why_not: Why
    wanted: float
    across: float


def _where(bed: BedLimits, rig: Rig, item: PlacedCargo, others: float, front: float) -> _Where:
    """Return where in the bed an item leaves the least side moment on the axles; where it lies if that is even.

    others, front : side moment of all else, and its front axle's part at the least twist [N·m]
    """
    weight, x, y, length = float(item.weight) * G, float(item.x), float(item.y), float(rig.wheelbase)
    most, in_bed = weight * bed.width / 2.0, bed.rear <= x <= bed.front
    nearest_x = min(max(x, bed.rear), bed.front)
    if not _split_is_free(rig):
        if abs(weight * y + others) < NOTHING:
            return _Where(x, y, "", y, y)
        moment = min(max(-others, -most), most)
        why: Why = "" if abs(moment + others) < NOTHING else "off the bed"
        return _Where(nearest_x, moment / weight, why, -others / weight, moment / weight if in_bed else y)
    wanted, share = (-front, front - others), _share(x, length)
    across = (wanted[0] * share + wanted[1] * (1.0 - share)) / (share**2 + (1.0 - share) ** 2)
    best_across = min(max(across, -most), most) / weight if in_bed else y
    lies = (weight * y * share, weight * y * (1.0 - share))
    if math.dist(lies, wanted) < NOTHING:
        return _Where(x, y, "", y, y)
    ends = _share(bed.rear, length), _share(bed.front, length)
    on_front, on_rear = _nearest(wanted, most, ends)
    moment = on_front + on_rear
    along = _along(nearest_x, length, on_front / moment) if abs(moment) > NOTHING else nearest_x
    why, would_be = _why_not(wanted, (on_front, on_rear))
    return _Where(min(max(along, bed.rear), bed.front), moment / weight + 0.0, why, would_be / weight, best_across)


def _off_hitch(setup: Setup, item: PlacedCargo, where: _Where) -> _Where:
    """Return the best place of an item, refused where the trailer hangs on its hitch; where it lies it may stay.

    Straight across it goes to the nearest place beside the hitch.
    """
    hitch, (x, y) = setup.hitch, (float(item.x), float(item.y))
    if setup.trailer is None or hitch is None:
        return where
    there = (float(hitch.x), float(hitch.y))
    if math.dist((x, where.across), there) < HITCH_ROOM and abs(where.across - y) >= AT_IT:
        beside, side = math.sqrt(HITCH_ROOM**2 - (x - there[0]) ** 2), setup.truck.bed_limits.width / 2.0
        free = [y, *(one for one in (there[1] - beside, there[1] + beside) if abs(one) <= side)]
        where = where._replace(across=min(free, key=lambda one: abs(one - where.across)))
    if where.why_not or math.dist((x, y), (where.x, where.y)) < AT_IT:
        return where
    near = math.dist((where.x, where.y), there) < HITCH_ROOM
    return where._replace(why_not="on the hitch") if near else where


def _why_not(wanted: Point, there: Point) -> tuple[Why, float]:
    """Return what keeps an item from the side moments wanted, and what they would be in all were the bed endless."""
    if math.dist(there, wanted) < NOTHING:
        return "", sum(there)
    if min(wanted) < -NOTHING and max(wanted) > NOTHING:
        return "opposite sides", np.nan
    return "off the bed", sum(wanted)


def _share(x: float, wheelbase: float) -> float:
    """Return the front axle's part of a side moment at a place along the truck. [-]"""
    return min(max(x / wheelbase, 0.0), 1.0)


def _split_is_free(rig: Rig) -> bool:
    """Tell whether all four bags have a line each, so that the split of the side moment is ours."""
    return all(rig.has_bag) and not any(rig.joined)


def _along(x: float, wheelbase: float, share: float) -> float:
    """Return the place along the truck that gives the front axle a share, the nearest to where the item lies."""
    if share <= 0.0:
        return min(x, 0.0)
    return max(x, wheelbase) if share >= 1.0 else share * wheelbase


def _nearest(wanted: Point, most: float, ends: Point) -> Point:
    """Return the side moments on front and rear axle that one item in the bed gives, nearest to those wanted. [N·m]

    most : its weight at the side of the bed [N·m]
    ends : the front axle's part of a side moment at the rear and the front end of the bed [-]

    All that it can give on one side is a triangle, from nought to its weight at either corner of the bed.
    """
    p, q = wanted
    tips = [(most * share, most * (1.0 - share)) for share in ends]
    ahead, other_side = _in_triangle((p, q), *tips), _in_triangle((-p, -q), *tips)
    return min(ahead, (-other_side[0], -other_side[1]), key=lambda one: math.dist(one, wanted))


def _in_triangle(point: Point, one: Point, other: Point) -> Point:
    """Return the point of the triangle of nought and two tips that is nearest to a point.

    In plain numbers: for each of hundreds of items on a truck, arrays of two take twenty times as long.
    """
    (p, q), (a, b), (c, d) = point, one, other
    if (area := a * d - b * c) != 0.0:
        parts = (p * d - q * c) / area, (q * a - p * b) / area
        if min(parts) >= 0.0 and sum(parts) <= 1.0:
            return point
    nought = (0.0, 0.0)
    on_edges = (_on_edge(point, *edge) for edge in ((nought, other), (one, nought), (other, one)))
    return min(on_edges, key=lambda there: math.dist(there, point))


def _on_edge(point: Point, begin: Point, end: Point) -> Point:
    """Return the point between two others that is nearest to a point."""
    u, v = end[0] - begin[0], end[1] - begin[1]
    square = u * u + v * v
    part = ((point[0] - begin[0]) * u + (point[1] - begin[1]) * v) / square if square > 0.0 else 0.0
    part = min(max(part, 0.0), 1.0)
    return begin[0] + part * u, begin[1] + part * v


def _then(setup: Setup, rig: Rig, load: Load, there: Array) -> tuple[Array, Array]:
    """Return what is left uneven with each item in its new place: pressures left less right, and the lean.

    Shapes (items, 2) [Pa] and (items,) [m over the rear track].
    """
    weight, x, y = np.array([[item.weight, item.x, item.y] for item in setup.cargo], float).T
    moved = (
        load
        + point_load(-weight * G, x, y, rig.wheelbase)
        + point_load(weight * G, there[:, 0], there[:, 1], rig.wheelbase)
    )
    levelled = levelling.level(rig, moved, setup.wanted)
    uneven = np.where(rig.has_bag, levelled.pressure[..., 0] - levelled.pressure[..., 1], np.nan)
    return uneven, levelled.state[..., 2] * float(setup.truck.rear.track)


def _place(setup: Setup, item: str | int) -> int:
    """Return the place of an item among the cargo."""
    if not setup.cargo:
        raise Refusal("something must lie on the truck", "no cargo", "add cargo first, then move one item of it")
    return place_of([one.name for one in setup.cargo], item, "move", "on the truck")
