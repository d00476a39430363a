"""How far each input may be off: one standard deviation, the owner's own where it was given, else a typical one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Final, Literal, NamedTuple

from planner.errors import Refusal, UnknownName
from planner.plans.answer import AXLES, Kind
from planner.plans.setup import Setup
from planner.records import Axle, Truck

Origin = Literal["typed", "file", "typical"]
SpreadKind = Kind | Literal["rate"]  # of a spring or a tyre
PRACTICE: Final = "common practice"
MEMORY: Final = "from memory"


SLOPES: Final = f"a chart of one height: convoluted bags lose some 30 % in 4 in, sleeves 10 %, {MEMORY}"
SLOPE_OVER: Final = 0.1  # [m] of height, over which a spread of slope is told


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
    **{f"area.{axle}": f"{axle}.bag.area" for axle in AXLES},
    **{f"{steel}.{axle}": f"{axle}.{steel}" for steel in ("steel_load", "steel_rate") for axle in AXLES},
    **{f"tyre.{axle}": f"{axle}.tyres.rate" for axle in AXLES},
    "mass_height": "kerb.mass_height",
    **{f"roll_axis.{axle}": f"{axle}.roll_axis_height" for axle in AXLES},
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
    relative : whether the value is a part of each thing's own (cargo weight, bag area, bars)
    """

    key: str
    value: float
    origin: Origin

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
    return {key: _spread(setup, key, given) for key in _present(setup)}


def _spread(setup: Setup, key: str, own: Mapping[str, float]) -> Spread:
    """Return one spread, from where it is known best."""
    if key in own:
        return Spread(key, own[key], "typed")
    filed = _filed(setup, key)
    if filed is not None:
        return Spread(key, filed, "file")
    typical = TYPICAL[key]
    scale = _value(setup, key) if typical.relative and typical.kind != "share" else 1.0
    return Spread(key, typical.value * scale, "typical")


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
    yield from ("tyre.front", "tyre.rear", "mass_height", "roll_axis.front", "roll_axis.rear", "side_slope")
    if bagged:
        yield from ("gauge", "tape")


def _axles(truck: Truck) -> tuple[tuple[str, Axle], tuple[str, Axle]]:
    """Return the axles with their names."""
    return ("front", truck.front), ("rear", truck.rear)


def _filed(setup: Setup, key: str) -> float | None:
    """Return what the files of truck and trailer say of a spread; None where they are silent."""
    record = setup.trailer if key in ("weight", "tongue", "bars") else setup.truck
    path = PATHS.get(key)
    if record is None or path is None:
        return None
    if key in ("gauge", "tape"):
        name, instruments = path.removeprefix("instruments."), setup.truck.instruments
        return float(getattr(instruments, name)) if name in instruments.model_fields_set else None
    if path not in record.spread:
        return None
    scale = _value(setup, key) if TYPICAL[key].kind == "share" and TYPICAL[key].relative else 1.0
    return float(record.spread[path]) / scale


def _value(setup: Setup, key: str) -> float:
    """Return the value that a relative spread is a part of. [SI]"""
    if key in ("weight", "bars"):
        assert setup.trailer is not None  # the key is there only with one
        return setup.trailer.weight if key == "weight" else setup.trailer.bars
    what, _, name = key.partition(".")
    axle = dict(_axles(setup.truck))[name]
    if what == "tyre":
        return float(axle.tyres.rate)
    if what in ("steel_load", "steel_rate"):
        return float(getattr(axle, what))
    assert axle.bag is not None  # the key is there only with one
    return axle.bag.fitted_area
