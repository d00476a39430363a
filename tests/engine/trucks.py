"""Random trucks as a builder knows them: masses at their places, springs, tyres, bars, a trailer on the hitch.

The planner gets only what a scale would show of them and one height of the whole; the engine gets the masses. Every
other truck of a pair has its bags charted at several pressures. The hitch is at the height of the roll axis, so that
the load on it does not swing out.
"""

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from planner.physics import statics
from planner.physics.air_spring import Bag
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.truck_model import Rig

PLUMBING = tuple(product(("separate", "joined", "no bag"), repeat=2))
BODY_HEIGHTS = (0.75, 1.1, 1.0, 0.7, 0.75, 0.75)  # [m] above ground: of the masses of `_body`, about
HITCH_HEIGHT = 0.6  # [m] where nothing else is said


@dataclass(frozen=True)
class Mass:
    """A mass [kg] on the body at x ahead of the rear axle, y left of the centre line and z above ground [m]."""

    mass: float
    x: float
    y: float
    z: float = 0.9


@dataclass(frozen=True)
class Trailer:
    """Gross mass [kg], centre of mass ahead of its axle, coupling to axle, hitch place [m], bars' restoration."""

    gross: float
    ahead: float
    length: float
    hitch_x: float
    hitch_y: float
    restoration: float
    left: float = 0.0  # centre of mass left of its centre line [m]
    track: float | None = None  # given where the coupling swivels and the trailer stands on wheels of its own [m]
    height: float = HITCH_HEIGHT  # of the coupling on the truck at kerb [m]
    level_height: float = HITCH_HEIGHT  # of the coupling of the level trailer [m]
    over_bed: tuple[float, float, float] | None = None  # bed's end; height of rail and, over the coupling, of trailer

    @property
    def tyre_loads(self) -> tuple[float, float]:
        """Load on its left and right wheels where the coupling passes no moment, by levers. [N]"""
        half, side = float(self.hitched.trailer_axle_load) / 2, self.gross * G * self.left / self.track
        return half + side, half - side

    @property
    def tongue_load(self) -> float:
        """Load on the hitch with bars slack, by levers. [N]"""
        return self.gross * G * self.ahead / self.length

    @property
    def hitched(self) -> statics.Hitched:
        return statics.hitched_loads(self.gross * G, self.tongue_load, -self.hitch_x, self.length, self.restoration)


@dataclass(frozen=True)
class Truck:
    """One truck with its load; arrays are front, rear."""

    rig: Rig
    independent: tuple[bool, bool]
    tyres_per_side: tuple[int, int]
    body: tuple[Mass, ...]
    cargo: tuple[Mass, ...]
    trailer: Trailer | None
    load: statics.Load
    wanted: np.ndarray
    roll_axis: np.ndarray  # its height above ground at both axles [m]

    @property
    def mass_height(self) -> float:
        """Height of the body's centre of mass, which is all that the planner is told of its heights. [m]"""
        return sum(m.mass * m.z for m in self.body) / sum(m.mass for m in self.body)

    def over_roll_axis(self, mass: Mass) -> float:
        """How high a mass stands over the straight line between the roll axis' heights at the axles. [m]"""
        front, rear = self.roll_axis
        return mass.z - (rear + (front - rear) * mass.x / float(self.rig.wheelbase))

    def swing(self, stretch: float) -> float:
        """What stands on the body swings out per radian, by levers, as a stretched engine has it. [N·m/rad]"""
        return G * stretch**2 * sum(m.mass * self.over_roll_axis(m) for m in self.body + self.cargo)


def random_truck(seed: int, *, more: Mass | None = None) -> Truck:
    """Return a truck of the plumbing pair that the seed counts to, all else drawn; one mass more may come aboard."""
    rng = np.random.default_rng(seed)
    plumbing = PLUMBING[seed % len(PLUMBING)]
    wheelbase, track = rng.uniform(2.8, 4.6), rng.uniform(1.55, 2.0, 2)
    body = _body(rng, wheelbase)
    unsprung = rng.uniform([180, 220], [320, 420])
    rig, independent, tyres = _rig(rng, plumbing, wheelbase, track, body, unsprung)
    heaviest = 500 if rng.integers(0, 6) else 2500  # one in six is overloaded, so that limits and stops have their say
    cargo = tuple(
        Mass(rng.uniform(20, heaviest), rng.uniform(-0.25, 0.7) * wheelbase, rng.uniform(-0.6, 0.6))
        for _ in range(rng.integers(0, 4))
    )
    trailer = _trailer(rng)
    body, cargo, roll_axis = _heights(np.random.default_rng([seed, 3]), body, cargo, independent)
    cargo += (more,) if more else ()
    truck = Truck(rig, independent, tyres, body, cargo, trailer, rig.kerb, np.zeros(3), roll_axis)
    rig = replace(rig, kerb=_kerb(truck))
    load = rig.kerb
    for item in cargo:
        load = load + statics.point_load(item.mass * G, item.x, item.y, wheelbase, truck.over_roll_axis(item))
    if trailer:
        load = load + statics.point_load(trailer.hitched.hitch_load, trailer.hitch_x, trailer.hitch_y, wheelbase)
        load = load + statics.pitch_moment(trailer.hitched.bar_moment, wheelbase)
    if seed // len(PLUMBING) % 2:
        rig = replace(rig, bags=_families(np.random.default_rng([seed, 4]), rig.bags))
    wanted = rng.uniform([-0.03, -0.03, -0.01], [0.03, 0.03, 0.01]) * rng.integers(0, 2)
    return replace(truck, rig=rig, load=load, wanted=wanted)


def at_its_roll_axis(truck: Truck) -> Truck:
    """Return the same truck with every mass at the height of its roll axis, so that nothing swings out."""
    front, rear = truck.roll_axis

    def lowered(masses):
        return tuple(replace(m, z=rear + (front - rear) * m.x / float(truck.rig.wheelbase)) for m in masses)

    low = replace(truck, body=lowered(truck.body), cargo=lowered(truck.cargo))
    none = {"overturning": np.zeros(()), "overturning_front": np.zeros(())}
    return replace(low, rig=replace(truck.rig, kerb=replace(truck.rig.kerb, **none)), load=replace(truck.load, **none))


def _heights(rng, body, cargo, independent):
    """Put every mass at a height of its own, and the roll axis at one at each axle."""
    body = tuple(replace(m, z=z * rng.uniform(0.85, 1.15)) for m, z in zip(body, BODY_HEIGHTS, strict=True))
    cargo = tuple(replace(m, z=rng.uniform(0.6, 1.6)) for m in cargo)
    return body, cargo, np.where(independent, rng.uniform(0.0, 0.1, 2), rng.uniform(0.3, 0.45, 2))


def _kerb(truck):
    """Return the kerb as the planner has it: axle loads, share on the left, one height for all of its mass."""
    kerb, rig = truck.rig.kerb, truck.rig
    left_share = 0.5 + kerb.side_moment / (kerb.axle * rig.track).sum()
    sprung = kerb.axle - rig.unsprung_load
    return statics.kerb_load(kerb.axle, sprung, left_share, rig.track, truck.mass_height - truck.roll_axis)


def _body(rng, wheelbase):
    """Engine, cabin with a driver to the left, frame and bed; their sum is rarely on the centre line."""
    return (
        Mass(rng.uniform(350, 550), rng.uniform(0.9, 1.1) * wheelbase, rng.uniform(-0.05, 0.05)),
        Mass(rng.uniform(500, 800), rng.uniform(0.5, 0.7) * wheelbase, rng.uniform(-0.05, 0.05)),
        Mass(rng.uniform(60, 130), 0.6 * wheelbase, 0.4),
        Mass(rng.uniform(400, 900), rng.uniform(0.0, 0.4) * wheelbase, rng.uniform(-0.1, 0.1)),
        Mass(rng.uniform(100, 200), 0.5 * wheelbase, -0.8),
        Mass(rng.uniform(100, 200), 0.5 * wheelbase, 0.8),
    )


def _trailer(rng):
    kind = rng.integers(0, 4)
    if kind == 0:
        return None
    length = rng.uniform(3.0, 7.0)
    if kind == 1:  # a gooseneck: ahead of the axle, no bars, its coupling rigid in roll and off the centre line
        return Trailer(
            rng.uniform(2000, 6000), 0.2 * length, length, rng.uniform(0.0, 0.4), rng.uniform(-0.2, 0.2), 0.0
        )
    restoration = rng.uniform(0.2, 1.0) if kind == 2 else 0.0
    ahead = rng.uniform(0.1, 0.15) * length
    return Trailer(rng.uniform(900, 4000), ahead, length, -rng.uniform(1.0, 1.5), 0.0, restoration)


def _rig(rng, plumbing, wheelbase, track, body, unsprung):
    mass, x, y = np.array([(m.mass, m.x, m.y) for m in body]).T
    sprung = G * np.array([(mass * x).sum() / wheelbase, (mass * (1 - x / wheelbase)).sum()])
    axle = sprung + unsprung * G
    left_share = 0.5 + G * (mass * y).sum() / (axle * track).sum()
    independent = (bool(rng.integers(0, 2)), bool(rng.integers(0, 2)))
    half_spacing = np.where(independent, track / 2, rng.uniform(0.42, 0.6, 2))
    ratio = rng.uniform(0.6, 1.2, 2)
    tyres = (1, int(rng.integers(1, 3)))
    at_spring = sprung / (2 * ratio)
    has_bag = np.array([kind != "no bag" for kind in plumbing])
    steel_rate = np.where(
        has_bag, rng.uniform(5e3, 5e4, 2) * rng.integers(0, 2, 2), rng.uniform(6e4, 2e5, 2) / ratio**2
    )
    steel_load = np.where(has_bag, np.where(steel_rate > 0, rng.uniform(0.0, 0.6, 2), 0.0), 1.0) * at_spring
    bags = tuple(_bag(rng, f) if b else None for b, f in zip(has_bag, at_spring, strict=True))
    rig = Rig(
        wheelbase=np.array(wheelbase),
        kerb=statics.kerb_load(axle, sprung, left_share, track),
        unsprung_load=unsprung * G,
        half_spacing=half_spacing,
        track=track,
        motion_ratio=ratio,
        tyre_rate=rng.uniform(2.5e5, 5e5, 2) * tyres,
        anti_roll_rate=rng.uniform(1e4, 9e4, 2) * rng.integers(0, 2, 2),
        steel_rate=steel_rate,
        steel_load=steel_load,
        bags=bags,
        joined=tuple(kind == "joined" for kind in plumbing),
    )
    return rig, independent, tyres


def _families(rng, bags):
    """The same bags charted at several pressures: they swell by up to a fifth from row to row, or shrink a little."""
    return tuple(None if bag is None else _family(rng, bag) for bag in bags)


def _family(rng, bag):
    pressures = np.cumsum(rng.uniform(0.8e5, 1.8e5, rng.integers(2, 6)))
    grown = np.cumprod(np.concatenate([[0.95], rng.uniform(0.96, 1.2, len(pressures) - 1) ** 0.5]))
    uneven = rng.uniform(0.99, 1.01, (len(pressures), len(bag.heights)))
    areas = bag.areas * grown[:, None] * uneven
    return replace(bag, areas=areas, pressures=pressures, gas_row=int(rng.integers(0, len(pressures))))


def _bag(rng, force):
    """A bag about right for twice its corner's kerb force at 4 bar; one in four swells before it wanes."""
    heights = np.linspace(0.08, 0.22, rng.integers(4, 9))
    fall = rng.uniform(0.1, 0.5)
    middle = 0.15 if rng.integers(0, 4) else 0.11
    shape = 1.0 - fall * np.abs((heights - middle) / 0.07) ** 1.5 * np.where(heights < middle, -0.3, 1.0)
    if middle < 0.15:
        shape = 1.0 - fall * ((heights - middle) / 0.07) ** 2 / 3
    area = rng.uniform(1.2, 2.2) * force / 4e5 * shape
    return Bag(heights, area, rng.uniform(0.12, 0.18), float(area.mean() * 0.2), 0.3e5, 7e5)
