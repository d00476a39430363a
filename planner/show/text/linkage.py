"""Where the rear axle goes on its links, in plain lines: what turns, what shifts, what is left; and what bars do."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Final

import numpy as np

from planner.plans.linkage import AxleMotion, BarEffect
from planner.records import Truck
from planner.show.text.numbers import say
from planner.units.quantity import System

SMALL: Final = 5e-5  # [m] of a shift, and rad of a turn: written as none
FAR: Final = 60.0  # [m] an instant centre that far ahead is as good as none
ONE_MORE: Final = {"us": 0.0254, "metric": 0.010}  # [m] by which a bar is made longer to see what it does
CAUTIONS: Final = (
    "Before you reach under: chock the wheels, stands under frame and axle, never the bags.",
    "The angle limits of the joints' makers govern, of driveshaft and bars. Have the work checked by a licensed shop.",
)


def turn_words(angle: float, up: str, down: str, system: System) -> str:
    """Return a turn in words: "1.2° nose up", or "as it was".

    Examples
    --------
    >>> turn_words(-0.02, "nose up", "nose down", "us")
    '1.1° nose down'
    """
    return "as it was" if abs(angle) < 1e-3 else f"{say(abs(angle), 'angle', system)} {up if angle > 0 else down}"


def shift_words(shift: float, plus: str, minus: str, system: System) -> str:
    """Return a shift in words, to a hundredth of an inch: "0.12 in forward".

    Examples
    --------
    >>> shift_words(0.003, "forward", "back", "us")
    '0.12 in forward'
    """
    return "not at all" if abs(shift) < SMALL else f"{_fine(abs(shift), system)} {plus if shift > 0 else minus}"


def motion_lines(truck: Truck, motion: AxleMotion, system: System) -> Iterator[str]:
    """Yield what one pose does, a line each."""
    if not motion.reached:
        give = _fine(float(motion.stretch), system)
        yield f"The bars do not let the axle get there: one would have to give by {give}."
        return
    linkage = truck.rear.linkage
    assert linkage is not None  # whose motion it is
    pose, turned = motion.pose, float(motion.pinion_up)
    moved = turn_words(turned, "nose up", "nose down", system)
    if linkage.driveshaft is None:
        yield f"Axle turned: {moved}."
    else:
        yield f"Pinion {_nose(float(linkage.driveshaft.pinion_angle) + turned, system)}, against ride height {moved}."
    if motion.joint_angles is not None and motion.residual is not None:
        angles = [say(float(one), "angle", system) for one in motion.joint_angles]
        apart = say(abs(float(motion.joint_angles[0] - motion.joint_angles[-1])), "angle", system)
        yield f"Driveshaft's joints, front to rear: {', '.join(angles)}; first and last {apart} apart."
        yield f"What they do not cancel: as one joint at {say(float(motion.residual), 'angle', system)}."
    ahead, left = float(pose.x), float(pose.y)
    ways = ((ahead, "forward", "back"), (left, "to the left", "to the right"))
    moves = [shift_words(*way, system) for way in ways if abs(way[0]) >= SMALL]
    yield f"Axle moved {' and '.join(moves)}." if moves else "Axle fore and aft and sideways as it was."
    steer = math.degrees(float(pose.yaw))
    if abs(steer) >= 0.01:
        yield f"It steers to the {'left' if steer > 0 else 'right'} by {abs(steer):.2f}°."
    if motion.shock_length is not None and linkage.shock is not None:
        left_one, right_one = (say(float(one), "length", system) for one in motion.shock_length)
        ends = [say(float(one), "length", system) for one in (linkage.shock.shortest, linkage.shock.longest)]
        yield f"Shocks {left_one} left, {right_one} right; closed {ends[0]}, open {ends[1]}."
    if motion.hose_reach is not None and linkage.hose is not None:
        slack = float(linkage.hose.length - motion.hose_reach)
        yield f"Brake hose: {say(slack, 'length', system)} slack." if slack > 0 else "Brake hose: pulled tight."
    yield from _centres(motion, system)


def _centres(motion: AxleMotion, system: System) -> Iterator[str]:
    """Yield instant centre, anti-squat and roll centre."""
    ahead, up = (float(one) for one in motion.centre)
    share = say(float(motion.anti_squat), "share", system)
    if abs(ahead) > FAR:
        yield f"From the side the bars run alongside; anti-squat {share}."
    else:
        way = "ahead of" if ahead > 0 else "behind"
        height = f"{say(abs(up), 'length', system)} {'above' if up >= 0 else 'below'} ground"
        yield (
            f"From the side the bars meet {say(abs(ahead), 'length', system)} {way} the axle, {height}; "
            f"anti-squat {share}."
        )
    yield f"Roll centre {say(float(motion.roll_centre), 'length', system)} above ground."
    if motion.stretch > SMALL:
        yield f"One bar more than it needs: bushings give by {_fine(float(motion.stretch), system)}."


def bar_lines(effects: tuple[BarEffect, ...], system: System) -> Iterator[str]:
    """Yield what a little more length does, a line for each pair of bars: "An inch on the upper bars turns …"."""
    more = "An inch" if system == "us" else "10 mm"
    for one in effects:
        if not one.reached:
            yield f"{more} more on {one.bars}: the others do not reach that far."
            continue
        turns = turn_words(one.pinion_up, "nose up", "nose down", system)
        moves = [shift_words(one.ahead, "forward", "back", system)]
        moves += [shift_words(one.left, "to the left", "to the right", system)] if abs(one.left) > SMALL else []
        yield f"{more} more on {one.bars} turns the pinion {turns} and moves the axle {' and '.join(moves)}."


def wanted_lines(longer: Mapping[str, float], system: System) -> Iterator[str]:
    """Yield by how much each bar is to be longer or shorter, pairs together where both sides are alike."""
    told: dict[str, float] = {}
    for name, change in longer.items():
        kind = name.partition(" ")[0]
        pair = [value for other, value in longer.items() if other.startswith(f"{kind} ") and name != "track bar"]
        alike = len(pair) == 2 and np.isclose(pair[0], pair[1], rtol=0, atol=SMALL)
        told.setdefault(f"both {kind} bars" if alike else _bar(name), change)
    for bars, change in told.items():
        more = f"{_fine(abs(change), system)} {'longer' if change > 0 else 'shorter'}"
        yield f"{bars.capitalize()}: {'as long as now' if abs(change) < SMALL else more}."


def _bar(name: str) -> str:
    """Return what a bar is called: "lower left bar"."""
    return name if name.endswith("bar") else f"{name} bar"


def _nose(angle: float, system: System) -> str:
    """Return how a pinion points."""
    return "level" if abs(angle) < 1e-3 else turn_words(angle, "nose up", "nose down", system)


def _fine(length: float, system: System) -> str:
    """Return a length with one digit more than a tape shows."""
    return say(length, "length", system, exact=True)
