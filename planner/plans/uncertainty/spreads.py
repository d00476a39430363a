"""How far each input may be off: one standard deviation, the owner's own where it was given, else a typical one."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal, NamedTuple

import numpy as np

from planner.errors import Refusal, UnknownName
from planner.physics.validation import Array
from planner.plans import typical as typical_values
from planner.plans.answer import AXLES, Kind
from planner.plans.linkage import link_roll_centre_spread
from planner.plans.setup import Setup, links_give_roll_axis
from planner.records import Axle, Trailer, Truck

Origin = Literal["typed", "file", "typical"]
Correlated = tuple[tuple[str, float], ...]
SpreadKind = Kind | Literal["rate"]  # of a spring or a tyre
PRACTICE: Final = "common practice"
MEMORY: Final = "from memory"


SLOPES: Final = f"a chart of one height: convoluted bags lose some 30 % in 4 in, sleeves 10 %, {MEMORY}"
SLOPE_OVER: Final = 0.1  # [m] of height, over which a spread of slope is told
# [1/m] by how much a chart of several heights has the slope of its area wrong, as a part of the area: 3 % over 4 in, a
# fifth of what is open where there is no chart (from memory). Gauge and tape feel it, as bags are read off their design
# heights; How sure leaves it out, as it asks of a truck near them.
CHART_SLOPE: Final = 0.3


class Guess(NamedTuple):
    """A typical spread of a value that is itself typical, on the scale of its input's own spread; its source."""

    value: float
    source: str


class Typical(NamedTuple):
    """A typical spread: as a part of the value or in SI, what it is of, what it is called, where it comes from."""

    value: float
    relative: bool
    kind: SpreadKind
    label: str
    source: str


def _each_axle(key: str, value: float, relative: bool, kind: SpreadKind, label: str, source: str) -> dict[str, Typical]:
    """Return one spread for front and for rear."""
    return {key + axle: Typical(value, relative, kind, label.format(axle), source) for axle in AXLES}


def _of_axle(key: str, field: str) -> dict[str, str]:
    """Return where front and rear have a field in a truck's file."""
    return {f"{key}.{axle}": f"{axle}.{field}" for axle in AXLES}


TYPICAL: Final[dict[str, Typical]] = {
    "weight": Typical(0.03, True, "weight", "Trailer weight", f"a load guessed by count and size, {PRACTICE}"),
    "tongue": Typical(0.01, False, "share", "Tongue ratio", f"a load put on by eye, {PRACTICE}"),
    "left": Typical(0.02, False, "share", "Side bias of the hitch load", f"a load put on by eye, {PRACTICE}"),
    "bars": Typical(0.25, True, "share", "Moment of the bars", f"bars set by links and by eye, {PRACTICE}"),
    "cargo.weight": Typical(0.05, True, "share", "Cargo, each weight", f"weights from labels and by guess, {PRACTICE}"),
    "cargo.place": Typical(
        0.05, False, "length", "Cargo, each place", f"the middle of a load found by eye, {PRACTICE}"
    ),
    **_each_axle(
        "kerb.", 20.0, False, "weight", "Kerb weight, {} axle", f"who and what was aboard, and the scale, {PRACTICE}"
    ),
    "kerb.left": Typical(0.005, False, "share", "Kerb weight, share on the left", f"who sits where, {PRACTICE}"),
    **_each_axle("area.", 0.03, True, "share", "Bag area, {}", f"bags of one type among each other, {MEMORY}"),
    **_each_axle("slope.", 0.15, False, "share", "Bag area's change over 4 in of height, {}", SLOPES),
    "sides.area": Typical(
        0.04, True, "share", "Bag area, left against right", f"two bags of one type, each 3 % off, {MEMORY}"
    ),
    "sides.height": Typical(
        0.1875 * 0.0254, False, "length", "Bag height, left against right", f"two seats as welded, {PRACTICE}"
    ),
    "friction": Typical(
        0.02, True, "share", "Bag friction", f"a pressure read on the way up or on the way down, {MEMORY}"
    ),
    **_each_axle("steel_load.", 0.05, True, "load", "Steel's load, {}", f"springs of one part number, {MEMORY}"),
    **_each_axle("steel_rate.", 0.08, True, "rate", "Steel's rate, {}", f"springs of one part number, {MEMORY}"),
    **_each_axle("tyre.", 0.10, True, "rate", "Tyre rate, {}", f"tyres of one size among each other, {MEMORY}"),
    **_each_axle(
        "unsprung.", 0.05, True, "weight", "Unsprung weight, {}", f"wheels and axle weighed apart, {PRACTICE}"
    ),
    **_each_axle("motion_ratio.", 0.01, True, "share", "Motion ratio, {}", f"two tape readings, {PRACTICE}"),
    **_each_axle("spacing.", 0.01, True, "length", "Spring spacing, {}", f"a tape under the truck, {PRACTICE}"),
    **_each_axle("anti_roll.", 0.10, True, "share", "Anti-roll bar's rate, {}", f"from its diameter, {MEMORY}"),
    "mass_height": Typical(0.06, False, "length", "Height of the truck's mass", f"pickups among each other, {MEMORY}"),
    **_each_axle(
        "roll_axis.", 0.08, False, "length", "Height of the roll axis, {}", f"suspensions of one kind, {MEMORY}"
    ),
    "side_slope": Typical(0.005, False, "share", "Side slope of the place", f"a yard that looks level, {PRACTICE}"),
    "gauge": Typical(2 * 6894.757293168361, False, "pressure", "Gauge", f"a shop gauge, {PRACTICE}"),
    "tape": Typical(
        0.125 * 0.0254, False, "length", "Tape, on ride and bag height", f"a tape on an arch lip, {PRACTICE}"
    ),
}
# What counts where the value itself is typical; never less than the spread of an owner's own.
GUESSES: Final[dict[str, Guess]] = {
    "kerb": Guess(75.0, f"a weight from a brochure, {PRACTICE}"),
    "kerb.left": Guess(typical_values.LEFT_SHARE_SPREAD, f"not weighed side by side, {PRACTICE}"),
    "area": Guess(typical_values.AREA_SPREAD, f"bags of one kind among each other, {MEMORY}"),
    "steel_load": Guess(typical_values.STEEL_LOAD_SPREAD, f"a share of the load guessed by what helps it, {PRACTICE}"),
    "steel_rate": Guess(typical_values.STEEL_RATE_SPREAD, f"from the ride of trucks alike, {MEMORY}"),
    "tyre": Guess(typical_values.TYRE_RATE_SPREAD, f"from the load rating, {MEMORY}"),
    "unsprung": Guess(typical_values.UNSPRUNG_SPREAD, f"axles of one rating among each other, {MEMORY}"),
    "motion_ratio": Guess(typical_values.MOTION_RATIO_SPREAD, f"suspensions of one kind, {MEMORY}"),
    "spacing": Guess(typical_values.SPACING_SPREAD, f"axles of one track among each other, {PRACTICE}"),
    "anti_roll": Guess(typical_values.ANTI_ROLL_SPREAD, f"bars among each other, {MEMORY}"),
}
# Exact while they are the owner's own, unless the file gives a spread: a guess, not a tape, is what moves these.
ONLY_GUESSED: Final = ("unsprung", "motion_ratio", "spacing", "anti_roll")
GROUPS: Final[dict[str, tuple[str, ...]]] = {  # what is told of together, and the spreads it is made of
    "trailer weight": ("weight",),
    "tongue ratio": ("tongue",),
    "side bias": ("left",),
    "bars": ("bars",),
    "cargo": ("cargo.weight", "cargo.place"),
    "kerb weight": ("kerb.front", "kerb.rear", "kerb.left"),
    "bag area": ("area.front", "area.rear"),
    "bag area's slope": ("slope.front", "slope.rear"),
    "bags left to right": ("sides.area", "sides.height"),
    "bag friction": ("friction",),
    "steel": ("steel_load.front", "steel_load.rear", "steel_rate.front", "steel_rate.rear"),
    "tyre rate": ("tyre.front", "tyre.rear"),
    "unsprung weight": ("unsprung.front", "unsprung.rear"),
    "motion ratio": ("motion_ratio.front", "motion_ratio.rear"),
    "spring spacing": ("spacing.front", "spacing.rear"),
    "anti-roll bars": ("anti_roll.front", "anti_roll.rear"),
    "mass and roll axis": ("mass_height", "roll_axis.front", "roll_axis.rear"),
    "slope of the place": ("side_slope",),
    "gauge": ("gauge",),
    "tape": ("tape",),
}
PATHS: Final[dict[str, str]] = {  # fields of truck and trailer files whose [spread] says the same
    "weight": "gross_weight",
    "tongue": "tongue_ratio",
    "bars": "bars",
    "kerb.front": "kerb.front_axle",
    "kerb.rear": "kerb.rear_axle",
    "kerb.left": "kerb.left_share",
    **_of_axle("area", "bag.area"),
    **_of_axle("steel_load", "steel_load"),
    **_of_axle("steel_rate", "steel_rate"),
    **_of_axle("tyre", "tyres.rate"),
    **_of_axle("unsprung", "unsprung_weight"),
    **_of_axle("motion_ratio", "motion_ratio"),
    **_of_axle("spacing", "spring_spacing"),
    **_of_axle("anti_roll", "anti_roll_rate"),
    "mass_height": "kerb.mass_height",
    **_of_axle("roll_axis", "roll_axis_height"),
    "gauge": "instruments.gauge_error",
    "tape": "instruments.tape_error",
}


@dataclass(frozen=True)
class Spread:
    """How far one input may be off.

    Attributes
    ----------
    key : of the input, one of TYPICAL
    value : one standard deviation, SI; of a share of something, that share
    origin : typed here, from the file of truck or trailer, or typical
    guessed : whether the value that it is of is typical, not the owner's own
    relative : whether the value is a part of each thing's own (cargo weight, bag area, bars)
    correlated : with which other inputs' spreads it was learnt, and the correlation with each [-]
    """

    key: str
    value: float
    origin: Origin
    guessed: bool = False
    correlated: Correlated = ()

    @property
    def label(self) -> str:
        """What it is called."""
        return TYPICAL[self.key].label

    @property
    def kind(self) -> SpreadKind:
        """What the value is of."""
        return TYPICAL[self.key].kind

    @property
    def relative(self) -> bool:
        """Whether the value is a part of each thing's own, for there is no one value to be a part of."""
        return TYPICAL[self.key].relative and self.kind == "share"

    @property
    def source(self) -> str:
        """Where a typical value comes from; else whose it is."""
        if self.origin == "typical":
            if self.guessed and (guess := _guess(self.key)):
                return guess.source
            return TYPICAL[self.key].source
        return "as set here" if self.origin == "typed" else "from your files"


Spreads = dict[str, Spread]


def spreads_of(setup: Setup, own: Mapping[str, float] | None = None) -> Spreads:
    """Return the spread of every input this setup has.

    Parameters
    ----------
    setup : Setup
    own : mapping of key to one standard deviation, optional
        Goes before what the files of truck and trailer say, and that before what is typical. [SI]

    Returns
    -------
    dict of key to Spread
        In the order of TYPICAL; an input that changes nothing here (a side bias on a ball) is left out.

    Raises
    ------
    UnknownName
        If a key is not one of TYPICAL.
    Refusal
        If a spread is negative or not finite.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> next(iter(spreads_of(setup)))
    'weight'
    """
    given = dict(own or {})
    for key, value in given.items():
        if key not in TYPICAL:
            raise UnknownName("an input with a spread", key, TYPICAL)
        typical = TYPICAL[key]
        if not 0 <= value < float("inf"):
            raise Refusal(f"spread of {typical.label} must be a finite number >= 0", f"{value:g}", "give one deviation")
    found = {key: _spread(setup, key, given) for key in _present(setup)}
    return {key: replace(one, correlated=tuple(_correlated(setup, found, key))) for key, one in found.items()}


def correlation_of(inputs: Sequence[tuple[str, Correlated]]) -> Array:
    """Return the correlation of inputs, each a key and with which others it is correlated, shape (n, n). [-]

    Examples
    --------
    >>> correlation_of([("area.rear", (("steel_load.rear", -0.8),)), ("steel_load.rear", (("area.rear", -0.8),))])
    array([[ 1. , -0.8],
           [-0.8,  1. ]])
    """
    places = {key: n for n, (key, others) in enumerate(inputs) if others}
    matrix = np.eye(len(inputs))
    for n, (_, others) in enumerate(inputs):
        for key, value in others:
            if key in places:
                matrix[n, places[key]] = value
    return matrix


def groups_of(inputs: Mapping[str, Correlated]) -> dict[str, tuple[str, ...]]:
    """Return the groups of inputs, by key with what each is correlated with, that are told of together; their keys.

    Groups whose inputs are correlated with one another's are one: whose the variance is cannot be told apart (A.
    Saltelli et al., Global Sensitivity Analysis: The Primer, 2008, section 1.2.11, from memory).

    Examples
    --------
    >>> groups_of({"area.rear": (("steel_load.rear", -0.8),), "steel_load.rear": (("area.rear", -0.8),), "gauge": ()})
    {'bag area and steel': ('area.rear', 'steel_load.rear'), 'gauge': ('gauge',)}
    """
    of_group = {name: tuple(key for key in keys if key in inputs) for name, keys in GROUPS.items()}
    *first, last = [name for name, keys in of_group.items() if any(inputs[key] for key in keys)] or [""]
    found = dict[str, tuple[str, ...]]()
    for name, keys in of_group.items():
        told = f"{', '.join(first)} and {last}" if first and name in (*first, last) else name
        found[told] = (*found.get(told, ()), *keys)
    return {name: keys for name, keys in found.items() if keys}


def _correlated(setup: Setup, spreads: Spreads, key: str) -> Iterator[tuple[str, float]]:
    """Yield with which other inputs, whose spreads are of the same file, one is correlated, and how far."""
    record, path = _record(setup, key), PATHS.get(key)
    table = record.correlation if record is not None else None
    if table is None or path not in table.fields or spreads[key].origin != "file":
        return
    row = dict(zip(table.fields, table.matrix[table.fields.index(path)], strict=True))
    for other, spread in spreads.items():
        there = PATHS.get(other)
        if other != key and spread.origin == "file" and _record(setup, other) is record and row.get(there or ""):
            yield other, row[there or ""]


def _spread(setup: Setup, key: str, own: Mapping[str, float]) -> Spread:
    """Return one spread, from where it is known best."""
    if key in own:
        return Spread(key, own[key], "typed")
    filed = _filed(setup, key)
    if filed is not None:
        return Spread(key, filed, "file")
    typical, guessed = TYPICAL[key], is_guessed(setup, key)
    scale = _value(setup, key) if typical.relative and typical.kind != "share" else 1.0
    guess = _guess(key) if guessed else None
    value = typical.value
    if guess is not None and not (key.startswith("steel_load") and _axle(setup, key).bag is None):
        value = max(value, guess.value)  # steel with no bag beside it carries what was weighed, guessed or not
    return Spread(key, value * scale, "typical", guessed)


def is_guessed(setup: Setup, key: str) -> bool:
    """Tell whether the value of an input is typical by its file: its field, or a table or list that holds it."""
    record, path = _record(setup, key), PATHS.get(key)
    if record is None or path is None:
        return False
    chart = (path.removesuffix("area") + "load",) if path.endswith(".bag.area") else ()
    return any(one == two or one.startswith(f"{two}.") for one in (path, *chart) for two in record.typical)


def _guess(key: str) -> Guess | None:
    """Return the spread of a typical value of an input; None where it is that of an owner's own."""
    return GUESSES.get(key) or GUESSES.get(key.partition(".")[0])


def _present(setup: Setup) -> Iterator[str]:
    """Yield the inputs that move something on this truck."""
    truck, hitch = setup.truck, setup.hitch
    if setup.trailer is not None and hitch is not None:
        yield from ("weight", "tongue")
        if hitch.roll_coupling > 0:
            yield "left"
        if setup.trailer.bars > 0:
            yield "bars"
    if setup.cargo:
        yield from ("cargo.weight", "cargo.place")
    yield from ("kerb.front", "kerb.rear", "kerb.left")
    bagged = [name for name, axle in _axles(truck) if axle.bag is not None]
    yield from (f"area.{name}" for name in bagged)
    yield from (f"slope.{name}" for name, axle in _axles(truck) if axle.bag is not None and axle.bag.has_one_height)
    if bagged:
        yield from ("sides.area", "sides.height", "friction")
    for what in ("steel_load", "steel_rate"):
        yield from (f"{what}.{name}" for name, axle in _axles(truck) if getattr(axle, what) > 0)
    yield "tyre.front"
    yield "tyre.rear"
    for what in ONLY_GUESSED:
        yield from (key for key in (f"{what}.front", f"{what}.rear") if _counts(setup, key))
    yield from ("mass_height", "roll_axis.front", "roll_axis.rear", "side_slope")
    if bagged:
        yield from ("gauge", "tape")


def _counts(setup: Setup, key: str) -> bool:
    """Tell whether an input that is exact while it is known is not: it is typical, or its file gives a spread."""
    what, axle = key.partition(".")[0], _axle(setup, key)
    if what == "spacing" and (axle.suspension == "independent" or axle.spring_spacing is None):
        return False
    if what == "anti_roll" and not axle.anti_roll_rate > 0:
        return False
    return is_guessed(setup, key) or PATHS[key] in setup.truck.spread


def _axle(setup: Setup, key: str) -> Axle:
    """Return the axle that an input belongs to."""
    return setup.truck.front if key.endswith(".front") else setup.truck.rear


def _record(setup: Setup, key: str) -> Truck | Trailer | None:
    """Return the record whose file speaks of an input."""
    return setup.trailer if key in ("weight", "tongue", "bars") else setup.truck


def _axles(truck: Truck) -> tuple[tuple[str, Axle], tuple[str, Axle]]:
    """Return the axles with their names."""
    return ("front", truck.front), ("rear", truck.rear)


def _filed(setup: Setup, key: str) -> float | None:
    """Return what the files of truck and trailer say of a spread; None where they are silent."""
    record, path = _record(setup, key), PATHS.get(key)
    if record is None or path is None:
        return None
    if key in ("gauge", "tape"):
        name, instruments = path.removeprefix("instruments."), setup.truck.instruments
        return float(getattr(instruments, name)) if name in instruments.model_fields_set else None
    if path not in record.spread:
        linked = key == "roll_axis.rear" and links_give_roll_axis(setup.truck)
        return link_roll_centre_spread(setup.truck) if linked else None
    scale = _value(setup, key) if TYPICAL[key].kind == "share" and TYPICAL[key].relative else 1.0
    return float(record.spread[path]) / scale


_OF_AXLE: Final[dict[str, Callable[[Axle], float]]] = {
    "tyre": lambda axle: axle.tyres.rate,
    "steel_load": lambda axle: axle.steel_load,
    "steel_rate": lambda axle: axle.steel_rate,
    "unsprung": lambda axle: axle.unsprung_weight,
    "motion_ratio": lambda axle: axle.motion_ratio,
    "spacing": lambda axle: 2 * axle.half_spacing,
    "anti_roll": lambda axle: axle.anti_roll_rate,
}


def _value(setup: Setup, key: str) -> float:
    """Return the value that a relative spread is a part of. [SI]"""
    if key in ("weight", "bars"):
        assert setup.trailer is not None  # the key is there only with one
        return setup.trailer.weight if key == "weight" else setup.trailer.bars
    what, axle = key.partition(".")[0], _axle(setup, key)
    if what in _OF_AXLE:
        return float(_OF_AXLE[what](axle))
    assert axle.bag is not None  # the key is there only with one
    return axle.bag.fitted_area
