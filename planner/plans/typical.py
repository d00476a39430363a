"""What is typical of a truck where its owner cannot know: a value, its spread, and a reason or source for each.

A form and a command start from these; a truck's file lists what it took in `typical`, and `plans/uncertainty` counts
such a field as surely as it is guessed. The spreads of guesses stand here once, for both.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

from planner.errors import Refusal
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.plans.tyre_size import CAR_TYRE_ON_A_TRUCK, TyreSize
from planner.records.truck import TYPICAL_MASS_HEIGHT, Built, Suspension
from planner.units.quantity import Dimension, System, display, entry_unit

Standing = Literal["standard", "common practice", "from memory"]

# Spreads of guesses, one standard deviation; parts of the value where nothing else is said.
TYRE_RATE_SPREAD: Final = 0.15
MOTION_RATIO_SPREAD: Final = 0.08
UNSPRUNG_SPREAD: Final = 0.15
STEEL_RATE_SPREAD: Final = 0.25
STEEL_LOAD_SPREAD: Final = 0.20
STEEL_ALONE_SPREAD: Final = 0.05  # where no bag helps: it carries what was weighed
ANTI_ROLL_SPREAD: Final = 0.35
SPACING_SPREAD: Final = 0.06
VOLUME_SPREAD: Final = 0.10
AREA_SPREAD: Final = 0.08
TRACK_SPREAD: Final = 0.05  # m
LEFT_SHARE_SPREAD: Final = 0.01
MASS_HEIGHT_SPREAD: Final = 0.06  # m
ROLL_AXIS_SPREAD: Final = 0.08  # m

RATED_DEFLECTION: Final = 0.037  # m of a tyre at rated load and pressure: 300 to 450 kN/m of load range E at 80 psi
CARCASS: Final = 0.10  # [-] of a tyre's rate that stays without air: from memory
RIDE: Final = {"front": 1.4, "rear": 1.8}  # Hz on the steel alone, empty; the front about 80 % of the rear (Olley)
UNSPRUNG_OF_GAWR: Final[dict[Suspension, float]] = {"solid": 0.105, "independent": 0.08}
TWIN_WHEELS: Final = 0.03  # of GAWR, more with twin wheels
MOST_UNSPRUNG: Final = 0.35  # of the kerb load of the axle
MOTION_RATIO: Final[dict[Suspension, float]] = {"solid": 1.0, "independent": 0.65}
SPACING_OF_TRACK: Final = 0.60
TRACK: Final = 1.70  # m; MASH 2270P test pickup, 1700 ± 38 mm (AASHTO MASH table 4, from memory)
BAR_RATE: Final[dict[Suspension, float]] = {"solid": 1200.0, "independent": 900.0}  # N·m/deg
STEEL_SHARE: Final = 0.80  # of what the springs carry empty, where the bag's area is not known
OVER_LEAST: Final = 5 * 6894.757293168361  # Pa; bags beside steel are kept about 5 psi above their least when empty
VOLUME_OVER_SWEPT: Final = 1.07  # gas over area times fitted height: ends and fittings

PSI: Final = 6894.757293168361  # [Pa]
FREE_AIR_FOOT: Final = 0.028316846592 / 60.0  # [m³/s] of a cubic foot a minute
AIR_TANK: Final = (5 * 3.785411784e-3, 1.5 * 3.785411784e-3)  # [m³] and one standard deviation, as all below
CUT_IN: Final = (110 * PSI, 5 * PSI)  # [Pa]
SWITCH_GAP: Final = 35 * PSI  # [Pa] from cut-in to cut-out of a pressure switch
DELIVERY_PRESSURE: Final = (0.0, 100 * PSI, 200 * PSI)  # [Pa] gauge
DELIVERY: Final = (1.8 * FREE_AIR_FOOT, 1.1 * FREE_AIR_FOOT, 0.5 * FREE_AIR_FOOT)  # [m³/s] at each
DELIVERY_SPREAD: Final = 0.25  # of it
DUTY: Final = (0.5, 0.2)
LINE_OVER_HALF: Final = 1.5  # [m] over half the wheelbase: up from the block, along the frame, down to the bag
LINE_SPREAD: Final = 0.25  # of a length
LINE_BORE: Final = (0.17 * 0.0254, 0.02 * 0.0254)  # [m]


@dataclass(frozen=True)
class Estimate:
    """A typical value with what is behind it.

    Attributes
    ----------
    value, spread : and one standard deviation of it, SI
    dimension : of both; None for a ratio or a share
    reason : why this value, with its source where it has one
    standing : how good that is
    figures : with how many it is written
    """

    value: float
    spread: float
    dimension: Dimension | None
    reason: str
    standing: Standing
    figures: int = 3

    def in_file(self, system: System) -> str | float:
        """Return the value as a file holds it: a few figures and a unit, or a bare number."""
        if self.dimension is None:
            return float(f"{self.value:.{self.figures}g}")
        number, _ = display(self.value, self.dimension, system)
        return f"{float(f'{number:.{self.figures}g}'):.10g} {entry_unit(self.dimension, system)}"


@dataclass(frozen=True)
class KnownAxle:
    """What label, scale slip, tape and a look below tell of an axle.

    Attributes
    ----------
    name : which axle
    suspension, built : what it is
    kerb_weight : on this axle as weighed [kg]
    gawr : from the door label [kg]
    tyre_load : rating of one tyre [N]
    tyre_radius : unloaded [m]
    tyres_per_side : 1, or 2 with twin wheels
    track : wheel to wheel [m]; None where it was not measured
    bag_area : effective area at fitted height [m²]; None where there is no chart yet
    fitted_height : of the bag [m]
    least_pressure : gauge, of the bag [Pa]
    anti_roll_bar : whether it has one
    tyre_pressure : cold, gauge, over the pressure of the rating [-]
    motion_ratio, unsprung_weight : as measured [-], [kg]; None where they are not known
    """

    name: Literal["front", "rear"]
    suspension: Suspension
    built: Built
    kerb_weight: float
    gawr: float
    tyre_load: float
    tyre_radius: float
    tyres_per_side: int = 1
    track: float | None = None
    bag_area: float | None = None
    fitted_height: float | None = None
    least_pressure: float = 0.0
    anti_roll_bar: bool = False
    tyre_pressure: float = 1.0
    motion_ratio: float | None = None
    unsprung_weight: float | None = None

    def __post_init__(self) -> None:
        """Refuse an axle that weighs or carries nothing."""
        for name in ("kerb_weight", "gawr", "tyre_load", "tyre_radius", "tyre_pressure"):
            if not 0 < getattr(self, name) < math.inf:
                raise Refusal(f"{name} must be > 0", f"{getattr(self, name):g}", "read it on label or scale slip")


def typical_axle(known: KnownAxle) -> dict[str, Estimate]:
    """Return what is typical of an axle, by the path of its field in the axle's table, SI.

    Parameters
    ----------
    known : KnownAxle

    Returns
    -------
    dict of str to Estimate
        "motion_ratio", "unsprung_weight", "tyres.rate", "steel_rate", "steel_load", "anti_roll_rate",
        "roll_axis_height"; "track" where it was not measured; "spring_spacing" of a solid axle; "bag.volume" where area
        and fitted height are known. With these an axle with steel stands at kerb weight and design ride height.

    References
    ----------
    Each estimate has its own in `reason`.

    Examples
    --------
    >>> known = KnownAxle("rear", "solid", "bag over leaf", 1225.0, 2760.0, 13_500.0, 0.41, bag_area=0.0187)
    >>> found = typical_axle(known)
    >>> found["unsprung_weight"].in_file("us"), found["motion_ratio"].in_file("us")
    ('639 lb', 1.0)
    """
    unsprung = _unsprung(known)
    ratio = known.motion_ratio or MOTION_RATIO[known.suspension]
    weight = unsprung.value if known.unsprung_weight is None else known.unsprung_weight
    track = TRACK if known.track is None else known.track
    carried = (known.kerb_weight - weight) * G / (2 * ratio)
    found = {
        "motion_ratio": _motion_ratio(known),
        "unsprung_weight": unsprung,
        "tyres.rate": tyre_rate(known.tyre_load, known.tyre_pressure),
        "steel_rate": _steel_rate(known, weight, ratio),
        "steel_load": _steel_load(known, carried),
        "anti_roll_rate": _anti_roll(known),
        "roll_axis_height": _roll_axis(known),
    }
    if known.track is None:
        reason = "a full-size test pickup, 1700 mm: AASHTO MASH table 4 (from memory)"
        found["track"] = Estimate(TRACK, TRACK_SPREAD, "length", reason, "from memory")
    if known.suspension == "solid":
        spacing = SPACING_OF_TRACK * track
        reason = "springs inside the wheels, about 0.6 of the track"
        found["spring_spacing"] = Estimate(spacing, SPACING_SPREAD * spacing, "length", reason, "common practice")
    if known.built != "steel only" and known.bag_area is not None and known.fitted_height is not None:
        volume = VOLUME_OVER_SWEPT * known.bag_area * known.fitted_height
        reason = "area times fitted height and 7 % for its ends and fittings"
        found["bag.volume"] = Estimate(volume, VOLUME_SPREAD * volume, "volume", reason, "from memory")
    return found


def typical_kerb() -> dict[str, Estimate]:
    """Return what is typical of a weighed truck as a whole, by field of its kerb table: shares [-], height [m].

    Examples
    --------
    >>> typical_kerb()["left_share"].value
    0.5
    """
    sides = "weighed axle by axle; a driver alone moves it by half a per cent"
    height = "a full-size test pickup, at least 710 mm: AASHTO MASH table 4 (from memory)"
    return {
        "left_share": Estimate(0.5, LEFT_SHARE_SPREAD, None, sides, "common practice"),
        "mass_height": Estimate(TYPICAL_MASS_HEIGHT, MASS_HEIGHT_SPREAD, "length", height, "from memory"),
    }


def typical_air(wheelbase: float, cut_in: float | None = None, cut_out: float | None = None) -> dict[str, Estimate]:
    """Return what is typical of a pickup's air supply, by field of its [air] table, SI.

    Parameters
    ----------
    wheelbase : of the truck [m]
    cut_in, cut_out : gauge, where its owner has given one of them: the other follows [Pa]

    Returns
    -------
    dict of str to Estimate
        "line_length" stands for all four, "delivery" is that at the middle of DELIVERY_PRESSURE.

    Examples
    --------
    >>> found = typical_air(4.0)
    >>> found["tank_volume"].in_file("us"), found["line_length"].in_file("metric"), found["line_bore"].in_file("us")
    ('5 gal', '3500 mm', '0.17 in')
    """
    low = CUT_IN[0] if cut_out is None else max(cut_out - SWITCH_GAP, 0.5 * cut_out)
    high = (low if cut_in is None else cut_in) + SWITCH_GAP
    length = wheelbase / 2 + LINE_OVER_HALF
    bore = "quarter-inch tube to SAE J844, 0.04 in of wall; three-eighths has 0.25 in"
    middle = "the valve block midway, so that all lines are about as long"
    switch = "pressure switches of small 12 V compressors, 35 psi from cut-in to cut-out"
    return {
        "tank_volume": Estimate(*AIR_TANK, "volume", "tanks that go under a pickup hold 2 to 10 gal", "from memory"),
        "cut_in": Estimate(low, CUT_IN[1], "pressure", switch, "from memory"),
        "cut_out": Estimate(high, CUT_IN[1], "pressure", switch, "from memory"),
        "delivery": Estimate(
            DELIVERY[1],
            DELIVERY_SPREAD * DELIVERY[1],
            "free-air flow",
            "a 12 V compressor of 1.8 cfm at no pressure, 1.1 at 100 psi",
            "from memory",
        ),
        "duty": Estimate(
            *DUTY, None, "12 V compressors are made to run a third of the time to all of it", "from memory"
        ),
        "line_length": Estimate(length, LINE_SPREAD * length, "length", middle, "common practice"),
        "line_bore": Estimate(*LINE_BORE, "length", bore, "from memory"),
    }


def tyres_of_size(size: TyreSize, per_side: int) -> dict[str, Estimate]:
    """Return what a printed tyre size says of an axle's tyres, by field of its tyres' table, SI.

    Parameters
    ----------
    size : TyreSize
        From `read_tyre_size`; its `notes` say what is to be typed besides.
    per_side : int
        1, or 2 with twin wheels, which have the second load index.

    Returns
    -------
    dict of str to Estimate
        "unloaded_radius"; "load_rating" [kg] and with it "rate" where an index is printed for so many a side;
        "cold_pressure" where the load range fixes it. What is not here is not known from the size.

    Raises
    ------
    Refusal
        If there are not one or two tyres a side.

    Examples
    --------
    >>> from planner.plans.tyre_size import read_tyre_size
    >>> found = tyres_of_size(read_tyre_size("LT245/75R16 120/116S E"), 1)
    >>> {field: one.in_file("us") for field, one in found.items()}
    {'unloaded_radius': '15.23 in', 'load_rating': '3086 lb', 'rate': '2120 lbf/in', 'cold_pressure': '80 psi'}
    """
    load = size.load_rating(per_side)
    printed = size.aspect_printed
    how = "from the size: half the rim and the section height" if printed else "typical of sizes that print no height"
    standing: Standing = "standard" if printed else "from memory"
    found = {"unloaded_radius": Estimate(size.unloaded_radius, size.radius_spread, "length", how, standing, 4)}
    if load is not None:
        index = size.index[per_side - 1]
        reason = f"load index {index} (ISO 4000-1)"
        if size.service == "passenger":
            reason += f", divided by {CAR_TYRE_ON_A_TRUCK} as a passenger tyre's on a truck is (49 CFR 571.110)"
        found["load_rating"] = Estimate(load / G, 0.0, "weight", reason, "standard", 4)
        found["rate"] = tyre_rate(load)
    if size.cold_pressure is not None:
        reason = f"the pressure at which load range {size.load_range} carries its rating"
        found["cold_pressure"] = Estimate(size.cold_pressure, 0.0, "pressure", reason, "standard")
    return found


def tyre_rate(load_rating: float, pressure: float = 1.0) -> Estimate:
    """Return the typical vertical rate of one tyre [N/m] from its load rating [N] and its share of rated pressure [-].

    At rated load and pressure a tyre is squashed by about 37 mm; nine tenths of its rate are the air's.

    Raises
    ------
    Refusal
        If rating or pressure is not > 0.

    References
    ----------
    Light-truck tyres of load range E at 80 psi 300 to 450 kN/m, and T. B. Rhyne, Tire Science and Technology 33 (2005)
    136-155 for a rate that goes with the pressure but for a structural part: both from memory.

    Examples
    --------
    >>> round(tyre_rate(13_729.0).value / 1000)
    371
    """
    if not (load_rating > 0 and pressure > 0):
        raise Refusal("load rating and pressure must be > 0", f"{load_rating:g}, {pressure:g}", "read the sidewall")
    rate = load_rating / RATED_DEFLECTION * (CARCASS + (1 - CARCASS) * pressure)
    reason = "squashed by 37 mm at rated load and pressure, as light-truck tyres of 300 to 450 kN/m are"
    return Estimate(rate, TYRE_RATE_SPREAD * rate, "spring rate", reason, "from memory")


def tyre_rate_from_hub_height(load: float, unloaded_radius: float, hub_height: float, tape_error: float) -> Estimate:
    """Return a tyre's rate [N/m] from its hub height [m] under a known load [N]: load / (unloaded radius - hub height).

    Parameters
    ----------
    load : on this one tyre [N]
    unloaded_radius, hub_height : [m]
    tape_error : one standard deviation of a height [m]; both heights have it

    Raises
    ------
    Refusal
        If the load is not > 0, or the squash is not more than the tape can tell.

    Examples
    --------
    >>> rate = tyre_rate_from_hub_height(9_000.0, 0.420, 0.395, 0.002)
    >>> round(rate.value), round(rate.spread)
    (360000, 40729)
    """
    if not load > 0:
        raise Refusal(
            "the load on the tyre must be > 0", f"{load:g} N", "half the axle's scale reading on single tyres"
        )
    squash, error = unloaded_radius - hub_height, math.sqrt(2.0) * tape_error
    if not squash > 2 * error:
        got = f"{1000 * squash:.1f} mm"
        rule = f"the tyre must squash more than a tape can tell ({2000 * error:.1f} mm)"
        raise Refusal(
            rule, got, "measure from the ground to the wheel's centre, and the radius of a tyre off the ground"
        )
    rate = load / squash
    reason = "the hub's height under a known load"
    return Estimate(rate, rate * error / squash, "spring rate", reason, "standard")


def _unsprung(known: KnownAxle) -> Estimate:
    """Wheels, tyres, brakes and axle [kg], from the rating they are built for."""
    share = UNSPRUNG_OF_GAWR[known.suspension] + (TWIN_WHEELS if known.tyres_per_side > 1 else 0.0)
    value, reason = share * known.gawr, f"{100 * share:.3g} % of GAWR, as {known.suspension} axles have about"
    if value > MOST_UNSPRUNG * known.kerb_weight:
        value = MOST_UNSPRUNG * known.kerb_weight
        reason = "a third of the axle's kerb weight: its GAWR would give more than is likely"
    return Estimate(value, UNSPRUNG_SPREAD * value, "weight", reason, "from memory")


def _motion_ratio(known: KnownAxle) -> Estimate:
    """Spring travel over wheel travel."""
    value = MOTION_RATIO[known.suspension]
    on = "the spring sits on the axle" if known.suspension == "solid" else "the spring sits on the lower arm"
    standing: Standing = "common practice" if known.suspension == "solid" else "from memory"
    reason = f"{on}; two tape readings give it: pivot to spring over pivot to wheel"
    return Estimate(value, MOTION_RATIO_SPREAD * value, None, reason, standing)


def _steel_rate(known: KnownAxle, unsprung: float, ratio: float) -> Estimate:
    """Rate of the steel of one side [N/m], from the ride frequency of trucks on it; nought where there is none."""
    if known.built == "bag alone":
        return Estimate(0.0, 0.0, "spring rate", "there is no steel", "standard")
    frequency = RIDE[known.name]
    rate = (2 * math.pi * frequency) ** 2 * (known.kerb_weight - unsprung) / 2 / ratio**2
    reason = f"an empty {known.name} rides at about {frequency} Hz on its steel"
    return Estimate(rate, STEEL_RATE_SPREAD * rate, "spring rate", reason, "from memory")


def _steel_load(known: KnownAxle, carried: float) -> Estimate:
    """What the steel of one side carries at design ride height [N]: all, what bags leave, or nothing."""
    if known.built == "bag alone":
        return Estimate(0.0, 0.0, "load", "there is no steel", "standard")
    if known.built == "steel only":
        reason = "at the ride height measured at kerb weight the steel carries all of it"
        return Estimate(carried, STEEL_ALONE_SPREAD * carried, "load", reason, "common practice")
    load, reason = STEEL_SHARE * carried, "most of what the springs carry empty"
    if known.bag_area is not None:
        load = carried - (known.least_pressure + OVER_LEAST) * known.bag_area
        reason = "what bags leave to the steel when they are kept 5 psi above their least"
    if load <= 0:
        load, reason = 0.0, "the bags carry all of it at their least and 5 psi more"
    return Estimate(load, STEEL_LOAD_SPREAD * load, "load", reason, "common practice")


def _anti_roll(known: KnownAxle) -> Estimate:
    """Rate of the anti-roll bar between body and axle [N·m/rad]; nought where there is none."""
    if not known.anti_roll_bar:
        return Estimate(0.0, 0.0, "roll rate", "there is no bar", "standard")
    rate = BAR_RATE[known.suspension] * 180.0 / math.pi
    reason = f"{BAR_RATE[known.suspension]:.0f} N·m a degree, as bars of {known.suspension} axles have about"
    return Estimate(rate, ANTI_ROLL_SPREAD * rate, "roll rate", reason, "from memory")


def _roll_axis(known: KnownAxle) -> Estimate:
    """Height above ground of the axis about which the body rolls at this axle. [m]"""
    if known.suspension == "solid":
        reason = "the wheel centre of a solid axle"
        return Estimate(known.tyre_radius, ROLL_AXIS_SPREAD, "length", reason, "from memory")
    return Estimate(0.0, ROLL_AXIS_SPREAD, "length", "independent suspensions have it near the ground", "from memory")
