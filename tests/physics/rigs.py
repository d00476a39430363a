"""Trucks, loads and wanted stances for the tests: one sound truck, random ones, and hypothesis strategies for both."""

from dataclasses import replace
from itertools import product

import numpy as np
from hypothesis import strategies as st

from planner.physics import statics
from planner.physics.air_spring import Bag
from planner.physics.statics import Load
from planner.physics.truck_model import Rig

PLUMBING = tuple(product(("separate", "joined", "no bag"), repeat=2))
SHAPES = ("falling", "constant", "rising", "swelling")


def bag(area=0.03, shape="falling", *, least=0.5e5, greatest=7e5, rating=np.inf, fitted=0.15) -> Bag:
    """A bag charted from 80 to 220 mm with a mean area about the one given."""
    heights = np.linspace(0.08, 0.22, 8)
    part = (heights - 0.15) / 0.07
    areas = {
        "falling": 1.0 - 0.15 * part - 0.05 * part**2,
        "constant": np.ones(8),
        "rising": 1.0 + 0.2 * part,
        "swelling": 1.0 - 0.2 * (part + 0.4) ** 2,
    }[shape]
    return Bag(heights, area * areas, fitted, 0.25 * area, least, greatest, rating)


def family(area=0.03, shape="falling", *, swells=0.08, **limits) -> Bag:
    """The same charted at 1, 3 and 6 bar: its area grows by a part from the first row to the last."""
    one, pressures = bag(area, shape, **limits), np.array([1e5, 3e5, 6e5])
    grown = 1.0 + swells * (pressures - 3e5) / 5e5
    return replace(one, areas=grown[:, None] * one.areas, pressures=pressures, gas_row=1)


def truck(plumbing=("separate", "separate"), *, left_share=0.505, **changes) -> Rig:
    """A sound truck: 3.3 t at kerb, 4 m wheelbase, steel where there is no bag."""
    axle, unsprung = np.array([19_000.0, 13_500.0]), np.array([2_700.0, 3_100.0])
    track, ratio = np.array([1.74, 1.72]), np.array([1.0, 0.9])
    bare = np.array([kind == "no bag" for kind in plumbing])
    numbers = {
        "wheelbase": np.array(4.0),
        "kerb": statics.kerb_load(axle, axle - unsprung, left_share, track),
        "unsprung_load": unsprung,
        "half_spacing": np.array([0.5, 0.53]),
        "track": track,
        "motion_ratio": ratio,
        "tyre_rate": np.array([3.5e5, 7e5]),
        "anti_roll_rate": np.array([60e3, 0.0]),
        "steel_rate": np.where(bare, 9e4, 1e4),
        "steel_load": np.where(bare, (axle - unsprung) / (2 * ratio), 500.0),
        "bags": tuple(None if kind == "no bag" else bag() for kind in plumbing),
        "joined": tuple(kind == "joined" for kind in plumbing),
    }
    return Rig(**(numbers | changes))


def mirrored(load: Load) -> Load:
    """The same load seen in a mirror."""
    return Load(load.axle, -load.side_moment, -load.least_twist)


def lopsided(rig: Rig, left_share: float) -> Rig:
    """The same truck with its kerb weight spread otherwise between left and right."""
    return replace(rig, kerb=statics.kerb_load(rig.kerb.axle, rig.kerb.axle - rig.unsprung_load, left_share, rig.track))


def random_rig(rng: np.random.Generator, plumbing=None, shape=None) -> Rig:
    """A truck between a small pickup and a medium lorry; steel from none to stiffer than the air."""
    plumbing = plumbing or PLUMBING[rng.integers(len(PLUMBING))]
    bare = np.array([kind == "no bag" for kind in plumbing])
    track, ratio = rng.uniform(1.4, 2.1, 2), rng.uniform(0.6, 1.2, 2)
    axle, unsprung = rng.uniform(8e3, 4e4, 2), rng.uniform(1.2e3, 4e3, 2)
    at_spring = (axle - unsprung) / (2 * ratio)
    steel = np.where(bare, 10 ** rng.uniform(4.3, 5.7, 2), rng.choice([0.0, 1e2, 2e4, 5e5], 2))
    bags = tuple(None if b else _random_bag(rng, f, shape) for b, f in zip(bare, at_spring, strict=True))
    return Rig(
        wheelbase=np.array(rng.uniform(2.4, 6.0)),
        kerb=statics.kerb_load(axle, axle - unsprung, rng.uniform(0.46, 0.54), track),
        unsprung_load=unsprung,
        half_spacing=np.where(rng.integers(0, 2, 2), track / 2, rng.uniform(0.35, 0.6, 2)),
        track=track,
        motion_ratio=ratio,
        tyre_rate=10 ** rng.uniform(5.2, 6.3, 2),
        anti_roll_rate=rng.choice([0.0, 2e4, 1e5], 2),
        steel_rate=steel,
        steel_load=np.where(bare, 1.0, rng.uniform(0, 0.7, 2) * (steel > 0)) * at_spring,
        bags=bags,
        joined=tuple(kind == "joined" for kind in plumbing),
    )


def _random_bag(rng, force, shape):
    area = rng.uniform(0.9, 3.0) * force / 4e5
    rating = rng.choice([np.inf, rng.uniform(1.0, 3.0) * force])
    least, greatest = rng.choice([0.0, 0.35e5, 1e5]), rng.uniform(4e5, 10e5)
    shape = shape or SHAPES[rng.integers(len(SHAPES))]
    return bag(area, shape, least=least, greatest=greatest, rating=rating, fitted=rng.uniform(0.1, 0.2))


def random_loads(rng: np.random.Generator, rig: Rig, n: int, heaviest: float = 1.0) -> Load:
    """Kerb with cargo, a hitch load and bars; the heaviest cargo as a part of the kerb weight."""
    kerb = rig.kerb.axle.sum()
    wheelbase = float(rig.wheelbase)
    cargo = statics.point_load(
        rng.uniform(0, heaviest, n) * kerb, rng.uniform(-0.3, 0.8, n) * wheelbase, rng.uniform(-0.7, 0.7, n), wheelbase
    )
    tongue = rng.uniform(0, 0.2, n) * kerb
    h = statics.hitched_loads(tongue / 0.12, tongue, 1.3, 5.0, rng.uniform(0, 1, n))
    return (
        rig.kerb
        + cargo
        + statics.point_load(h.hitch_load, -1.3, 0.0, wheelbase)
        + statics.pitch_moment(h.bar_moment, wheelbase)
    )


def random_stances(rng: np.random.Generator, n: int, *, wild: bool) -> np.ndarray:
    """Wanted stances: within what bags can do, or half of them far outside their charts."""
    reach = np.array([0.03, 0.03, 0.015]) if not wild else np.array([0.4, 0.4, 0.2])
    return rng.uniform(-reach, reach, (n, 3)) * rng.choice([0.0, 0.1, 1.0], (n, 1))


@st.composite
def rigs(draw, plumbing=None, shapes=SHAPES) -> Rig:
    """Any sound truck; every number drawn on its own, so that a failing one shrinks to a plain one."""
    kinds = plumbing or draw(st.sampled_from(PLUMBING))
    bare = np.array([kind == "no bag" for kind in kinds])

    def pair(low, high):
        return np.array([draw(st.floats(low, high)), draw(st.floats(low, high))])

    axle, unsprung = pair(8e3, 4e4), pair(1.2e3, 4e3)
    track, ratio = pair(1.4, 2.1), pair(0.6, 1.2)
    at_spring = (axle - unsprung) / (2 * ratio)
    steel = np.where(bare, pair(2e4, 4e5), [draw(st.sampled_from((0.0, 1e4, 1e5))) for _ in (0, 1)])
    return Rig(
        wheelbase=np.array(draw(st.floats(2.4, 6.0))),
        kerb=statics.kerb_load(axle, axle - unsprung, draw(st.floats(0.46, 0.54)), track),
        unsprung_load=unsprung,
        half_spacing=np.array([draw(st.one_of(st.just(t / 2), st.floats(0.35, 0.6))) for t in track]),
        track=track,
        motion_ratio=ratio,
        tyre_rate=pair(1.5e5, 2e6),
        anti_roll_rate=pair(0.0, 1e5),
        steel_rate=steel,
        steel_load=np.where(bare, 1.0, 0.3 * (steel > 0)) * at_spring,
        bags=tuple(
            None if b else bag(draw(st.floats(1.2, 2.5)) * f / 4e5, draw(st.sampled_from(shapes)))
            for b, f in zip(bare, at_spring, strict=True)
        ),
        joined=tuple(kind == "joined" for kind in kinds),
    )


@st.composite
def loads(draw, rig: Rig, heaviest: float = 0.3) -> Load:
    """Kerb with one item of cargo, a hitch behind and bars."""
    wheelbase, kerb = float(rig.wheelbase), float(rig.kerb.axle.sum())
    item = statics.point_load(
        draw(st.floats(0, heaviest)) * kerb,
        draw(st.floats(-0.3, 1.0)) * wheelbase,
        draw(st.floats(-0.6, 0.6)),
        wheelbase,
    )
    tongue = draw(st.floats(0, 0.1)) * kerb
    h = statics.hitched_loads(tongue / 0.12, tongue, 1.2, 5.0, draw(st.floats(0, 1)))
    hitch = statics.point_load(h.hitch_load, -1.2, 0.0, wheelbase)
    return rig.kerb + item + hitch + statics.pitch_moment(h.bar_moment, wheelbase)


def stances(rise=0.02, roll=0.01):
    """Wanted stances that most bags can reach."""
    one = st.floats(-rise, rise)
    return st.tuples(one, one, st.floats(-roll, roll)).map(np.array)
