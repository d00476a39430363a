"""What a rear axle on links does as the truck goes up, down and leans: pinion, driveshaft, shocks, hose; its bars."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from planner.errors import BadInput, Problem
from planner.physics.driveshaft import residual_angle, working_angles
from planner.physics.linkage import (
    AxleLinks,
    AxlePose,
    anti_squat,
    axle_rates,
    bar_swing,
    pose_axle,
    roll_centre,
    side_view_centre,
)
from planner.physics.validation import Array, Flags
from planner.plans.hub_height import hub_heights
from planner.records import Driveshaft, Linkage, Truck

TYPICAL_BUMP: Final = 0.0762  # [m] 3 in, of an axle with neither bag nor a travel of its own (from memory)
TYPICAL_DROOP: Final = 0.1016  # [m] 4 in
FOUR_BARS: Final = {  # invented, for the examples here: upper bars that meet over the axle; the right side is mirrored
    "lower": {"frame": {"x": "28 in", "y": "16 in", "z": "15 in"}, "axle": {"x": "0 in", "y": "20 in", "z": "13 in"}},
    "upper": {"frame": {"x": "21 in", "y": "17 in", "z": "22.5 in"}, "axle": {"x": "-1 in", "y": "4 in", "z": "24 in"}},
}


class Geometry(NamedTuple):
    """The links of a truck as arrays: names of the bars, the bars, the axle's centre above ground [m]."""

    names: tuple[str, ...]
    links: AxleLinks
    hub: float


@dataclass(frozen=True, eq=False)
class AxleMotion:
    """Where the rear axle is, seen from the body, and what that does; every array of shape (...) or as told.

    Attributes
    ----------
    pose : of the axle; `reached` says whether its bars come that far at all
    pinion_up : by which the pinion's nose has turned up against the body since design height [rad]
    joint_angles : at which the driveshaft's joints work, the front one first, (..., joints); None without one [rad]
    residual : angle of the one joint that would run as unevenly as all of them; None without a driveshaft [rad]
    plunge : by which the piece at the pinion is shorter than at design height; None without a driveshaft [m]
    shock_length : left and right, (..., 2); None without shocks [m]
    hose_reach : from fitting to fitting; None without a hose [m]
    swing : of each bar since design height, the greater of its ends, (..., bars) [rad]
    centre : instant centre in side view, ahead of the rear axle and above ground, (..., 2) [m]
    anti_squat : part of what driving puts on the axle that its links carry, at the kerb's mass height [-]
    roll_centre : above ground, at the axle [m]
    roll_steer : turn to the left per turn of the body, left side up [-]
    """

    pose: AxlePose
    pinion_up: Array
    joint_angles: Array | None
    residual: Array | None
    plunge: Array | None
    shock_length: Array | None
    hose_reach: Array | None
    swing: Array
    centre: Array
    anti_squat: Array
    roll_centre: Array
    roll_steer: Array

    @property
    def reached(self) -> Flags:
        """Whether the bars come that far."""
        return self.pose.reached

    @property
    def stretch(self) -> Array:
        """The most that any bar would be stretched or pressed. [m]"""
        most: Array = np.abs(self.pose.stretch).max(axis=-1)
        return most


class BarEffect(NamedTuple):
    """What longer bars do at design height: pinion's nose up, steer to the left [rad], axle forward and left [m].

    reached : whether the axle can stand at design height then
    """

    bars: str
    pinion_up: float
    ahead: float
    left: float
    steer: float
    reached: bool


def linkage_of(truck: Truck) -> Linkage:
    """Return the links of a truck; BadInput where it has none."""
    if truck.rear.linkage is None:
        rule, remedy = "is needed to say where the rear axle goes", "add the table with the ends of the bars"
        raise BadInput([Problem("truck", "rear.linkage", "", rule, remedy)])
    return truck.rear.linkage


@lru_cache(maxsize=32)
def geometry_of(truck: Truck) -> Geometry:
    """Return the links of a truck as arrays, from the axle's centre; BadInput where it has none.

    The axle's centre is as high as the tyres hold it at kerb weight, where the ends of the bars were measured.
    """
    linkage, hub = linkage_of(truck), float(hub_heights(truck)[1, 0])
    ends = np.array(list(linkage.bars.values())) - [0.0, 0.0, hub]
    return Geometry(tuple(linkage.bars), AxleLinks(ends[:, 0], ends[:, 1]), hub)


@lru_cache(maxsize=32)
def link_roll_centre(truck: Truck) -> float:
    """Return the height above ground about which the links let the body roll, at design height. [m]"""
    _, links, hub = geometry_of(truck)
    return hub + float(roll_centre(axle_rates(links, pose_axle(links, 0.0))))


@lru_cache(maxsize=32)
def link_roll_centre_spread(truck: Truck) -> float:
    """Return one standard deviation of that height, every measured place of a bar's end off by the truck's tape. [m]

    A right bar that is the left one in a mirror is off as that one is.
    """
    linkage, (names, links, hub) = linkage_of(truck), geometry_of(truck)
    mirrored = [f"{kind} right" for kind in ("lower", "upper") if getattr(linkage, f"{kind}_right") is None]
    flip = np.array([[1.0, -1.0 if name in mirrored else 1.0, 1.0] for name in names])
    plain, squares = link_roll_centre(truck) - hub, 0.0
    for measured in (name for name in names if name not in mirrored):
        as_it = {measured, measured.replace("left", "right")} & {measured, *mirrored}
        ours = flip * np.array([[name in as_it] for name in names])
        for off in float(truck.instruments.tape_error) * np.eye(3):
            by = ours * off
            for moved in (AxleLinks(links.frame + by, links.axle), AxleLinks(links.frame, links.axle + by)):
                squares += (float(roll_centre(axle_rates(moved, pose_axle(moved, 0.0)))) - plain) ** 2
    return math.sqrt(squares)


def travel_of(truck: Truck) -> tuple[float, float]:
    """Return how far the body may go down to bump, < 0, and up to droop over the axle. [m]

    As the linkage says, else to the ends of the bag's chart, else typical.
    """
    axle, linkage = truck.rear, linkage_of(truck)
    bump, droop = TYPICAL_BUMP, TYPICAL_DROOP
    if axle.bag is not None and axle.bag.whole:
        low, high, fitted = axle.bag.heights[0], axle.bag.heights[-1], float(axle.bag.fitted_height)
        bump, droop = ((fitted - low) / axle.motion_ratio, (high - fitted) / axle.motion_ratio)
    bump = bump if linkage.bump_travel is None else float(linkage.bump_travel)
    return -bump, droop if linkage.droop_travel is None else float(linkage.droop_travel)


def move_axle(truck: Truck, rise: ArrayLike, roll: ArrayLike = 0.0, *, longer: ArrayLike = 0.0) -> AxleMotion:
    """Return where the rear axle goes, and what that does, as the body stands higher over it and rolls.

    Parameters
    ----------
    truck : Truck
        With links at its rear axle.
    rise : array_like, shape (...)
        Of the body over the axle's centre, against design ride height. [m]
    roll : array_like, a shape that broadcasts
        Of the body against the axle, left side up positive. [rad]
    longer : array_like, shape (..., bars) or one that broadcasts
        By how much bars are longer than the truck's file has them. [m]

    Raises
    ------
    BadInput
        If the truck has no links.

    Examples
    --------
    >>> from planner import read_truck
    >>> truck = read_truck("profiles/trucks/ridge-truck.toml")
    >>> truck = truck.replaced(rear=truck.rear.replaced(linkage=FOUR_BARS))
    >>> bool(move_axle(truck, -0.05).pinion_up < 0)  # as it goes down the nose does
    True
    """
    linkage, (_, links, hub) = linkage_of(truck), geometry_of(truck)
    pose = pose_axle(links, rise, roll, longer=longer)
    rates, above = axle_rates(links, pose), np.array([0.0, 0.0, hub])
    shafts = None if linkage.driveshaft is None else _shafts(linkage.driveshaft, pose, above)
    return AxleMotion(
        pose=pose,
        pinion_up=-pose.pitch,
        joint_angles=None if shafts is None else working_angles(shafts[0]),
        residual=None if shafts is None else residual_angle(shafts[0]),
        plunge=None if shafts is None else shafts[1],
        shock_length=None
        if linkage.shock is None
        else np.stack([_reach(ends, pose, above) for ends in (linkage.shock.ends, linkage.shock.mirrored)], axis=-1),
        hose_reach=None if linkage.hose is None else _reach(linkage.hose.ends, pose, above),
        swing=bar_swing(links, pose).max(axis=-1),
        centre=side_view_centre(rates) + np.stack([pose.x, np.full_like(pose.x, hub)], axis=-1),
        anti_squat=anti_squat(rates, hub, truck.mass_height, float(truck.wheelbase)),
        roll_centre=hub + roll_centre(rates),
        roll_steer=rates.by_roll[..., 3],
    )


def bar_effects(truck: Truck, longer: float) -> tuple[BarEffect, ...]:
    """Return what a length more on the lower bars, the upper ones and the track bar does, at design height.

    Parameters
    ----------
    truck : Truck
        With links.
    longer : float
        By which the bars of a pair, or the one bar, are longer. [m]

    Notes
    -----
    The axle is posed anew with the bars as long as they are then: nothing is taken as straight.
    """
    names = geometry_of(truck).names
    groups = _groups(names)
    changes = longer * np.array([[name in group for name in names] for group in groups.values()], float)
    moved = move_axle(truck, np.zeros(len(groups)), longer=changes)
    pose = moved.pose
    found = []
    for n, bars in enumerate(groups):
        up, ahead, left, steer = (float(one[n]) for one in (moved.pinion_up, pose.x, pose.y, pose.yaw))
        found.append(BarEffect(bars, up, ahead, left, steer, bool(pose.reached[n])))
    return tuple(found)


def bars_for(truck: Truck, pinion_up: float, ahead: float) -> dict[str, float]:
    """Return by how much each bar must be longer, < 0 shorter, to turn the pinion and to move the axle, by name. [m]

    Parameters
    ----------
    truck : Truck
        With links.
    pinion_up : float
        By which the pinion's nose is to turn up at design height. [rad]
    ahead : float
        By which the axle is to come forward: the wheelbase is as much shorter. [m]

    Notes
    -----
    Explicit: each bar is as long as its ends are apart once the axle is there, square and on the centre line.

    Examples
    --------
    >>> from planner import read_truck
    >>> truck = read_truck("profiles/trucks/ridge-truck.toml")
    >>> truck = truck.replaced(rear=truck.rear.replaced(linkage=FOUR_BARS))
    >>> {bar: round(1e3 * more, 1) for bar, more in bars_for(truck, 0.02, 0.0).items()}  # a degree, in millimetres
    {'lower left': -1.4, 'lower right': -1.4, 'upper left': 3.5, 'upper right': 3.5}
    """
    names, links, _ = geometry_of(truck)
    pose = pose_axle(links, 0.0)._replace(x=np.asarray(ahead), pitch=np.asarray(-pinion_up))
    lengths = np.linalg.norm(pose.at(links.axle) - links.frame, axis=-1)
    return dict(zip(names, (lengths - links.length).tolist(), strict=True))


def _groups(names: tuple[str, ...]) -> dict[str, tuple[str, ...]]:
    """Return the bars that are changed together, by what they are called together."""
    lower, upper = (tuple(name for name in names if name.startswith(kind)) for kind in ("lower", "upper"))
    found = {"both lower bars": lower, "both upper bars" if len(upper) == 2 else "the upper bar": upper}
    return found | ({"the track bar": ("track bar",)} if "track bar" in names else {})


def _reach(ends: tuple[ArrayLike, ArrayLike], pose: AxlePose, above: Array) -> Array:
    """Return how far a place on the frame is from one on the axle, shape (...). [m]"""
    frame, axle = (np.asarray(end, float) - above for end in ends)
    reach: Array = np.linalg.norm(pose.at(axle) - frame, axis=-1)
    return reach


def _shafts(shaft: Driveshaft, pose: AxlePose, above: Array) -> tuple[Array, Array]:
    """Return the directions of output shaft, pieces and pinion, (..., n, 3), and how much shorter the last piece is."""
    fixed = [np.array(one.at) - above for one in (shaft.front, shaft.carrier) if one is not None]
    pinion = np.array(shaft.pinion.at) - above
    last = pose.at(pinion) - fixed[-1]
    length = np.linalg.norm(last, axis=-1, keepdims=True)
    ahead = [_falling(float(shaft.output_angle))]
    ahead += [(fixed[1] - fixed[0]) / np.linalg.norm(fixed[1] - fixed[0])] if shaft.carrier is not None else []
    turned = pose.turn @ _falling(float(shaft.pinion_angle))
    directions = [*(np.broadcast_to(one, last.shape) for one in ahead), last / length, turned]
    return np.stack(directions, axis=-2), np.linalg.norm(pinion - fixed[-1]) - length[..., 0]


def _falling(angle: float) -> Array:
    """Return the direction of a shaft to the rear that falls by an angle; a pinion's, whose nose is up by it."""
    return np.array([-np.cos(angle), 0.0, -np.sin(angle)])
