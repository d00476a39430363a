"""A fleet in words and tables: who takes what, what stops a pair first, and who takes one trailer today."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Sequence
from typing import Any, Final, NamedTuple

import numpy as np

from planner.plans.answer import CORNERS
from planner.plans.fleet import NO_BARS, NO_HITCH, Fleet
from planner.plans.stops import Stop
from planner.records import Coupling
from planner.show.drawings.corner_labels import NO_BAG
from planner.show.drawings.svg import clean
from planner.show.text.as_csv import CORNER_HEADS, MARK, guarded
from planner.show.text.as_json import number
from planner.show.text.load_map import stop_words
from planner.show.text.numbers import DECIMALS, say, write
from planner.units.quantity import System, display

KINDS: Final[dict[Coupling, str]] = {
    "ball": "ball",
    "gooseneck": "gooseneck ball",
    "fifth_wheel": "fifth wheel",
    "pintle": "pintle hook",
}
BARE: Final = (
    "Each truck as weighed, nothing loaded, level wanted; pressures before they are rounded to a gauge. "
    "Air raises no rating: labels and makers' manuals govern."
)


class Pair(NamedTuple):
    """One truck with one trailer in words.

    truck, trailer : which they are in the fleet
    takes, level : whether nothing stops it, and whether the truck comes level
    told : why not, or what is left; empty where it takes the trailer and stands level
    pressures : front left, front right, rear left, rear right; empty where there are none
    heaviest : of the trailer's kind that the truck takes; empty where it is not known
    """

    truck: int
    trailer: int
    takes: bool
    level: bool
    told: str
    pressures: tuple[str, ...]
    heaviest: str


def pair(fleet: Fleet, truck: int, trailer: int, system: System) -> Pair:
    """Return one pair in words."""
    stop, hitched = fleet.stop(truck, trailer), fleet.hitch[truck, trailer] >= 0
    step = float(fleet.trucks[truck].instruments.gauge_step)
    pressure, heaviest = fleet.pressure[truck, trailer].ravel(), float(fleet.heaviest[truck, trailer])
    shown = [NO_BAG if np.isnan(one) else write(float(one), "pressure", system, step=step).number for one in pressure]
    return Pair(
        truck,
        trailer,
        bool(fleet.takes[truck, trailer]),
        bool(fleet.levels[truck, trailer]),
        "" if stop is None else pair_words(stop, fleet.trailers[trailer].coupling),
        tuple(shown) if hitched else (),
        "" if np.isnan(heaviest) else say(heaviest, "weight", system),
    )


def pair_words(stop: Stop, coupling: Coupling) -> str:
    """Return what stops a pair in a few words: "the truck has no gooseneck ball"."""
    if stop == NO_HITCH:
        return f"the truck has no {KINDS[coupling]}"
    if stop == NO_BARS:
        return f"the trailer has weight-distribution bars, and the truck no {KINDS[coupling]} behind its rear axle"
    return stop_words(stop)


def pair_sentences(one: Pair, system: System) -> str:
    """Return what a truck's line says: pressures where it takes the trailer, why not, and the most it takes."""
    said = [f"{one.told}."] if one.told else []
    if one.takes:
        front, rear = (_both(sides, system) for sides in (one.pressures[:2], one.pressures[2:]))
        said.insert(0, f"Front {front}, rear {rear}.")
    if one.heaviest:
        said.append(f"The most of this kind: {one.heaviest}.")
    return " ".join(words[:1].upper() + words[1:] for words in said)


def _both(sides: tuple[str, ...], system: System) -> str:
    """Return the two pressures of an axle: "36 left, 34 right psi", "30 psi", "steel"."""
    unit, (left, right) = display(0.0, "pressure", system)[1], sides
    if left == right:
        return left if left == NO_BAG else f"{left} {unit}"
    return f"{left} left, {right} right {unit}"


def trucks_for(fleet: Fleet, trailer: int, system: System) -> list[Pair]:
    """Return every truck that is judged with one trailer: who takes it first, of those who may take most first."""
    rows = np.arange(fleet.done)
    takes, most = fleet.takes[rows, trailer], np.nan_to_num(fleet.heaviest[rows, trailer], nan=-1.0)
    order = np.lexsort((rows, -most, ~fleet.levels[rows, trailer], ~takes))
    return [pair(fleet, int(row), trailer, system) for row in order]


def fleet_line(fleet: Fleet) -> str:
    """Return a fleet in one line: "2 trucks with 3 trailers: 4 of 6 pairs go"."""
    count = fleet.done * len(fleet.trailers)
    trucks, trailers = _counted(fleet.done, "truck"), _counted(len(fleet.trailers), "trailer")
    return f"{trucks} with {trailers}: {int(fleet.takes.sum()):,} of {count:,} pairs can be towed"


def left_over(fleet: Fleet) -> list[str]:
    """Return the names of the trailers that no truck takes."""
    taken = [bool(somebody) for somebody in np.any(fleet.takes, axis=0)]
    return [one.name for one, somebody in zip(fleet.trailers, taken, strict=True) if not somebody]


def _counted(count: int, what: str) -> str:
    return f"{count:,} {what}{'' if count == 1 else 's'}"


def fleet_table(fleet: Fleet, system: System) -> bytes:
    """Return every pair that is judged as a table, comma-separated values in UTF-8: see `as_csv`."""
    written = io.StringIO()
    rows = csv.writer(written, lineterminator="\r\n")
    rows.writerow(header(system))
    for truck in range(fleet.done):
        rows.writerows(_rows(fleet, truck, system))
    return f"{MARK}{written.getvalue()}".encode("utf-8", "replace")


def header(system: System) -> list[str]:
    """Return the heads of the columns."""
    pressure, weight = (display(0.0, kind, system)[1] for kind in ("pressure", "weight"))
    corners = (f"{corner} [{pressure}]" for corner in CORNER_HEADS)
    names = ["Truck", "Trailer", "Hitch", "Can be towed", "Level", "Stopped by"]
    return [*names, *corners, f"Heaviest of its kind [{weight}]"]


def _rows(fleet: Fleet, truck: int, system: System) -> Iterator[list[str]]:
    """Yield the rows of one truck: its numbers all at once, as there may be a thousand."""
    one, places = fleet.trucks[truck], DECIMALS["pressure"][system == "metric"]
    name, hitches = guarded(clean(one.name)), [guarded(clean(hitch.name)) for hitch in one.hitches]
    pressure = fleet.pressure[truck].reshape(-1, len(CORNERS)) * display(1.0, "pressure", system)[0]
    weights = fleet.heaviest[truck] * display(1.0, "weight", system)[0]
    takes, levels = fleet.takes[truck].tolist(), fleet.levels[truck].tolist()
    numbers = zip(fleet.hitch[truck].tolist(), pressure.tolist(), weights.tolist(), strict=True)
    for n, (trailer, (hitch, corners, most)) in enumerate(zip(fleet.trailers, numbers, strict=True)):
        stop, hitched = fleet.stop(truck, n), hitch >= 0
        yield [
            name,
            guarded(clean(trailer.name)),
            hitches[hitch] if hitched else "",
            "yes" if takes[n] else "no",
            "yes" if levels[n] else "no",
            "" if stop is None else pair_words(stop, trailer.coupling),
            *((f"{one:.{places}f}" if one == one else NO_BAG) if hitched else "" for one in corners),
            f"{most:.0f}" if most == most else "",
        ]


def fleet_object(fleet: Fleet) -> dict[str, Any]:
    """Return a fleet as an object: gauge pressure Pa, weight kg, what stops a pair as a code and in words."""
    pairs = ((truck, trailer) for truck in range(fleet.done) for trailer in range(len(fleet.trailers)))
    return {
        "trucks": [truck.name for truck in fleet.trucks[: fleet.done]],
        "trailers": [trailer.name for trailer in fleet.trailers],
        "pairs": [_pair_object(fleet, truck, trailer) for truck, trailer in pairs],
        "left_over": left_over(fleet),
    }


def _pair_object(fleet: Fleet, truck: int, trailer: int) -> dict[str, Any]:
    """Return one pair as an object."""
    stop, hitch = fleet.stop(truck, trailer), int(fleet.hitch[truck, trailer])
    coupling = fleet.trailers[trailer].coupling
    return {
        "truck": fleet.trucks[truck].name,
        "trailer": fleet.trailers[trailer].name,
        "hitch": fleet.trucks[truck].hitches[hitch].name if hitch >= 0 else None,
        "takes": bool(fleet.takes[truck, trailer]),
        "level": bool(fleet.levels[truck, trailer]),
        "stop": None if stop is None else {"code": stop.code, "text": pair_words(stop, coupling)},
        "pressure": dict(zip(CORNERS, map(number, fleet.pressure[truck, trailer].ravel()), strict=True)),
        "heaviest": number(float(fleet.heaviest[truck, trailer])),
    }


def by_most_taken(fleet: Fleet) -> Sequence[int]:
    """Return the trucks that are judged, those that take most trailers first."""
    order: list[int] = np.argsort(-fleet.takes[: fleet.done].sum(axis=1), kind="stable").tolist()
    return order
