"""Words that drawings and tables share: where the truck stands, what it hangs on, which side is heavier."""

from __future__ import annotations

from typing import Final, Literal

import numpy as np

from planner.physics.validation import Array
from planner.plans.answer import AXLES, SIDES, Answer, Kind, Severity, Stance
from planner.plans.ratings import is_over
from planner.plans.setup import Setup
from planner.plans.temperature import A_DAY, rise_when_warmer
from planner.records import Coupling
from planner.show.drawings.palette import MARKS, WORDS
from planner.show.drawings.svg import clean
from planner.show.text.numbers import say, write
from planner.units.quantity import STANDARD_GRAVITY as G
from planner.units.quantity import System

HEAVIER_FROM: Final = 0.03  # [-] of an axle's load: less between its sides is what two weighings differ by
COUPLING_PARTS: Final[dict[Coupling, str]] = {
    "ball": "ball",
    "gooseneck": "ball",
    "pintle": "hook",
    "fifth_wheel": "plate",
}
AIR_MOVES: Final = (
    "Nobody between truck and trailer while air goes in or out. Stands under the frame before you reach under."
)
Side = Literal["left", "right"]
# What a finding of one corner says in the little room beside its number; the whole sentence stands among the findings.
_AT_CORNER: Final = {
    "pressure-high": "air over limit",
    "pressure-low": "air under limit",
    "bag-load": "bag overload",
    "bag-height-low": "bag at lowest",
    "bag-height-high": "bag at highest",
}


def marked(severity: Severity) -> str:
    """Return a severity as its word and mark: "Stop ■"."""
    return f"{WORDS[severity]} {MARKS[severity]}"


def height_words(rise: float, system: System) -> str:
    """Return a rise in words: "level", "0.4 in high", "10 mm low"."""
    return _either_way(rise, "length", system, "level", "{} high", "{} low")


def lean_words(stance: Stance, track: float, system: System) -> str:
    """Return the lean over a track in words: "no lean", "left side 0.4 in higher"."""
    rise = stance.roll * track
    return _either_way(rise, "length", system, "no lean", "left side {} higher", "right side {} higher")


def pitch_words(pitch: float, system: System) -> str:
    """Return the pitch of a trailer in words, nose up positive: "level", "0.3° nose down"."""
    return _either_way(pitch, "angle", system, "level", "{} nose up", "{} nose down")


def _either_way(value: float, kind: Kind, system: System, nought: str, more: str, less: str) -> str:
    """Return a value in the words of its sign, or in those of nought where it is shown as that."""
    written = write(abs(value), kind, system)
    return nought if written.number == "0" else (more if value > 0 else less).format(written)


def standing(stance: Stance, setup: Setup, system: System) -> str:
    """Return where a truck stands against level, in words; the lean is over the rear track."""
    front, rear = height_words(stance.front, system), height_words(stance.rear, system)
    ends = "front and rear level" if front == rear == "level" else f"front {front}, rear {rear}"
    return f"{ends}, {lean_words(stance, float(setup.truck.rear.track), system)}"


def set_ride_heights(setup: Setup, answer: Answer) -> Array:
    """Return wheel centre to arch lip at the pressures set, shape (2, 2). [m]

    Those at the exact pressures, moved as the body moves from there; what the tyres give between the two, hundredths of
    a millimetre, is left out.
    """
    exact, at_set = answer.stance, answer.set.stance
    half = np.array([[float(setup.truck.front.track)], [float(setup.truck.rear.track)]]) / 2.0 * np.array([1.0, -1.0])
    rises = np.array([[at_set.front - exact.front], [at_set.rear - exact.rear]])
    heights: Array = answer.ride_height + rises + (at_set.roll - exact.roll) * half
    return heights


def level_words(setup: Setup, answer: Answer, system: System) -> str:
    """Return why a truck is level at unlike ride heights; empty where all are alike or it is not level."""
    shown = {say(float(height), "length", system) for height in set_ride_heights(setup, answer).ravel()}
    unlike = "Level is the frame over the ground; how arches are cut and tyres squash makes the ride heights differ."
    return unlike if answer.level and len(shown) > 1 else ""


def warm_words(setup: Setup, answer: Answer, system: System) -> str:
    """Return what a day's temperature does with the valves shut; empty with no bag, or where they are shut now."""
    axles = (setup.truck.front, setup.truck.rear)
    if answer.set.sealed or not any(axle.bag for axle in axles):
        return ""
    by = f"Air {9 / 5 * A_DAY:.0f} °F warmer" if system == "us" else f"Air {A_DAY:.0f} °C warmer"
    rises = zip(AXLES, axles, rise_when_warmer(setup, answer), strict=True)
    written = [(name, write(rise, "length", system)) for name, axle, rise in rises if axle.bag]
    parts = [f"the {name} about {one}" for name, one in written if one.number != "0"]
    does = f"lifts {' and '.join(parts)}" if parts else "hardly moves the truck"
    return f"{by} {does} with the valves shut, and as much colder lets it down."


def heavier_side(loads: Array) -> Side | None:
    """Return which side of an axle is heavier by more than weighings differ, None where neither is."""
    left, right = float(loads[0]), float(loads[1])
    if abs(left - right) <= HEAVIER_FROM * (left + right):
        return None
    return "left" if left > right else "right"


def corner_words(setup: Setup, answer: Answer, k: int, i: int) -> tuple[Severity, str] | None:
    """Return the worst that is found of one corner and of it alone, in a few words; None where nothing is."""
    corner = f"{AXLES[k]}-{SIDES[i]}"
    axle = (setup.truck.front, setup.truck.rear)[k]
    if is_over(answer.tyre_load[k, i] / axle.tyres.per_side, axle.tyres.load_rating * G, "load"):
        return "stop", "tyre overload"
    for finding in answer.findings:
        what = finding.code.removesuffix(f"-{corner}")
        if what != finding.code and what in _AT_CORNER:
            return finding.level, _AT_CORNER[what]
    return None


def aboard_change_words(setup: Setup, system: System) -> str:
    """Return who is aboard against the weighing, place by place; empty where all is as it was weighed."""
    changes = [
        f"{clean(one.name)} {'+' if one.weight > 0 else '−'}{say(abs(one.weight), 'weight', system)}"
        for one in setup.aboard
        if one.weight
    ]
    return f"Aboard, against the weighing: {', '.join(changes)}" if changes else ""


def hitch_words(setup: Setup, answer: Answer, system: System) -> str | None:
    """Return what hangs on the hitch: "864 lb on the ball"; None with no trailer."""
    if setup.hitch is None or setup.trailer is None:
        return None
    return f"{write(answer.hitch_load, 'load', system)} on the {COUPLING_PARTS[setup.hitch.coupling]}"


def coupling_words(setup: Setup, height: float | None, system: System) -> str | None:
    """Return how high the hitch is: "ball 19 in above ground"; None with no hitch."""
    if setup.hitch is None or height is None:
        return None
    return f"{COUPLING_PARTS[setup.hitch.coupling]} {write(height, 'length', system)} above ground"
