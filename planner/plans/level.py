"""Levelling and settling as an owner asks for them: records in, an Answer out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from planner.errors import BadInput, Problem
from planner.physics import levelling, ride
from planner.physics.air_spring import spring_rate
from planner.physics.atmosphere import standard_pressure
from planner.physics.constants import REFERENCE_TEMPERATURE, RIDE_EXPONENT, STANDARD_GRAVITY
from planner.physics.equilibrium import Air, HeldPressure, SealedAir, Settled
from planner.physics.equilibrium import settle as settle_arrays
from planner.physics.levelling import Levelled
from planner.physics.standing_truck import StandingTruck
from planner.physics.statics import Load
from planner.physics.truck_model import Rig
from planner.physics.validation import Array, Codes
from planner.plans.answer import AXLES, CORNERS, Answer, Setting, Stance
from planner.plans.findings import findings, worst_first
from planner.plans.gauge_rounding import round_to_gauge, step_that_does
from planner.plans.rating_findings import label_findings
from planner.plans.ratings import misses_wanted
from planner.plans.setup import Setup, rig_of
from planner.plans.stance_findings import TOO_COARSE, Ways
from planner.records import Cargo, Trailer, Truck, nearest
from planner.records import Stance as WantedStance
from planner.units.arguments import Amount, in_si
from planner.units.quantity import shown

NOTHING_HELD: Codes = np.zeros((2, 2), np.int8)


@dataclass(frozen=True)
class Shut:
    """Valves shut: the air as it is now, and as it was when they were shut.

    Attributes
    ----------
    temperature, set_temperature : of the gas [K]
    altitude, set_altitude : above sea level [m]
    """

    temperature: float | Any = REFERENCE_TEMPERATURE  # a text or a quantity of pint's is read into SI
    altitude: float | Any = 0.0
    set_temperature: float | Any = REFERENCE_TEMPERATURE
    set_altitude: float | Any = 0.0

    def __post_init__(self) -> None:
        """Read what has a unit; BadInput if it is no temperature or no altitude."""
        for name in ("temperature", "set_temperature"):
            object.__setattr__(self, name, in_si(name, getattr(self, name), "temperature"))
        for name in ("altitude", "set_altitude"):
            object.__setattr__(self, name, in_si(name, getattr(self, name), "length"))


def level(
    truck: Truck,
    *,
    trailer: Trailer | None = None,
    hitch: str | None = None,
    cargo: Sequence[Cargo | Mapping[str, Any]] = (),
    stance: WantedStance | Mapping[str, Any] | None = None,
    left_share: float = 0.5,
) -> Answer:
    """Return the pressures that bring a truck to the wanted stance, and what it then carries.

    Parameters
    ----------
    truck : Truck
    trailer : Trailer, optional
        Leave out for the truck alone.
    hitch : str, optional
        Name of the hitch; may be left out where just one fits the trailer.
    cargo : sequence of Cargo
        Or of mappings of their fields, such as ``{"name": "saw", "weight": "60 lb", "x": 1.2}``, bare numbers in SI.
    stance : Stance, optional
        Or a mapping of its fields, such as ``{"rear": "1 in"}``; level, where left out.
    left_share : float
        Share of the hitch load on the left, for a coupling that passes it.

    Returns
    -------
    Answer

    Raises
    ------
    BadInput
        If the records do not fit each other; it names every problem.

    Examples
    --------
    >>> from planner import read_trailer, read_truck
    >>> truck = read_truck("profiles/trucks/ridge-truck.toml")
    >>> trailer = read_trailer("profiles/trailers/band-mill.toml")
    >>> level(truck, trailer=trailer, hitch="receiver").level
    True
    """
    return level_setup(Setup.from_parts(truck, trailer, hitch, cargo, stance, left_share))


def level_setup(setup: Setup) -> Answer:
    """Return the answer of levelling for a setup.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> level_setup(setup)
    <Answer: set front left 36 psi, front right 34 psi, rear left 37 psi, rear right 36 psi
     level: front -1.4 mm, rear -2.4 mm, roll +0.01°
     no findings>
    """
    rig = rig_of(setup.truck)
    load = setup.load(rig)
    return levelled_answer(setup, rig, load, levelling.level(rig, load, setup.wanted))


def levelled_answer(setup: Setup, rig: Rig, load: Load, levelled: Levelled, *, on_road: bool = True) -> Answer:
    """Return one case of levelling as an answer; a stage of hitching is not on the road."""
    stands = StandingTruck(rig, load, levelled.state, levelled.pressure)
    settled = round_to_gauge(setup, rig, load, levelled)
    ways = Ways(
        held=levelled.held,
        fixed=settled.fixed,
        converged=bool(levelled.converged) and bool(settled.converged),
        upright=bool(stands.upright),
        finer=lambda: step_that_does(setup, rig, load, levelled),
        on_road=on_road,
    )
    return _answer(setup, stands, setting_of(setup, settled.state, setting_arrays(rig, settled)), ways)


def settle(
    truck: Truck,
    pressure: Mapping[str, Amount],
    *,
    trailer: Trailer | None = None,
    hitch: str | None = None,
    cargo: Sequence[Cargo | Mapping[str, Any]] = (),
    stance: WantedStance | Mapping[str, Any] | None = None,
    left_share: float = 0.5,
    later: Setup | None = None,
    shut: Shut | None = None,
) -> Answer:
    """Return where a truck sits at given pressures, or with the valves shut on them.

    ``pressure``, ``later`` and ``shut`` are those of :func:`settle_setup`, the others those of :func:`level`.

    Examples
    --------
    >>> from planner import read_truck
    >>> truck = read_truck("profiles/trucks/ridge-truck.toml")
    >>> sits = settle(truck, {"rear_left": "30 psi", "rear_right": "25 psi"})
    >>> sits.stance.roll > 0
    True
    """
    return settle_setup(Setup.from_parts(truck, trailer, hitch, cargo, stance, left_share), pressure, later, shut)


def settle_setup(
    setup: Setup, pressure: Mapping[str, Amount], later: Setup | None = None, shut: Shut | None = None
) -> Answer:
    """Return where a truck sits at given pressures, or with the valves shut on them.

    Parameters
    ----------
    setup : Setup
    pressure : mapping of corner name ("front_left", …) to gauge pressure
        A corner left out is at its levelled pressure. [Pa]
    later : Setup, optional
        What the truck carries now, if that changed after the pressures were set.
    shut : Shut, optional
        Temperature and altitude since the valves were shut; None holds the pressures whatever comes.

    Returns
    -------
    Answer

    Raises
    ------
    Refusal
        If a corner has no bag, a pressure is negative, or two bags on one line are given two pressures.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> settle_setup(setup, {"rear_left": "30 psi"}).level
    False
    """
    rig = rig_of(setup.truck)
    load = setup.load(rig)
    levelled = levelling.level(rig, load, setup.wanted)
    gauge = given_pressures(setup.truck, levelled.pressure, pressure)
    air: Air = HeldPressure(gauge)
    settled = settle_arrays(rig, load, air, levelled.state)
    if shut is not None:
        air = _sealed(rig, settled, shut)
    setup = later or setup
    load = setup.load(rig)
    settled = settle_arrays(rig, load, air, settled.state)
    setting = setting_of(setup, settled.state, setting_arrays(rig, settled), sealed=shut is not None)
    stands = StandingTruck(rig, load, settled.state, settled.pressure)
    converged, upright = bool(settled.converged), bool(stands.upright)
    return _answer(
        setup, stands, setting, Ways(NOTHING_HELD, settled.fixed, converged, upright, plan=lambda: level_setup(setup))
    )


def taped_answer(setup: Setup, planned: Answer, pressure: Mapping[str, Amount]) -> Answer:
    """Return the levelled answer on pressures by which a tape has found the truck to stand so.

    What the truck is said to carry and its charts give other pressures for this stance, so they are not asked where it
    stands on these; labels and limits are held against these.

    Parameters
    ----------
    setup, pressure
        As of `settle_setup`.
    planned : Answer
        As `level_setup` has it for the setup.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> answer = taped_answer(setup, level_setup(setup), {"rear_left": "42 psi"})
    >>> answer.level, round(float(answer.set.pressure[1, 0]) / 6894.757)
    (True, 42)
    """
    rig = rig_of(setup.truck)
    gauge = given_pressures(setup.truck, np.nan_to_num(planned.set.pressure), pressure)
    shown, load = (_of_bags(rig, one) for one in (gauge, rig.bag_load(np.nan_to_num(planned.set.bag_height), gauge)))
    setting = replace(planned.set, pressure=shown, bag_load=load)
    answer = replace(planned, pressure=shown, bag_load=load, set=setting)
    of_labels = {one.code for one in label_findings(setup, planned, None)}
    rest = (one for one in planned.findings if one.code not in {*of_labels, TOO_COARSE})
    return replace(answer, findings=worst_first((*label_findings(setup, answer, lambda: planned), *rest)))


def _answer(setup: Setup, stands: StandingTruck, setting: Setting, ways: Ways) -> Answer:
    """Return one case with its findings."""
    answer = answer_of(setup, stands.state, answer_arrays(setup, stands), setting, converged=ways.converged)
    return with_findings(setup, answer, ways)


def given_pressures(truck: Truck, planned: Array, given: Mapping[str, Amount]) -> Array:
    """Return the planned pressures with the given ones in their place, shape (2, 2). [Pa]

    Raises
    ------
    BadInput
        With every corner that has no bag or no such name, every pressure that is none, and two on one line that differ.

    Examples
    --------
    >>> from planner import read_truck
    >>> truck = read_truck("profiles/trucks/ridge-truck.toml")
    >>> given_pressures(truck, np.zeros((2, 2)), {"rear_left": "2 bar"}).tolist()
    [[0.0, 0.0], [200000.0, 0.0]]
    """
    gauge, problems, found = planned.copy(), list[Problem](), dict[str, float]()
    for corner, value in given.items():
        try:
            found[corner] = _given_pressure(truck, corner, value)
        except BadInput as bad:
            problems += bad.problems
    for corner, pressure in found.items():
        k, i = divmod(CORNERS.index(corner), 2)
        joined, across = (truck.front, truck.rear)[k].plumbing == "joined", CORNERS[2 * k + 1 - i]
        if joined and i == 0 and found.get(across, pressure) != pressure:
            got = f"{_as_given(given[corner], pressure)} and {_as_given(given[across], found[across])}"
            rule = f"and {across} share one line"
            problems.append(Problem("", corner, got, rule, "give them one pressure"))
        gauge[k, slice(None) if joined else i] = pressure
    if problems:
        raise BadInput(problems)
    return gauge


def _given_pressure(truck: Truck, corner: str, value: Amount) -> float:
    """Return the pressure given for one corner [Pa]; BadInput if the corner or the pressure cannot be."""
    if corner not in CORNERS:
        swapped = "_".join(reversed(corner.split("_")))
        near = swapped if swapped in CORNERS else nearest(corner, CORNERS)
        remedy = f"did you mean {near}?" if near else "name one of them"
        rule = f"a corner must be one of {', '.join(CORNERS)}"
        raise BadInput([Problem("", "pressure", shown(corner), rule, remedy)])
    pressure = in_si(corner, value, "pressure")
    got, axle = _as_given(value, pressure), CORNERS.index(corner) // 2
    if (truck.front, truck.rear)[axle].bag is None:
        raise BadInput([Problem("", corner, got, f"the {AXLES[axle]} axle has no bag", "leave this pressure out")])
    if pressure < 0:
        raise BadInput([Problem("", corner, got, "must be a gauge pressure >= 0", "check the number and its unit")])
    return pressure


def _as_given(value: Amount, pressure: float) -> str:
    """Return a pressure [Pa] as it was typed, in Pa where it was not."""
    text = getattr(value, "text", value)
    return shown(text) if isinstance(text, str) else f"{pressure:g} Pa"


def _sealed(rig: Rig, settled: Settled, shut: Shut) -> SealedAir:
    """Return the air shut in at a settled stance, as it is now."""
    return SealedAir.shut(
        rig,
        settled.height,
        settled.pressure,
        ambient=standard_pressure(shut.set_altitude),
        temperature=np.asarray(shut.set_temperature),
        ambient_now=standard_pressure(shut.altitude),
        temperature_now=np.asarray(shut.temperature),
    )


def setting_arrays(rig: Rig, settled: Settled) -> dict[str, Array]:
    """Return the arrays of a `Setting` by their names, of one case or of many of one truck."""
    parts = {"pressure": settled.pressure, "bag_height": settled.height, "bag_load": settled.bag_load}
    return {name: _of_bags(rig, part) for name, part in parts.items()}


def _of_bags(rig: Rig, values: Array) -> Array:
    """Return values at the corners, NaN where there is no bag."""
    return np.where(rig.has_bag[:, None], values, np.nan)


def setting_of(setup: Setup, state: Array, arrays: Mapping[str, Array], *, sealed: bool = False) -> Setting:
    """Return one case of `setting_arrays` in its state as a setting."""
    return Setting(**arrays, stance=Stance.of(state), coupling_height=coupling_height(setup, state), sealed=sealed)


def coupling_height(setup: Setup, state: Array) -> float | None:
    """Return the height of ball centre or plate above ground in one state; None with no hitch. [m]

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> round(coupling_height(setup, np.zeros(4)), 3)
    0.483
    """
    return None if setup.hitch is None else float(hitch_heights(setup, state))


def hitch_heights(setup: Setup, states: Array) -> Array:
    """Return the height of ball centre or plate above ground, z = z_kerb + z_r + (z_f - z_r) x/L + φ y, (...). [m]

    states : rises and roll first, shape (..., 3) or more; the setup has a hitch

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> hitch_heights(setup, np.array([[0.0, 0.0, 0.0], [0.0, 0.05, 0.0]])).round(3).tolist()  # 50 mm up behind
    [0.483, 0.549]
    """
    hitch = setup.hitch
    assert hitch is not None  # its callers have asked
    front, rear, roll = states[..., 0], states[..., 1], states[..., 2]
    height: Array = hitch.height + rear + (front - rear) * (hitch.x / setup.truck.wheelbase) + roll * hitch.y
    return height


def ride_heights(truck: Truck, rig: Rig, load: Load, state: Array) -> Array:
    """Return wheel centre to arch lip at each corner in states, shape (..., 2, 2). [m]"""
    design = np.array([[float(truck.front.ride_height)], [float(truck.rear.ride_height)]])
    return design + rig.ride_heights(load, state)


def answer_arrays(setup: Setup, stands: StandingTruck) -> dict[str, Array]:
    """Return the arrays of an `Answer` by their names, of one case or of many of one truck at the exact pressures."""
    rig, load, state, pressure = stands.rig, stands.load, stands.state, stands.pressure
    on_hitch, cases = setup.hitched(), state.shape[:-1]
    moments = rig.axle_moments(load, state)
    return {
        "pressure": _of_bags(rig, pressure),
        "bag_height": _of_bags(rig, stands.corners.spring_height),
        "bag_load": _of_bags(rig, pressure * stands.springs.area),
        "spring_load": stands.corners.spring_force * rig.motion_ratio[:, None],
        "tyre_load": rig.tyre_loads(load, moments),
        "ride_height": ride_heights(setup.truck, rig, load, state),
        "axle_load": load.axle,
        "side_moment": moments,
        "frame_twist": moments[..., 0] - load.least_twist_at(state[..., 2]),
        "bounce_frequency": _bounce(rig, load, _bag_rate(stands) + stands.springs.steel_slope),
        "hitch_load": np.full(cases, on_hitch.hitch_load),
        "trailer_axle_load": np.full(cases, on_hitch.trailer_axle_load),
    }


def answer_of(setup: Setup, state: Array, arrays: Mapping[str, Array], setting: Setting, *, converged: bool) -> Answer:
    """Return one case of `answer_arrays` in its state as an answer, yet without findings."""
    stance = Stance.of(state)
    numbers: dict[str, Any] = {name: value if value.ndim else float(value) for name, value in arrays.items()}
    stands = np.array([(one.front, one.rear, one.roll) for one in (stance, setting.stance)])
    return Answer(
        **numbers,
        stance=stance,
        coupling_height=coupling_height(setup, state),
        level=not misses_wanted(setup, stands, setup.wanted).any(),
        set=setting,
        findings=(),
        converged=converged,
        setup=setup,
    )


def with_findings(setup: Setup, answer: Answer, ways: Ways) -> Answer:
    """Return an answer with its findings."""
    return replace(answer, findings=findings(setup, answer, ways))


def _bag_rate(stands: StandingTruck) -> Array:
    """Return the rate of each bag as it moves, 0 where there is none, shape (..., 2, 2). [N/m]"""
    springs, there = stands.springs, stands.rig.has_bag[:, None]
    area = np.where(there, springs.area, 1.0)
    rate = spring_rate(
        stands.pressure,
        area,
        stands.gas_volume,
        area_slope=springs.area_slope,
        exponent=RIDE_EXPONENT,
        load_gain=springs.load_gain,
        gas_growth=stands.rig.gas_growth(stands.corners.spring_height, area),
    )
    return np.where(there, rate, 0.0)


def _bounce(rig: Rig, load: Load, spring: Array) -> Array:
    """Return each axle's bounce frequency, shape (..., 2), from the rates of its springs, (..., 2, 2) [N/m]. [Hz]

    Both corners' wheel rates, in series with the axle's tyres, under its sprung mass. 0 where the springs carry
    nothing, or give less as they are loaded: there is no bounce to speak of.
    """
    wheel = rig.motion_ratio**2 * (spring[..., 0] + spring[..., 1])
    sprung = (load.axle - rig.unsprung_load) / STANDARD_GRAVITY
    bounces = (sprung > 0) & (wheel > 0)
    felt = ride.ride_rate(np.where(bounces, wheel, 1.0), 2.0 * rig.tyre_rate)
    frequency = ride.bounce_frequency(felt, np.where(bounces, sprung, 1.0))
    return np.where(bounces, frequency, 0.0)
