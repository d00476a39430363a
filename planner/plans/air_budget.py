"""Is there air enough: what each move of a hitching cycle takes from the tank, and what the compressor makes of it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np

from planner.physics.air_flow import free_air
from planner.physics.constants import REFERENCE_TEMPERATURE
from planner.physics.error_band import SURE
from planner.physics.moisture import FREE_AIR_DRY_DENSITY, condensed
from planner.physics.validation import Array
from planner.plans.air_moves import CHANGE, CYCLE, AirMove, Between, Known, Ways
from planner.plans.air_supply import TUBE_LIMIT, Supply, supply_record
from planner.plans.answer import AXLES, Finding, Kind
from planner.plans.changeover import ChangeOver
from planner.plans.fill_time import Filling
from planner.plans.findings import worst_first
from planner.plans.hitching import hitch_up
from planner.plans.hitching_stages import HitchPlan
from planner.plans.setup import Setup
from planner.plans.typical_air import typical_numbers, with_typical_air, worse_by_one_deviation
from planner.records import Truck

MOST_CYCLES: Final = 99  # looked at one after the other
WATER_KEPT: Final = 0.01  # [-] of the tank's volume: more water than that is drained (our choice)
WEEK, DAY = 7 * 86_400.0, 86_400.0  # [s]
WATER_DENSITY: Final = 1000.0  # [kg/m³]


@dataclass(frozen=True)
class Use:
    """Where and how often the air is used.

    Attributes
    ----------
    altitude : above sea level [m]
    temperature, humidity : of the air drawn in [K, 0 to 1]; the tank comes to the same temperature
    cycles : of hitching and unhitching, a day [1/d]
    """

    altitude: float = 0.0
    temperature: float = REFERENCE_TEMPERATURE
    humidity: float = 0.65
    cycles: float = 2.0


@dataclass(frozen=True)
class DemandAnswer:
    """Another user of the tank.

    Attributes
    ----------
    name
    free_air : that it takes in one go [m³]
    tank_pressure : the tank's gauge afterwards, from cut-out and with the compressor off; < 0 it runs dry [Pa]
    lasts, dry_after : how long the tank alone feeds it, from cut-out to cut-in and until it is empty [s]
    compressor_time : how long the compressor runs to put it back; inf where it cannot [s]
    kept_up : whether the compressor keeps up with it at cut-in for as long as its duty allows
    """

    name: str
    free_air: float
    tank_pressure: float
    lasts: float
    dry_after: float
    compressor_time: float
    kept_up: bool


@dataclass(frozen=True)
class Water:
    """Water that the tank collects.

    per_day : [kg/d]
    drain_every : time until a hundredth of the tank is water, a week at the most (common practice: weekly) [s]
    """

    per_day: float
    drain_every: float

    @property
    def per_week(self) -> float:
        """Water a week. [kg]"""
        return 7.0 * self.per_day


@dataclass(frozen=True, eq=False)
class AirBudget:
    """What a truck's air supply makes of hitching its trailer, of levelling and of what else takes air.

    Attributes
    ----------
    setup, supply, use : of what
    moves : of the cycle, from the unhitched truck to the road and back; none with no trailer
    levelling : from the empty truck to this load, the tank full
    change_over : from another profile to this one, the tank full; None where none was asked for
    demands : other users of the tank
    cycles : whole cycles that the tank gives before the compressor must run; None where there is none to count
    cycles_with_compressor : whole cycles back to back before one has to wait, MOST_CYCLES at the most; None alike
    cycle_interval : the least time from cycle to cycle that the compressor keeps up with, by its duty [s]; None alike
    pump_up_time : run time from cut-in to cut-out [s]
    first_pump_up_time : the same from an empty tank [s]
    rest : time off after it, by the duty [s]
    water : what the tank collects
    band : of the times [s] and the cycles [-] here, by their names; empty where every number of the supply is sure
    findings : worst first
    """

    setup: Setup
    supply: Supply
    use: Use
    moves: tuple[AirMove, ...]
    levelling: AirMove
    change_over: AirMove | None
    demands: tuple[DemandAnswer, ...]
    cycles: int | None
    cycles_with_compressor: int | None
    cycle_interval: float | None
    pump_up_time: float
    first_pump_up_time: float
    rest: float
    water: Water
    band: Mapping[str, Between] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()


def air_budget(
    setup: Setup, use: Use | None = None, change: ChangeOver | None = None, plan: HitchPlan | None = None
) -> AirBudget:
    """Return what a truck's air supply makes of hitching, of levelling and of its other users.

    Parameters
    ----------
    setup : Setup
    use : Use, optional
        Where and how often; else at sea level, 20 °C and 65 % humidity, twice a day.
    change : ChangeOver, optional
        From another profile to this one.
    plan : HitchPlan, optional
        Of hitching, where it is known already.

    Returns
    -------
    AirBudget

    Raises
    ------
    BadInput
        If the truck has no [air].
    ArithmeticError
        If the truck finds no rest on the way.

    Notes
    -----
    The cycle: from the truck levelled without its trailer to clear, meet, lift and tow, and the same way back. Air that
    goes in is what each bag holds afterwards less what it held, as free air; what is let out is lost. The tank starts
    at cut-out and is not pumped up between the moves unless it comes to cut-in. Water: vapour in the air drawn in, less
    what saturated air holds at cut-out and the same temperature, for all that the cycles and one use a day of each
    demand draw.

    Examples
    --------
    >>> from planner import open_folder
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> budget = air_budget(Setup.of(mill.profile, mill.truck, mill.trailer))
    >>> [move.name for move in budget.moves], budget.cycles
    (['clear', 'meet', 'lift', 'tow', 'unhitch'], 3)
    """
    use = use or Use()
    supply = Supply.of(setup.truck, use.altitude)
    if plan is None and setup.trailer is not None and setup.hitch is not None:
        plan = hitch_up(setup)
    ways = Ways.of(setup, supply, plan, change)
    every = ways.moves(supply)
    return _budget(setup, use, supply, every, _band(setup.truck, use.altitude, ways, Known(supply, every)))


def compare_supplies(setup: Setup, use: Use, scales: Mapping[str, Mapping[str, float]]) -> dict[str, AirBudget]:
    """Return the budgets of one truck with other supplies, by the names of these; without their bands.

    Parameters
    ----------
    setup, use
        As of `air_budget`.
    scales : mapping of name to mapping of field of [air] to factor
        What is scaled: two tanks of one size are {"tank_volume": 2.0}.

    Raises
    ------
    BadInput, ArithmeticError
        As `air_budget`.

    Examples
    --------
    >>> from planner import open_folder
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> found = compare_supplies(setup, Use(), {"one": {}, "two": {"tank_volume": 2.0}})
    >>> [budget.cycles for budget in found.values()]
    [3, 6]
    """
    supply = Supply.of(setup.truck, use.altitude)
    plan = hitch_up(setup) if setup.trailer is not None and setup.hitch is not None else None
    ways, found = Ways.of(setup, supply, plan, None), dict[str, AirBudget]()
    for name, scale in scales.items():
        other = Supply.of(setup.truck, use.altitude, {field: np.asarray(factor) for field, factor in scale.items()})
        found[name] = _budget(setup, use, other, ways.moves(other), {})
    return found


def _budget(
    setup: Setup, use: Use, supply: Supply, every: dict[str, AirMove], band: Mapping[str, Between]
) -> AirBudget:
    """Return the budget of a truck whose moves are known."""
    times = _times(supply, every)
    every = _with_bands(every, band)
    moves, levelling, whole = tuple(every[name] for name in CYCLE if name in every), every["level"], every.get(CHANGE)
    needed, demands = _air_of(moves), tuple(_demands(setup, supply))
    found = AirBudget(
        setup=setup,
        supply=supply,
        use=use,
        moves=moves,
        levelling=levelling,
        change_over=whole,
        demands=demands,
        cycles=int(supply.usable / needed * (1.0 + 1e-9)) if needed > 0 else None,
        cycles_with_compressor=_cycles_with_compressor(supply, moves) if needed > 0 else None,
        cycle_interval=float(times["cycle_interval"]) if needed > 0 else None,
        pump_up_time=float(times["pump_up_time"]),
        first_pump_up_time=float(times["first_pump_up_time"]),
        rest=float(times["rest"]),
        water=_water(supply, use, use.cycles * needed + sum(one.free_air for one in demands)),
        band=band,
    )
    return replace(found, findings=worst_first(tuple(_findings(found))))


def _air_of(moves: Iterable[AirMove]) -> float:
    """Return the free air that some moves take. [m³]"""
    return float(sum(np.nansum(move.free_air) for move in moves))


def _times(supply: Supply, every: Mapping[str, AirMove]) -> dict[str, Array]:
    """Return the times of a budget [s] and its cycles [-], by the names that `AirBudget.band` has."""
    needed = _air_of(every[name] for name in CYCLE if name in every)
    pump_up = supply.pump_up_time(supply.cut_in, supply.cut_out)
    found = {
        "pump_up_time": pump_up,
        "first_pump_up_time": supply.pump_up_time(0.0, supply.cut_out),
        "rest": pump_up * (1.0 / supply.duty - 1.0),
        "cycle_interval": supply.time_to_deliver(needed, supply.cut_in, supply.cut_out) / supply.duty,
        "cycles": supply.usable / needed if needed > 0 else 0.0,
    } | {name: move.longest for name, move in every.items()}
    return {name: np.asarray(value) for name, value in found.items()} | {
        f"{name} at corners": move.time for name, move in every.items()
    }


def _band(truck: Truck, altitude: float, ways: Ways, known: Known) -> Mapping[str, Between]:
    """Return the 95 % band of times and cycles; empty where every number of [air] is its owner's own.

    Each unsure number is made worse by one standard deviation. The logarithms of what times grow by are added up as
    independent errors are (GUM, JCGM 100:2008, sec. 5.1.2), as times go with powers of these numbers. The air goes the
    ways it went (`fill_alike`); where the tank may stall they are worked out afresh. A move that has to wait then, and
    else does not, takes longer but never less.
    """
    times = _times(known.supply, known.moves)
    more, less = ({name: np.zeros(np.shape(time)) for name, time in times.items()} for _ in range(2))
    worse = worse_by_one_deviation(truck)
    for field_name, factor in worse.items():
        supply = Supply.of(truck, altitude, {field_name: factor})
        moves = ways.moves(supply, known)
        waits = {name for name, move in moves.items() if move.stalled and not known.moves[name].stalled}
        for one, time in _times(supply, moves).items():
            with np.errstate(divide="ignore", invalid="ignore"):
                part = np.nan_to_num(np.log(time / times[one]), nan=0.0, posinf=np.inf, neginf=0.0) ** 2
            more[one] += part
            less[one] += 0.0 if one.removesuffix(" at corners") in waits else part
    if not worse:
        return {}
    with np.errstate(invalid="ignore"):  # of what takes no time, and of what never ends
        high = {
            name: np.where(time > 0, time * np.exp(SURE * np.sqrt(more[name])), time) for name, time in times.items()
        }
        low = {name: time * np.exp(-SURE * np.sqrt(less[name])) for name, time in times.items()}
    return {name: Between(low[name], high[name]) for name in times}


def change_over_air(change: ChangeOver, altitude: float = 0.0) -> AirMove:
    """Return what a change-over from one profile to another takes from a full tank, all its valves open at once.

    By a typical supply where the truck has no [air].

    Raises
    ------
    ArithmeticError
        If it finds no rest on the way.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.changeover import change_over
    >>> from planner.plans.saved_state import standing
    >>> read = open_folder("profiles").read_outfit
    >>> outfits = [read(slug) for slug in ("mill-bed-empty", "mill-on-the-hill-road")]
    >>> one, other = (standing(each.profile, each.truck, each.trailer) for each in outfits)
    >>> change_over_air(change_over(one, other)).name
    'change over'
    """
    truck = with_typical_air(change.after.setup.truck)
    supply = Supply.of(truck, altitude)
    ways = Ways.of_change(change, supply)
    every = ways.moves(supply)
    return _with_bands(every, _band(truck, altitude, ways, Known(supply, every)))[CHANGE]


def _with_bands(every: dict[str, AirMove], band: Mapping[str, Between]) -> dict[str, AirMove]:
    """Return moves with the bands of their times; as they are where there is no band."""
    if not band:
        return every
    return {
        name: replace(move, band=band[name], corner_band=band[f"{name} at corners"]) for name, move in every.items()
    }


def _demands(setup: Setup, supply: Supply) -> Iterator[DemandAnswer]:
    """Yield what each other user of the tank takes."""
    spare = float(supply.compressor.delivery(supply.cut_in)) * supply.duty
    for one in supply_record(setup.truck).demands:
        taken, flow = float(one.flow * one.time), float(one.flow)
        left = supply.cut_out - taken / float(free_air(1.0, supply.volume))
        yield DemandAnswer(
            name=one.name,
            free_air=taken,
            tank_pressure=left,
            lasts=supply.usable / flow,
            dry_after=float(free_air(supply.cut_out, supply.volume)) / flow,
            compressor_time=supply.pump_up_time(left, supply.cut_out) if left >= 0.0 else np.inf,
            kept_up=flow <= spare,
        )


def _cycles_with_compressor(supply: Supply, moves: Sequence[AirMove]) -> int:
    """Return how many whole cycles go back to back before a move has to wait, the compressor on from cut-in.

    By the air and the time of each move of the first cycle; a move is fed where the tank ends above all bags it fills.
    """
    tank, running = supply.cut_out, False
    for cycle in range(MOST_CYCLES):
        for move in moves:
            if move.stalled is not None:
                return cycle
            for one in move.fillings:
                running = tank < supply.cut_out if running else tank <= supply.cut_in
                made = float(supply.compressor.delivery(max(tank, 0.0))) * one.longest if running else 0.0
                tank += (made - float(np.nansum(one.air_in))) / float(free_air(1.0, supply.volume))
                tank = min(tank, supply.cut_out)
                if tank <= np.max(one.pressure[-1], initial=0.0, where=one.air_in > 0.0):
                    return cycle
    return MOST_CYCLES


def _water(supply: Supply, use: Use, drawn: float) -> Water:
    """Return the water that the tank collects from some free air a day [m³]."""
    kept = condensed(use.temperature, use.humidity, supply.cut_out + supply.ambient, use.temperature, supply.ambient)
    per_day = FREE_AIR_DRY_DENSITY * drawn * float(kept)
    room = WATER_KEPT * supply.volume * WATER_DENSITY
    return Water(per_day, min(room / per_day * DAY, WEEK) if per_day > 0 else WEEK)


def _findings(budget: AirBudget) -> Iterator[Finding]:
    """Yield what the owner should know of his air."""
    supply = budget.supply
    others = [budget.levelling, *([budget.change_over] if budget.change_over else [])]
    for move in [*budget.moves, *others]:
        if move.stalled is not None:
            yield _stall(move, move.stalled, supply.cut_out)
    if budget.cycles == 0:
        yield Finding(
            "note",
            "cycle-below-cut-in",
            "One hitching cycle takes the tank below cut-in at {limit}: the compressor runs before it is done.",
            "air taken and the tank's volume",
            {"limit": (supply.cut_in, "pressure")},
        )
    if supply.cut_out > TUBE_LIMIT:
        yield Finding(
            "caution",
            "cut-out-over-tubing",
            "The tank stands at up to {value}, over the {limit} that air-brake tubing to SAE J844 is made for: fit "
            "tubing rated for more, or a regulator, or set the switch lower.",
            "SAE J844",
            {"value": (supply.cut_out, "pressure"), "limit": (TUBE_LIMIT, "pressure")},
        )
    if guessed := typical_numbers(budget.setup.truck):
        names = ", ".join(name.replace("cut_", "cut-").replace("_", " ") for name in guessed)
        yield Finding(
            "note",
            "air-typical",
            f"Typical, not yet your own: {names}. Times are a range, right 19 times in 20; each number you measure "
            "makes it narrower.",
            "the truck's file, [air]",
        )
    for one in budget.demands:
        if one.tank_pressure < 0.0 and not one.kept_up:
            yield Finding(
                "caution",
                "demand-runs-dry",
                f"{_plain(one.name)} takes more in one go than the tank holds: the tank is empty after {{value}} "
                "with the compressor off. Take a larger tank or compressor, or use it for less time.",
                "flow and time of the demand",
                {"value": (one.dry_after, "time")},
            )


def _plain(name: str) -> str:
    """Return a name that a template shows as it is."""
    return name.replace("{", "{{").replace("}", "}}")


def _stall(move: AirMove, filling: Filling, limit: float) -> Finding:
    """Return the finding of a move that the tank cannot feed."""
    stalled = np.isfinite(filling.stalled_at)
    k = 1 if stalled[1].any() else 0
    where = f"the {AXLES[k]}" if stalled.any(axis=1).sum() == 1 else f"front and rear, the {AXLES[k]}"
    at: tuple[float, Kind] = (float(np.nanmin(filling.stalled_at[k])), "pressure")
    name = {"level": "Levelling", CHANGE: "The change-over"}.get(move.name, move.name.capitalize())
    code, source = f"{move.name.replace(' ', '-')}-stalls", "air taken and the tank's volume"
    if not np.isfinite(filling.wait):
        words = f"{name} cannot be fed: {where} stalls at {{value}}, and the compressor stops at {{limit}}."
        return Finding("stop", code, words, source, {"value": at, "limit": (limit, "pressure")})
    words = f"{name} takes more than the tank holds: {where} stalls at {{value}}; wait {{wait}} for the compressor."
    return Finding("caution", code, words, source, {"value": at, "wait": (filling.wait, "time")})
