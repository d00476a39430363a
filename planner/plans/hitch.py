"""Hitching: four stages from backing under to towing, and what to do where the dip does not reach."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from planner.physics import levelling
from planner.physics.active_set import Limit
from planner.physics.checks import Array, Codes
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.level_goal import Coupling
from planner.physics.levelling import Levelled
from planner.physics.rig import Rig
from planner.physics.statics import Load
from planner.physics.trailer import Pitched, pitched
from planner.plans.answer import AXLES, SIDES
from planner.plans.findings import worst_first
from planner.plans.hitch_findings import hitch_findings
from planner.plans.level import hitch_heights, levelled_answer
from planner.plans.load_case import load_case
from planner.plans.setup import Setup, rig_of
from planner.plans.stages import REACHED, HitchPlan, JackShare, Stage, StageName
from planner.records import BadInput, Hitch, Problem, Trailer

PLATE_ABOVE: Final = 0.0127  # [m] ½ in over the parked height, so that the plate lifts the trailer: CDL manual
TOW_ONLY: Final = (  # findings of a truck on the road
    "headlamp-aim",
    "side-bias-on-ball",
    "frame-twist",
    "tongue-",
    "trailer-",
    "gcwr",
    "front-axle-light",
)
SHARES: Final = np.linspace(0.0, 1.0, 21)  # of the tongue load, between meet and lift


@dataclass(frozen=True, eq=False)
class _Hitching:
    """What all stages share: setup, rig, hitch, trailer, and the front's wanted rise."""

    setup: Setup
    rig: Rig
    hitch: Hitch
    trailer: Trailer

    @property
    def arm(self) -> float:
        """Coupling's place over the wheelbase, x/L. [-]"""
        return float(self.hitch.x / self.setup.truck.wheelbase)

    def rear_rise(self, height: Array, front: Array) -> Array:
        """Return the rear's rise that puts the coupling at a height, the front's rise given. [m]"""
        roll = float(self.setup.wanted[2])
        rise: Array = (height - self.hitch.height - front * self.arm - roll * self.hitch.y) / (1.0 - self.arm)
        return rise

    def load(self, share: Array | float) -> Load:
        """Return the load with a share of the tongue load on the truck, or with each of many, bars slack."""
        return load_case(self.setup, self.rig, tongue_on=share).load

    def at_height(self, height: Array, share: Array) -> Levelled:
        """Return the levelling of a batch of coupling heights and shares of the tongue load, shape (n,).

        The coupling's height comes first, then the lean, then the front's rise: raising the front dips a hitch behind
        the rear axle where the rear alone does not come down far enough.
        """
        front, _, roll = (np.full_like(height, part) for part in self.setup.wanted)
        wanted = np.stack([front, self.rear_rise(height, front), roll], axis=-1)
        return levelling.level(self.rig, self.load(share), wanted, Coupling(self.arm, float(self.hitch.y)))


def hitch_up(setup: Setup) -> HitchPlan:
    """Return the four stages of hitching, each a levelling with its own stance and load.

    Parameters
    ----------
    setup : Setup
        With a trailer and a hitch.

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
    """
    if setup.trailer is None or setup.hitch is None:
        raise BadInput([Problem("profile", "trailer", "", "is needed for hitching", 'add trailer = "band-mill"')])
    ways = _Hitching(setup, rig_of(setup.truck), setup.hitch, setup.trailer)
    parked = float(setup.trailer.parked_height)
    lifted, target, lowest = parked + float(setup.hitching.stow_lift), _clear_target(ways), _lowest(ways)
    heights = np.concatenate([[max(target, lowest), parked, lifted], np.full(SHARES.size, parked)])
    held = ways.at_height(heights, np.concatenate([[0.0, 0.0, 1.0], SHARES]))
    clear = _stage(ways, "clear", target, 0.0, _one(held, 0))
    if target < lowest - REACHED:
        clear = replace(clear, reachable=False, stopped_by="the hitch would come to the ground")
    raised = float(clear.answer.stance.front - setup.wanted[0])
    stages = (
        clear,
        _stage(ways, "meet", parked, 0.0, _one(held, 1)),
        _stage(ways, "lift", lifted, 1.0, _one(held, 2)),
        _tow(ways),
    )
    pressure = np.where(ways.rig.has_bag[:, None], held.pressure[3:], np.nan)
    plan = HitchPlan(
        setup=setup,
        stages=stages,
        front_raise=raised if ways.rig.has_bag[0] else 0.0,
        jack_up=_jack_up(ways, clear),
        ball_mount_drop=stages[3].height - float(setup.trailer.coupling_height),
        pitch=_pitch(setup.trailer, stages[3].height),
        jack_share=JackShare(SHARES, pressure),
        bed_clearance=_bed_clearance(ways, stages),
    )
    return replace(plan, findings=worst_first((*hitch_findings(plan), *stages[3].answer.findings)))


def _clear_target(ways: _Hitching) -> float:
    """Return the coupling height for backing under. [m]"""
    parked = float(ways.trailer.parked_height)
    if ways.hitch.coupling == "fifth_wheel":
        return parked + PLATE_ABOVE
    return parked - float(ways.hitch.ball_diameter or 0.0) / 2.0 - float(ways.setup.hitching.gap)


def _lowest(ways: _Hitching) -> float:
    """Return how low the coupling may go before the hitch touches the ground. [m]"""
    return float(ways.hitch.lowest_height or -np.inf)


def _one(levelled: Levelled, case: int) -> Levelled:
    """Return one case of a batch."""
    return Levelled(*(part[case] for part in levelled))


def _stage(ways: _Hitching, name: StageName, target: float, share: float, levelled: Levelled) -> Stage:
    """Return a stage from its levelling."""
    front, rear = float(levelled.state[0]), float(ways.rear_rise(np.asarray(target), levelled.state[0]))
    stance = ways.setup.stance
    base = ways.setup if share else ways.setup.without_trailer()
    if base.trailer is not None:
        base = replace(base, trailer=base.trailer.replaced(bars=0.0))
    asked = replace(base, raised=(front - stance.front, rear - stance.rear))
    answer = levelled_answer(asked, ways.rig, ways.load(share), levelled, on_road=False)
    kept = tuple(finding for finding in answer.findings if not finding.code.startswith(TOW_ONLY))
    off = float(answer.coupling_height or 0.0) - target
    reachable = abs(off) <= REACHED or (name == "clear" and ways.hitch.coupling != "fifth_wheel" and off < 0)
    why = "" if reachable else _in_the_way(levelled.held)
    return Stage(name, replace(answer, findings=kept), target, reachable, why)


def _in_the_way(held: Codes) -> str:
    """Return which limit holds which corners, in words; the rear first, as it moves the coupling most."""
    words = {
        Limit.LEAST_PRESSURE: "its least pressure",
        Limit.GREATEST_PRESSURE: "its greatest pressure",
        Limit.LOAD_RATING: "its load rating",
        Limit.LOWEST_HEIGHT: "the lowest height of its chart, the bump stop is next",
        Limit.HIGHEST_HEIGHT: "the greatest height of its chart",
    }
    for k in (1, 0):
        sides = " and ".join(side for side, code in zip(SIDES, held[k], strict=True) if code)
        if sides:
            return f"the {AXLES[k]} {sides} bag is at {words[Limit(int(held[k].max()))]}"
    return "an axle with no bag stands where its steel holds it"


def _tow(ways: _Hitching) -> Stage:
    """Return the levelled stance as the last stage."""
    load = ways.setup.load(ways.rig)
    levelled = levelling.level(ways.rig, load, ways.setup.wanted)
    answer = levelled_answer(ways.setup, ways.rig, load, levelled)
    target = float(hitch_heights(ways.setup, ways.setup.wanted))
    return Stage("tow", answer, target, answer.level, "" if answer.level else _in_the_way(levelled.held))


def _jack_up(ways: _Hitching, clear: Stage) -> float:
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


def _bed_clearance(ways: _Hitching, stages: tuple[Stage, ...]) -> tuple[float, ...] | None:
    """Return the room between the truck's bed end and the trailer's underside at each stage, both tilted. [m]"""
    bed, trailer = ways.setup.truck.bed, ways.trailer
    if bed is None or bed.rail_height is None or trailer.underside is None:
        return None
    end = ways.setup.truck.bed_limits.rear
    rooms = []
    for stage in stages:
        coupled = stage.height if stage.name in ("lift", "tow") else float(trailer.parked_height)
        nose_up = (coupled - trailer.coupling_height) / trailer.axle_distance
        under = coupled + trailer.underside - nose_up * (ways.hitch.x - end)
        stance = stage.answer.stance
        rail = bed.rail_height + stance.rear + (stance.front - stance.rear) * end / ways.setup.truck.wheelbase
        rooms.append(float(under - rail))
    return tuple(rooms)
