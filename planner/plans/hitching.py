"""Hitching: four stages from backing under to towing, and what to do where the dip does not reach."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from planner.physics import levelling
from planner.physics.bag_limits import Limit
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.level_goal import Coupling
from planner.physics.levelling import Levelled
from planner.physics.statics import Load
from planner.physics.trailer import Pitched, pitched
from planner.physics.truck_model import Rig
from planner.physics.validation import Array, Codes
from planner.plans.answer import AXLES, SIDES, Answer, Stance
from planner.plans.findings import worst_first
from planner.plans.hitching_findings import hitch_findings
from planner.plans.hitching_stages import REACHED, STAGES, HitchPlan, JackShare, Reach, Stage, StageName, Way
from planner.plans.level import hitch_heights, levelled_answer, ride_heights
from planner.plans.load_case import load_case, loads_of
from planner.plans.setup import Setup, rig_of
from planner.records import BadInput, Hitch, Problem, Trailer

PLATE_ABOVE: Final = 0.0127  # [m] ½ in over the parked height, so that the plate lifts the trailer: CDL manual
TOW_ONLY: Final = (  # findings of a truck on the road
    "headlamp-aim",
    "side-bias-on-ball",
    "frame-twist",
    "tongue-",
    "trailer-",
    "gcwr",
    "d-value",
    "v-value",
    "front-axle-light",
)
SHARES: Final = np.linspace(0.0, 1.0, 21)  # of the tongue load, between meet and lift
ON_TRUCK: Final = np.array([0.0, 0.0, 1.0])  # of the tongue load, at clear, meet and lift
_BEFORE_TOW: Final = tuple(enumerate(STAGES[:3]))


@dataclass(frozen=True, eq=False)
class _Hitching:
    """What all stages share, of one setup or of many with one truck, trailer and hitch, (n,).

    wanted : rises and roll, shape (n, 3) [m, rad]
    """

    setups: Sequence[Setup]
    rig: Rig
    hitch: Hitch
    trailer: Trailer
    wanted: Array

    @classmethod
    def of(cls, setups: Sequence[Setup]) -> _Hitching:
        """Return what they share; BadInput if there is no trailer to hitch."""
        first = setups[0]
        if first.trailer is None or first.hitch is None:
            raise BadInput([Problem("profile", "trailer", "", "is needed for hitching", 'add trailer = "band-mill"')])
        wanted = np.array([one.wanted for one in setups])
        return cls(setups, rig_of(first.truck), first.hitch, first.trailer, wanted)

    @property
    def arm(self) -> float:
        """Coupling's place over the wheelbase, x/L. [-]"""
        return float(self.hitch.x / self.setups[0].truck.wheelbase)

    def rear_rise(self, height: Array, front: Array, roll: Array) -> Array:
        """Return the rear's rise that puts the coupling at a height, the front's rise and the roll given. [m]"""
        rise: Array = (height - self.hitch.height - front * self.arm - roll * self.hitch.y) / (1.0 - self.arm)
        return rise

    def load(self, share: Array) -> Load:
        """Return the loads with shares (s,) of the tongue load on the truck, bars slack, (n, s)."""
        return loads_of(self.setups, self.rig, share)

    def at_height(self, height: Array, share: Array) -> Levelled:
        """Return the levelling at coupling heights (n, s) with shares (s,) of the tongue load, (n, s).

        The coupling's height comes first, then the lean, then the front's rise: raising the front dips a hitch behind
        the rear axle where the rear alone does not come down far enough.
        """
        front, _, roll = (np.broadcast_to(part[:, None], height.shape) for part in self.wanted.T)
        wanted = np.stack([front, self.rear_rise(height, front, roll), roll], axis=-1)
        return levelling.level(self.rig, self.load(share), wanted, Coupling(self.arm, float(self.hitch.y)))

    def rear_heights(self, held: Levelled) -> Array:
        """Return wheel centre to arch lip at the rear, left and right, at clear, meet and lift, (n, 3, 2). [m]"""
        state = held.state[:, : len(ON_TRUCK)]
        return ride_heights(self.setups[0].truck, self.rig, self.load(ON_TRUCK), state)[..., 1, :]


def hitch_up(setup: Setup, tow: Answer | None = None) -> HitchPlan:
    """Return the four stages of hitching, each a levelling with its own stance and load.

    Parameters
    ----------
    setup : Setup
        With a trailer and a hitch.
    tow : Answer, optional
        How it stands on the road, as on pressures that are saved; left out: levelled.

    Returns
    -------
    HitchPlan

    Raises
    ------
    BadInput
        If there is no trailer to hitch.

    Notes
    -----
    Coupling height z = z_kerb + z_r + (z_f - z_r) x/L + φ y. Clear: no tongue load, ball centre at parked height - ball
    radius - gap, a fifth wheel's plate half an inch above the parked height. Meet: no tongue load, parked height.
    Lift: whole tongue load, bars slack, parked height and what stows the jack. Tow: the levelled stance, bars set.
    Where clear is out of reach the front is raised first, which tips a coupling behind the axle down by |x|/L of the
    rise; what is left the trailer's jack must go up.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.setup import Setup
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> [stage.name for stage in hitch_up(setup).stages]
    ['clear', 'meet', 'lift', 'tow']
    """
    ways = _Hitching.of([setup])
    targets = _targets(ways)
    parked = float(ways.trailer.parked_height)
    aims = np.concatenate([_aims(ways, targets), np.full((1, SHARES.size), parked)], axis=1)
    held = ways.at_height(aims, np.concatenate([ON_TRUCK, SHARES]))
    on_road = _tow(ways, setup, tow)
    way = _way(ways, held, targets, 0, on_road.answer.set.stance, ways.rear_heights(held)[0])
    stages = (*(_stage(ways, reach, _one(held, (0, n))) for n, reach in enumerate(way.stages)), on_road)
    pressure = np.where(ways.rig.has_bag[:, None], held.pressure[0, len(ON_TRUCK) :], np.nan)
    plan = HitchPlan(
        setup=setup,
        stages=stages,
        front_raise=way.front_raise,
        jack_up=way.jack_up,
        ball_mount_drop=way.ball_mount_drop,
        pitch=_pitch(ways.trailer, on_road.height),
        jack_share=JackShare(SHARES, pressure),
        bed_clearance=way.bed_clearance,
    )
    return replace(plan, findings=worst_first((*hitch_findings(plan), *on_road.answer.findings)))


def ways_to(setups: Sequence[Setup], tows: Sequence[Stance]) -> list[Way]:
    """Return the way to the trailer of each of many setups with one truck, trailer and hitch: see :func:`hitch_up`.

    tows : how each stands on the road, at the pressures set
    """
    ways = _Hitching.of(setups)
    targets = _targets(ways)
    held = ways.at_height(_aims(ways, targets), ON_TRUCK)
    heights = ways.rear_heights(held)
    return [_way(ways, held, targets, n, tow, heights[n]) for n, tow in enumerate(tows)]


def _targets(ways: _Hitching) -> Array:
    """Return the coupling heights that clear, meet and lift ask for, shape (n, 3). [m]"""
    parked, hitch = float(ways.trailer.parked_height), ways.hitch
    gaps, lifts = (
        np.array([float(getattr(one.hitching, name)) for one in ways.setups]) for name in ("gap", "stow_lift")
    )
    clear = parked - float(hitch.ball_diameter or 0.0) / 2.0 - gaps
    if hitch.coupling == "fifth_wheel":
        clear = np.full_like(gaps, parked + PLATE_ABOVE)
    return np.stack([clear, np.full_like(gaps, parked), parked + lifts], axis=-1)


def _aims(ways: _Hitching, targets: Array) -> Array:
    """Return the same with no hitch lower at clear than where it touches the ground. [m]"""
    return np.maximum(targets, [_lowest(ways), -np.inf, -np.inf])


def _lowest(ways: _Hitching) -> float:
    """Return how low the coupling may go before the hitch touches the ground. [m]"""
    return float(ways.hitch.lowest_height or -np.inf)


def _way(ways: _Hitching, held: Levelled, targets: Array, n: int, tow: Stance, rear_heights: Array) -> Way:
    """Return the way of one case, its stance at tow and its rear's heights before it known."""
    setup, trailer = ways.setups[n], ways.trailer
    stages = tuple(_reach(ways, name, float(targets[n, place]), _one(held, (n, place))) for place, name in _BEFORE_TOW)
    clear, height = stages[0], float(hitch_heights(setup, np.array([tow.front, tow.rear, tow.roll])))
    return Way(
        setup=setup,
        stages=stages,
        rear_heights=rear_heights,
        front_raise=clear.rises[0] - float(ways.wanted[n, 0]) if ways.rig.has_bag[0] else 0.0,
        jack_up=_jack_up(ways, clear),
        ball_mount_drop=height - float(trailer.coupling_height),
        bed_clearance=_bed_clearance(ways, [*stages, Reach("tow", height, height, True, "", (tow.front, tow.rear))]),
    )


def _reach(ways: _Hitching, name: StageName, target: float, levelled: Levelled) -> Reach:
    """Return how far one case gets in one stage before tow."""
    height = float(hitch_heights(ways.setups[0], levelled.state))
    off = height - target
    reachable = abs(off) <= REACHED or (name == "clear" and ways.hitch.coupling != "fifth_wheel" and off < 0)
    why = "" if reachable else _in_the_way(levelled.held)
    if name == "clear" and target < _lowest(ways) - REACHED:
        reachable, why = False, "the hitch would touch the ground"
    return Reach(name, height, target, reachable, why, (float(levelled.state[0]), float(levelled.state[1])))


def _one(levelled: Levelled, case: tuple[int, int]) -> Levelled:
    """Return one case of a batch."""
    return Levelled(*(part[case] for part in levelled))


def _stage(ways: _Hitching, reach: Reach, levelled: Levelled) -> Stage:
    """Return a stage of the only case with what the truck then carries."""
    (setup,), share = ways.setups, 1.0 if reach.name == "lift" else 0.0
    front, roll = levelled.state[0], ways.wanted[0, 2]
    rear = float(ways.rear_rise(np.asarray(reach.target), front, roll))
    base = setup if share else setup.without_trailer()
    if base.trailer is not None:
        base = replace(base, trailer=base.trailer.replaced(bars=0.0))
    asked = replace(base, raised=(float(front) - setup.stance.front, rear - setup.stance.rear))
    load = load_case(setup, ways.rig, tongue_on=share).load
    answer = levelled_answer(asked, ways.rig, load, levelled, on_road=False)
    kept = tuple(finding for finding in answer.findings if not finding.code.startswith(TOW_ONLY))
    return Stage(reach.name, replace(answer, findings=kept), reach.target, reach.reachable, reach.stopped_by)


def _in_the_way(held: Codes) -> str:
    """Return which limit holds which corners, in words; the rear first, as it moves the coupling most."""
    words = {
        Limit.LEAST_PRESSURE: "its least pressure",
        Limit.GREATEST_PRESSURE: "its greatest pressure",
        Limit.LOAD_RATING: "its load rating",
        Limit.LOWEST_HEIGHT: "the lowest height of its chart, just above the bump stop",
        Limit.HIGHEST_HEIGHT: "the greatest height of its chart",
    }
    for k in (1, 0):
        sides = " and ".join(side for side, code in zip(SIDES, held[k], strict=True) if code)
        if sides:
            return f"the {AXLES[k]} {sides} bag is at {words[Limit(int(held[k].max()))]}"
    return "an axle with no bag stays where its steel holds it"


def _tow(ways: _Hitching, setup: Setup, answer: Answer | None) -> Stage:
    """Return how it stands on the road as the last stage; levelled, where that is not given."""
    why = "the pressures saved do not level it"
    if answer is None:
        load = setup.load(ways.rig)
        levelled = levelling.level(ways.rig, load, setup.wanted)
        answer, why = levelled_answer(setup, ways.rig, load, levelled), _in_the_way(levelled.held)
    target = float(hitch_heights(setup, setup.wanted))
    return Stage("tow", answer, target, answer.level, "" if answer.level else why)


def _jack_up(ways: _Hitching, clear: Reach) -> float:
    """Return how far the jack must go up so that the lowest dip clears, or down, < 0, to a plate that stays low. [m]"""
    if clear.reachable:
        return 0.0
    if ways.hitch.coupling == "fifth_wheel" and clear.height < clear.target:
        return clear.height - clear.target
    lowest = max(clear.height, float(ways.hitch.lowest_height or 0.0))
    return max(lowest - clear.target, 0.0)


def _pitch(trailer: Trailer, height: float) -> Pitched:
    """Return what a coupling height does to the trailer; axles are taken as equalised where nothing else is said."""
    equalised = trailer.axle_spacing is None or trailer.axle_rate is None or trailer.axle_count == 1
    count = 1 if equalised else trailer.axle_count
    places = (np.arange(count) - (count - 1) / 2.0)[::-1] * float(trailer.axle_spacing or 0.0)
    return pitched(
        height - float(trailer.coupling_height),
        float(trailer.axle_distance),
        places,
        float(trailer.axle_rate or 1.0),
        weight=0.0 if equalised else trailer.weight * G,
        centre_height=float(trailer.centre_height or 0.0),
    )


def _bed_clearance(ways: _Hitching, stages: Sequence[Reach]) -> tuple[float, ...] | None:
    """Return the room between the truck's bed end and the trailer's underside at each stage, both tilted. [m]"""
    truck, trailer = ways.setups[0].truck, ways.trailer
    bed = truck.bed
    if bed is None or bed.rail_height is None or trailer.underside is None:
        return None
    end = truck.bed_limits.rear
    rooms = []
    for stage in stages:
        coupled = stage.height if stage.name in ("lift", "tow") else float(trailer.parked_height)
        nose_up = (coupled - trailer.coupling_height) / trailer.axle_distance
        under = coupled + trailer.underside - nose_up * (ways.hitch.x - end)
        front, rear = stage.rises
        rail = bed.rail_height + rear + (front - rear) * end / truck.wheelbase
        rooms.append(float(under - rail))
    return tuple(rooms)
