"""Every truck with every trailer: does the truck take it, at which pressures, what stops it first, and how much more.

A truck and all trailers of one kind of coupling are one array: the truck and its labels are one, only what the trailers
put on it and their own labels differ. So there is a loop over trucks and their hitches, none over pairs; trucks of one
layout of bags are levelled together. Each pair is judged by the rule that the map and the largest trailer are judged
by, see `stops`: the truck as weighed, nothing loaded, level wanted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.physics.truck_model import Rig
from planner.physics.validation import Array, Flags
from planner.plans.answer import CORNERS, frame
from planner.plans.largest_trailer import PAST, find_last_good
from planner.plans.ratings import TrailerLabels
from planner.plans.setup import Setup, rig_of
from planner.plans.stops import Loaded, Stop, Stops, find_stops_of_trucks
from planner.records import Coupling, Hitch, Trailer, Truck

NO_HITCH: Final = Stop("label", "no-such-hitch")  # the truck has none of the trailer's kind
NO_BARS: Final = Stop("label", "bars-need-hitch-behind")  # bars, and no hitch of its kind behind the rear axle
PAIRS: Final = 65_536  # judged in one block: long enough to be quick, short enough to be stopped, written, sent
PARTS: Final = 10  # in which a fleet is judged at least, so that it is seen to go on
HALF_KILOGRAM: Final = 0.5  # [kg] to which the heaviest trailer is known, never too heavy
AT_ONCE: Final = 8  # weights tried together in the search for it, of each of many pairs

Numbers = NDArray[np.int16]


class Trailers(NamedTuple):
    """The trailers of one kind of coupling as arrays, each of shape (n,), made once for all trucks.

    like : one of them, for what is the same of all
    place : where each stands among all trailers
    labels : as checks read them
    weight, tongue, bars, axle_distance : as loads are made of them [kg, -, -, m]
    """

    like: Trailer
    place: NDArray[np.intp]
    labels: TrailerLabels
    weight: Array
    tongue: Array
    bars: Array
    axle_distance: Array

    def take(self, cases: NDArray[np.intp] | slice) -> Trailers:
        """Return some of them."""
        coupling, *labels = self.labels
        some = TrailerLabels(coupling, *(values[cases] for values in labels))
        return Trailers(self.like, self.place[cases], some, *(values[cases] for values in self[3:]))


class Block(NamedTuple):
    """Some trucks with all trailers: what a `Fleet` says of them, its codes those of this block alone.

    first : which truck of the fleet is the first of these
    """

    first: int
    stops: tuple[Stop, ...]
    code: Numbers
    hitch: Numbers
    levels: Flags
    pressure: Array
    heaviest: Array


@dataclass
class Fleet:
    """Every truck with every trailer; arrays have shape (trucks, trailers), and hold what is done.

    Attributes
    ----------
    trucks, trailers : the rows and the columns
    stops : what may stop a pair; code n is stops[n - 1]
    code : which of them stops a pair first or keeps it off its stance, 0 none
    hitch : number of the truck's hitch that the trailer hangs on, -1 where none fits
    levels : whether the truck comes level with no bag past a limit
    pressure : exact, gauge, shape (..., 2, 2); NaN where steel carries or no hitch fits [Pa]
    heaviest : the heaviest trailer of this kind that the truck takes, labels on the trailer aside: of the same tongue
        ratio, axle distance and bars; NaN where no hitch fits or it was not asked for [kg]
    done : how many trucks are judged, the first ones
    """

    trucks: tuple[Truck, ...]
    trailers: tuple[Trailer, ...]
    stops: tuple[Stop, ...] = ()
    done: int = 0
    code: Numbers = field(init=False)
    hitch: Numbers = field(init=False)
    levels: Flags = field(init=False)
    pressure: Array = field(init=False)
    heaviest: Array = field(init=False)

    def __post_init__(self) -> None:
        """Make room."""
        shape = (len(self.trucks), len(self.trailers))
        self.code, self.hitch, self.levels, self.pressure, self.heaviest = _room(shape)

    @property
    def takes(self) -> Flags:
        """Which truck takes which trailer: nothing stops it. Shape (trucks, trailers)."""
        stopping = np.array([False, *(stop.kind != "stance" for stop in self.stops)])
        takes: Flags = ~stopping[self.code]
        takes[self.done :] = False
        return takes

    def stop(self, truck: int, trailer: int) -> Stop | None:
        """Return what stops a pair first or keeps it off its stance, None where nothing does."""
        code = int(self.code[truck, trailer])
        return self.stops[code - 1] if code else None

    def to_frame(self) -> Any:
        """Return a pandas DataFrame: a row for each pair that is judged, SI units, what stops it by its code."""
        shape, rows = (self.done, len(self.trailers)), slice(self.done)
        codes = np.array(["", *(stop.code for stop in self.stops)], object)
        names = [np.array([one.name for one in some], object) for some in (self.trucks[: self.done], self.trailers)]
        hitches = [[*(hitch.name for hitch in truck.hitches), ""] for truck in self.trucks[: self.done]]
        columns: dict[str, Any] = {
            "truck": np.repeat(names[0], shape[1]),
            "trailer": np.tile(names[1], shape[0]),
            "hitch": [own[n] for own, row in zip(hitches, self.hitch[rows].tolist(), strict=True) for n in row],
            "takes": self.takes[rows].ravel(),
            "level": self.levels[rows].ravel(),
            "stopped_by": codes[self.code[rows]].ravel(),
        }
        pressure = self.pressure[rows].reshape(-1, len(CORNERS))
        columns |= {f"pressure_{corner}": pressure[:, place] for place, corner in enumerate(CORNERS)}
        return frame(columns | {"heaviest": self.heaviest[rows].ravel()}, None, "pair")

    def put(self, block: Block) -> None:
        """Keep what a block says; blocks come in the order of the trucks."""
        known = list(self.stops)
        known += [stop for stop in block.stops if stop not in known]
        self.stops = tuple(known)
        number = np.array([0, *(1 + known.index(stop) for stop in block.stops)], np.int16)
        rows = slice(block.first, block.first + len(block.code))
        self.code[rows], self.hitch[rows], self.levels[rows] = number[block.code], block.hitch, block.levels
        self.pressure[rows], self.heaviest[rows] = block.pressure, block.heaviest
        self.done = rows.stop


Judge = Callable[["Task"], Block]
Run = Callable[[Judge, Sequence["Task"]], Iterable[Block]]


class Task(NamedTuple):
    """What one block is made of."""

    first: int
    trucks: tuple[Truck, ...]
    kinds: tuple[Trailers, ...]
    heaviest: bool


def judge_fleet(trucks: Sequence[Truck], trailers: Sequence[Trailer], *, heaviest: bool = True) -> Fleet:
    """Return every truck with every trailer: what stops a pair first, at which pressures it is level.

    Parameters
    ----------
    trucks, trailers : sequences of records
    heaviest : bool
        Whether the heaviest trailer of each kind is looked for too: most of the time goes there.

    Returns
    -------
    Fleet
        Each pair as `level` has it with nothing loaded; of several hitches that fit, the first on which nothing stops
        it, else the first.

    Raises
    ------
    BadInput
        If a truck names a chart of its own that was not read with it.

    Examples
    --------
    >>> from planner import read_trailer, read_truck
    >>> trucks = [read_truck(f"profiles/trucks/{name}.toml") for name in ("ridge-truck", "yard-truck")]
    >>> found = judge_fleet(trucks, [read_trailer("profiles/trailers/log-deck.toml")])
    >>> found.takes.tolist()
    [[True], [False]]
    """
    fleet = Fleet(tuple(trucks), tuple(trailers))
    for _ in judged(fleet, heaviest=heaviest):
        pass
    return fleet


def judged(fleet: Fleet, *, heaviest: bool = True, pairs: int = PAIRS, run: Run = map) -> Iterator[int]:
    """Judge a fleet block by block; yield how many trucks are done, so that it can be watched and stopped.

    Parameters
    ----------
    fleet : Fleet
        Filled as it goes: what a stop leaves done is in it.
    heaviest : bool
    pairs : int
        In one block at most, weights of the search counted too, but for one truck's own row.
    run : callable
        As `map`: gives the blocks of tasks in their order; where they are worked on is its own matter.
    """
    kinds, count = trailers_by_coupling(fleet.trailers), len(fleet.trucks)
    together = pairs // AT_ONCE if heaviest else pairs
    each = max(1, min(together // max(len(fleet.trailers), 1), count // PARTS))
    starts = range(fleet.done, count, each)
    tasks = [Task(first, fleet.trucks[first : first + each], kinds, heaviest) for first in starts]
    for block in run(judge_block, tasks):
        fleet.put(block)
        yield fleet.done


def trailers_by_coupling(trailers: Sequence[Trailer]) -> tuple[Trailers, ...]:
    """Return trailers as arrays, those of each kind of coupling together.

    Examples
    --------
    >>> from planner import read_trailer
    >>> [kind.weight.shape for kind in trailers_by_coupling([read_trailer("profiles/trailers/band-mill.toml")])]
    [(1,)]
    """
    kinds = dict[Coupling, list[int]]()
    for place, trailer in enumerate(trailers):
        kinds.setdefault(trailer.coupling, []).append(place)
    return tuple(_arrays([trailers[n] for n in places], np.array(places)) for places in kinds.values())


def _arrays(trailers: Sequence[Trailer], place: NDArray[np.intp]) -> Trailers:
    """Return trailers of one kind as arrays."""
    numbers = ("weight", "tongue_share", "bars", "axle_distance")
    values = (np.array([float(getattr(one, name)) for one in trailers]) for name in numbers)
    return Trailers(trailers[0], place, TrailerLabels.of(trailers), *values)


def judge_block(task: Task) -> Block:
    """Return some trucks with all trailers."""
    shape = (len(task.trucks), sum(len(kind.place) for kind in task.kinds))
    room, stops = _room(shape), [NO_HITCH, NO_BARS]
    code, hitch, levels, pressure, heaviest = room
    for row, truck in enumerate(task.trucks):
        kinds = {one.coupling for one in truck.hitches}
        for kind in task.kinds:
            code[row, kind.place] = 1 + stops.index(NO_BARS if kind.like.coupling in kinds else NO_HITCH)
    free = np.zeros(shape, bool)
    for number in range(max(len(truck.hitches) for truck in task.trucks)):
        tows = list(_tows(task, number, ~free))
        for tow, found in zip(tows, find_stops_of_trucks([tow.loaded() for tow in tows]), strict=True):
            goes, (row, place) = ~found.stopped, tow.pairs
            better = goes | (hitch[row, place] < 0)
            place, free[row, place] = place[better], goes
            code[row, place], levels[row, place] = _numbered(found, stops)[better], found.levels[better]
            hitch[row, place] = number
            pressure[row, place] = np.where(tow.rig.has_bag[:, None], found.pressure[better], np.nan)
    if task.heaviest:
        numbers = range(max(len(truck.hitches) for truck in task.trucks))
        _find_heaviest([tow for number in numbers for tow in _tows(task, number, hitch == number)], heaviest)
    return Block(task.first, tuple(stops), *room)


def _room(shape: tuple[int, int]) -> tuple[Numbers, Numbers, Flags, Array, Array]:
    """Return room for so many pairs: code, hitch, levels, pressure, heaviest."""
    numbers = np.zeros(shape, np.int16), np.full(shape, -1, np.int16)
    return *numbers, np.zeros(shape, bool), np.full((*shape, 2, 2), np.nan), np.full(shape, np.nan)


class _Tow(NamedTuple):
    """One truck of a block with trailers of one kind on one of its hitches."""

    row: int
    hitch: Hitch
    setup: Setup
    rig: Rig
    kind: Trailers

    @property
    def pairs(self) -> tuple[int, NDArray[np.intp]]:
        """Where they are in the block's arrays."""
        return self.row, self.kind.place

    def loaded(self, weight: Array | None = None, cases: NDArray[np.intp] | slice = slice(None)) -> Loaded:
        """Return what is judged: the trailers, or stronger ones like some of them of weights, shape (k, m). [kg]"""
        some = self.kind.take(cases)
        labels = some.labels if weight is None else some.labels.stronger(weight)
        given = {"weight": some.weight if weight is None else weight, "tongue": some.tongue, "bars": some.bars}
        given["axle_distance"] = some.axle_distance
        return Loaded(self.setup, self.rig, given, given["weight"].shape, labels)


def _tows(task: Task, number: int, wanted: Flags) -> Iterator[_Tow]:
    """Yield the trucks with the trailers that are wanted of them, where they fit on a hitch of such a number."""
    for row, truck in enumerate(task.trucks):
        for hitch in truck.hitches[number : number + 1]:
            for kind in task.kinds:
                if kind.like.coupling == hitch.coupling:
                    some = np.flatnonzero(wanted[row, kind.place] & ((hitch.x < 0) | (kind.bars == 0)))
                    if len(some):
                        yield _Tow(row, hitch, Setup(truck, kind.like, hitch), rig_of(truck), kind.take(some))


def _numbered(found: Stops, stops: list[Stop]) -> Numbers:
    """Return the codes of what is found as numbers of the block's stops, to which what is new is added."""
    bare = [Stop(stop.kind, stop.code) for stop in found.stops]  # a limit is one truck's own
    stops += [stop for stop in bare if stop not in stops]
    return np.array([0, *(1 + stops.index(stop) for stop in bare)], np.int16)[found.code]


def _find_heaviest(tows: Sequence[_Tow], heaviest: Array) -> None:
    """Fill in the weight of the heaviest trailer of each kind that nothing stops, its own labels aside. [kg]"""
    counts = [len(tow.kind.place) for tow in tows]
    first = np.cumsum([0, *counts])

    def stopped(weight: Array, cases: NDArray[np.intp]) -> Flags:
        """Tell what is stopped of weights, shape (k, m), of m of the pairs, in their order."""
        ends = np.searchsorted(cases, first)
        parts = [(tow, slice(*ends[n : n + 2]), first[n]) for n, tow in enumerate(tows) if ends[n] < ends[n + 1]]
        loaded = [tow.loaded(weight[:, some], cases[some] - start) for tow, some, start in parts]
        return np.concatenate([found.stopped for found in find_stops_of_trucks(loaded)], axis=-1)

    high = np.repeat([PAST * float(tow.hitch.trailer_rating) for tow in tows], counts)
    found = find_last_good(stopped, high, fine=HALF_KILOGRAM, at_once=AT_ONCE)
    for n, tow in enumerate(tows):
        heaviest[tow.pairs] = found[first[n] : first[n + 1]]
