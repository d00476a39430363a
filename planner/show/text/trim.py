"""A trim as plain lines for a terminal, as one object, and in the words of the page."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import numpy as np

from planner.plans.answer import AXLES, CORNERS, SIDES, Kind
from planner.plans.trim import Estimate, Leave, Trim
from planner.show.drawings.svg import clean
from planner.show.text.as_json import corners, finding_object, number
from planner.show.text.numbers import say
from planner.show.text.report import NO_BAG, finding_lines, outfit_line
from planner.units.quantity import System

LEAVE: Final[dict[Leave, str]] = {
    "level": "Already within the tape's error: leave it.",
    "no nearer": "No step of the gauge brings it nearer: leave it.",
    "bags cannot": "There is no air to trim with on this truck: leave it.",
}
SO_FAR: Final = "So far within the tape's error: tape the other corners too."
SAME_WAY: Final = "Come to each number from below, as when you read it, and tape again from the same marks."
SURE: Final = "Within ± 19 times in 20."


def verdict(found: Trim) -> str:
    """Return what to do, in a line; a truck is left by what was taped, not by what stands in for it."""
    if found.leave is None:
        return "Set these, then tape once more."
    return SO_FAR if found.leave == "level" and np.isnan(found.read_height).any() else LEAVE[found.leave]


def trim_lines(name: str, found: Trim, system: System) -> list[str]:
    """Return a trim as lines: what to set first, then where each corner is and will be, what is carried, findings."""
    return [
        clean(name),
        outfit_line(found.setup),
        "",
        verdict(found),
        *(_setting_lines(found, system) if found.leave is None else ()),
        "",
        "Each corner against where it is wanted:",
        *(_corner_line(found, place, system) for place in range(len(CORNERS))),
        f"  {SURE}",
        "",
        "Loads by this reading:",
        *(f"  {label:<16}{words}" for label, words in carried_rows(found, system)),
        "",
        *finding_lines(found.findings, system),
    ]


def _setting_lines(found: Trim, system: System) -> Iterator[str]:
    """Yield the pressures to set with what was read, as the truck stands seen from above."""
    step = float(found.setup.truck.instruments.gauge_step)

    def shown(value: float, missing: str) -> str:
        return say(value, "pressure", system, step=step) if np.isfinite(value) else missing

    yield "  " + f"{'':<7}" + "".join(f"{head:>13}" for head in (*SIDES, "read left", "read right"))
    for k, axle in enumerate(AXLES):
        missing = "not read" if np.isfinite(found.set[k]).any() else ""
        cells = [shown(float(p), NO_BAG) for p in found.set[k]]
        cells += [shown(float(p), missing) for p in found.read_pressure[k]]
        yield ("  " + f"{axle:<7}" + "".join(f"{cell:>13}" for cell in cells)).rstrip()


def _corner_line(found: Trim, place: int, system: System) -> str:
    """Return a corner in a line: how far off it is, will be, and how sure that is."""
    now, after = (float(off.ravel()[place]) for off in (found.off_now, found.off_after))
    line = f"  {CORNERS[place].replace('_', ' '):<12}{off_words(now, system):<15}"
    width = float((found.half_width if found.leave is None else found.off_now_half_width).ravel()[place])
    sure = f"± {say(width, 'length', system)}" if np.isfinite(width) else "and may be anywhere: no pressure fixes it"
    return line + (f"then {off_words(after, system)} {sure}" if found.leave is None else sure)


def off_words(off: float, system: System, nought: str = "as wanted") -> str:
    """Return how far a corner is off [m]: "0.7 in low", "as wanted"."""
    amount = say(abs(off), "length", system)
    if not amount.partition(" ")[0].strip("0.,"):
        return nought
    return f"{amount} {'high' if off > 0 else 'low'}"


def carried_rows(found: Trim, system: System) -> Iterator[tuple[str, str]]:
    """Yield what the reading says is carried: a label, and the amount with its uncertainty."""
    for axle, estimate in zip(AXLES, found.axle_load, strict=True):
        yield f"{axle} axle", estimated(estimate, "load", system)
    if found.setup.trailer is not None and found.setup.hitch is not None:
        yield "on the hitch", estimated(found.hitch_load, "load", system)
    yield "on the left", estimated(found.side_share, "share", system)


def estimated(estimate: Estimate, kind: Kind, system: System) -> str:
    """Return an amount with what it may be off by: "3,912 lb ± 290 lb"."""
    return f"{say(estimate.value, kind, system)} ± {say(estimate.half_width, kind, system)}"


def trim_object(profile: str, found: Trim, system: System) -> dict[str, Any]:
    """Return a trim as an object: gauge pressure Pa, load N, height m, moment N·m; text in words.

    "uncertainty" is the 95 % half width of each corner's height after, "off" how high it then stands above where it is
    wanted.
    """
    front, rear = found.axle_load
    return {
        "profile": profile,
        "pressure": corners(found.pressure),
        "set": corners(found.set),
        "inferred": {
            "axle_load": {"front": number(front.value), "rear": number(rear.value)},
            "side_moment": number(found.side_moment.value),
            "hitch_load": number(found.hitch_load.value),
            "side_share": number(found.side_share.value),
        },
        "inferred_uncertainty": {
            "axle_load": {"front": number(front.half_width), "rear": number(rear.half_width)},
            "side_moment": number(found.side_moment.half_width),
            "hitch_load": number(found.hitch_load.half_width),
            "side_share": number(found.side_share.half_width),
        },
        "ride_height_now": corners(found.height_now),
        "ride_height_wanted": corners(found.wanted_height),
        "ride_height_after": corners(found.height_after),
        "off_now": corners(found.off_now),
        "off_after": corners(found.off_after),
        "uncertainty": corners(found.half_width),
        "leave": found.leave is not None,
        "leave_because": found.leave,
        "converged": found.after.converged,
        "findings": [finding_object(finding, system) for finding in found.findings],
    }
