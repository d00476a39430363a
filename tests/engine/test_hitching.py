"""Hitching against a general rigid-body engine: 108 random trucks with a trailer each, two bodies in the engine.

The planner gets records, as an owner would write them; the engine gets masses at their places. What holds, and how
closely:

- Hitch load, bars' moment and the loads of all three axle groups, and the truck's side moment, as the engine finds them
  from masses and places alone: 1e-6 of the weight, moments over one metre. The engine is told no lever: which ground
  forces leave nothing over is solved from what its inverse dynamics answer, and the bars are turned until the front
  axle has back the wanted part of what it lost.
- Each of the four stages: the claimed pressures, with the engine's own springs and pressure law, hold truck and trailer
  at rest in the claimed stance (1e-6 of the weight), and the coupling is where it is claimed to be (1 µm), as are the
  springs, the trailer's pitch and the room over the bed. Observed: below 1e-7 and 1e-9 m.
- Where pressures fix the stance, the engine sinks by itself to the claimed coupling heights of meet and lift (1e-6 m).
- A trailer that stands off centre on a coupling that swivels: its own wheels carry all of it.
- A trailer on up to four sprung axles with its coupling held high or low gains and loses what is claimed (1e-6 of the
  weight), its centre of mass high or low.
"""

from dataclasses import replace
from functools import cache
from typing import NamedTuple

import mujoco
import numpy as np
import pytest

from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.equilibrium import HeldPressure, settle
from planner.physics.statics import Load
from planner.physics.trailer import pitched
from planner.plans.hitching import hitch_up
from planner.plans.hitching_stages import HitchPlan
from planner.plans.setup import Setup, rig_of
from planner.plans.trailer_deck import deck_plan
from planner.records import Profile, Trailer, Truck, read_record

from . import trucks
from .engine import SPRINGS, TYRES, Air, Engine, come_to_rest

OUTFITS = 108
BALANCE = 1e-6  # [-] of the weight of truck and trailer
PLACE = 1e-6  # [m]
COUPLINGS = ("ball", "gooseneck", "fifth_wheel", "pintle")

pytestmark = pytest.mark.no_cover  # the engine judges what the planner's own tests have traced
every_outfit = pytest.mark.parametrize("seed", range(OUTFITS))


class Outfit(NamedTuple):
    truck: trucks.Truck  # as the engine has it, towing
    setup: Setup  # as the planner has it
    plan: HitchPlan


@cache
def outfit(seed):
    """Return a random truck with a random trailer, planned for hitching."""
    rng = np.random.default_rng([seed, 7])
    truck = trucks.random_truck(seed)
    coupling = COUPLINGS[seed // 9 % 4]
    trailer, hitch, towed, over_bed = _trailer(rng, truck, coupling)
    truck = replace(truck, roll_axis=_roll_axis(np.random.default_rng([seed, 10]), truck, trailer))
    profile = {
        "schema": 1, "name": "Any", "truck": "truck", "trailer": "trailer", "hitch": "hitch",
        "left_share": rng.uniform(0.4, 0.6) if hitch["roll_coupling"] else 0.5,
        "stance": {"front": metres(truck.wanted[0]), "rear": metres(truck.wanted[1]),
                   "lean": metres(truck.wanted[2] * truck.rig.track[1])},
        "cargo": [{"name": f"item {i}", "weight": f"{m.mass!r} kg"} | {at: metres(getattr(m, at)) for at in "xyz"}
                  for i, m in enumerate(truck.cargo)],
        "hitching": {"gap": metres(rng.uniform(0, 0.03)), "stow_lift": metres(rng.uniform(0, 0.03))},
    }  # fmt: skip
    setup = Setup.of(
        read_record(Profile, profile, "profile"),
        read_record(Truck, _record(truck, hitch, over_bed), "truck"),
        read_record(Trailer, towed, "trailer"),
    )
    if hitch["roll_coupling"]:  # rigid in roll: it stands so far off centre that the wanted share comes on the left
        side = float(setup.hitched().hitch_load) * (setup.left_share - 0.5) * float(truck.rig.track[1])
        trailer = replace(trailer, left=side / (trailer.gross * G))
    return Outfit(replace(truck, rig=rig_of(setup.truck), trailer=trailer), setup, hitch_up(setup))


def _trailer(rng, truck, coupling):
    """Return a trailer as the engine has it, hitch and trailer as records, and what there is over the bed."""
    length, gross = rng.uniform(3.0, 8.0), rng.uniform(900, 4500)
    behind = coupling in ("ball", "pintle")
    rigid = coupling == "fifth_wheel" and bool(rng.integers(0, 2))
    x = -rng.uniform(0.9, 1.7) if behind else rng.uniform(-0.3, 0.3 * float(truck.rig.wheelbase))
    y = rng.uniform(-0.1, 0.1) * rng.integers(0, 2)
    ratio = rng.uniform(0.05, 0.2) if behind else rng.uniform(0.12, 0.3)
    bars = rng.uniform(0.0, 1.2) * min(1, rng.integers(0, 4)) if x < 0 and not rigid else 0.0
    height = rng.uniform(0.4, 0.7) if behind else rng.uniform(0.9, 1.2)
    track = rng.uniform(1.6, 2.2)
    over_bed = None if behind else (-rng.uniform(0.8, 1.3), rng.uniform(1.2, 1.5), rng.uniform(0.3, 0.8))
    level_height = height + rng.uniform(-0.1, 0.1)
    trailer = trucks.Trailer(
        gross, ratio * length, length, x, y, bars, 0.0 if rigid else rng.uniform(-0.2, 0.2), None if rigid else track,
        height=height, level_height=level_height, over_bed=over_bed,
    )  # fmt: skip
    hitch = {
        "name": "hitch", "coupling": coupling, "x": metres(x), "y": metres(y), "height": metres(height),
        "ball_diameter": "2.3125 in", "tongue_rating": "900 kg", "trailer_rating": "5000 kg",
        "roll_coupling": float(rigid),
    }  # fmt: skip
    record = {
        "schema": 1, "name": "Any trailer", "coupling": coupling, "gross_weight": f"{gross!r} kg",
        "tongue_ratio": ratio, "coupling_height": metres(level_height),
        "parked_height": metres(height + rng.uniform(-0.02, 0.03)), "axle_distance": metres(length), "axle_count": 2,
        "gvwr": "5000 kg", "axle_rating": "2500 kg", "track": metres(track), "bars": bars,
        "left_share": 0.5 if rigid else 0.5 + trailer.left / track,
    }  # fmt: skip
    return trailer, hitch, record | ({"underside": metres(over_bed[2])} if over_bed else {}), over_bed


def _roll_axis(rng, truck, trailer):
    """Return a roll axis that goes through the hitch, so that the load on it does not swing out."""
    front_higher = rng.uniform(-0.2, 0.2)
    rear = trailer.height - front_higher * trailer.hitch_x / float(truck.rig.wheelbase)
    return np.array([rear + front_higher, rear])


def metres(value):
    return f"{float(value)!r} m"


def _record(truck, hitch, over_bed):
    """Return the truck as a file would hold it: what a scale shows, not where the masses are."""
    rig = truck.rig
    bed = {"bed": {"end": metres(over_bed[0]), "rail_height": metres(over_bed[1])}} if over_bed else {}
    return bed | {
        "schema": 1, "name": "Any truck", "wheelbase": metres(rig.wheelbase), "gvwr": "50000 kg", "gcwr": "60000 kg",
        "kerb": {
            "front_axle": f"{float(rig.kerb.axle[0]) / G!r} kg",
            "rear_axle": f"{float(rig.kerb.axle[1]) / G!r} kg",
            "left_share": 0.5 + float(rig.kerb.side_moment / (rig.kerb.axle * rig.track).sum()),
            "mass_height": metres(truck.mass_height),
        },
        "front": _axle(truck, 0), "rear": _axle(truck, 1), "hitches": [hitch],
    }  # fmt: skip


def _axle(truck, k):
    rig, bag, n = truck.rig, truck.rig.bags[k], truck.tyres_per_side[k]
    axle = {
        "suspension": "independent" if truck.independent[k] else "solid",
        "spring_spacing": metres(2 * rig.half_spacing[k]),
        "track": metres(rig.track[k]),
        "motion_ratio": float(rig.motion_ratio[k]),
        "unsprung_weight": f"{float(rig.unsprung_load[k]) / G!r} kg",
        "ride_height": "0.5 m",
        "roll_axis_height": metres(truck.roll_axis[k]),
        "gawr": "25000 kg",
        "anti_roll_rate": f"{float(np.deg2rad(rig.anti_roll_rate[k]))!r} N*m/deg",
        "steel_rate": f"{float(rig.steel_rate[k])!r} N/m",
        "steel_load": f"{float(rig.steel_load[k])!r} N",
        "plumbing": "joined" if rig.joined[k] else "separate",
        "tyres": {
            "per_side": n, "rate": f"{float(rig.tyre_rate[k]) / n!r} N/m", "unloaded_radius": "0.42 m",
            "load_rating": "1500 kg", "cold_pressure": "80 psi",
        },
    }  # fmt: skip
    if bag is None:
        return axle
    return axle | {
        "bag": {
            "fitted_height": metres(bag.fitted_height),
            "height": [metres(b) for b in bag.heights],
            **_chart(bag),
            "volume": f"{float(bag.volume)!r} m**3",
            "least_pressure": f"{float(bag.least_pressure)!r} Pa",
            "greatest_pressure": f"{float(bag.greatest_pressure)!r} Pa",
        }
    }


def _chart(bag):
    """Return areas, or the loads of each row, as a file has them."""
    if bag.pressures is None:
        return {"area": [f"{float(a)!r} m**2" for a in bag.areas]}
    loads = bag.areas * bag.pressures[:, None]
    return {
        "load": [[f"{float(f)!r} N" for f in row] for row in loads],
        "load_at": [f"{float(p)!r} Pa" for p in bag.pressures],
    }


class Found(NamedTuple):
    """What the engine finds: load of each axle and of the trailer's wheels, moment about the centre line [N, N·m]."""

    axle: np.ndarray
    side_moment: float
    trailer: np.ndarray


def found(truck, bars=0.0):
    """Return the ground forces that leave nothing over, from the engine's inverse dynamics."""
    engine = Engine(truck, springs=False)
    wheels = [name for name in ("trailer_tyre", "trailer_tyre_left", "trailer_tyre_right") if _has(engine, name)]
    names = [*SPRINGS, *TYRES, *wheels]
    if truck.trailer:
        engine.push({"hitch": -bars * engine.stretch})
    nothing = engine.residual()
    columns = []
    for name in names:
        engine.push({name: 1e4})
        columns.append((engine.residual() - nothing) / 1e4)
        engine.push({name: 0.0})
    forces, *_ = np.linalg.lstsq(np.column_stack(columns), -nothing, rcond=1e-10)
    engine.push(dict(zip(names, forces, strict=True)))
    assert np.abs(engine.residual()).max() < 1e-9 * engine.weight
    tyres = forces[4:8].reshape(2, 2)
    side = ((tyres[:, 0] - tyres[:, 1]) * truck.rig.track / 2).sum()
    return Found(tyres.sum(axis=1), float(side), forces[8:])


def _has(engine, name):
    return mujoco.mj_name2id(engine.model, mujoco.mjtObj.mjOBJ_ACTUATOR, name) >= 0


@every_outfit
def test_the_engine_finds_the_loads_of_hitch_bars_and_all_axle_groups(seed):
    truck, setup, plan = outfit(seed)
    trailer = truck.trailer
    weight = float(truck.load.axle.sum()) + trailer.gross * G
    alone, slack = found(replace(truck, trailer=None)), found(truck)
    bars, turned = 0.0, slack
    if trailer.restoration > 0:
        per_moment = (found(truck, 1e4).axle[0] - slack.axle[0]) / 1e4
        bars = trailer.restoration * (alone.axle[0] - slack.axle[0]) / per_moment
        turned = found(truck, bars)
    claimed, lift, tow = setup.hitched(), plan.stages[2].answer, plan.stages[3].answer

    def near(got, wanted):
        np.testing.assert_allclose(got, wanted, rtol=0, atol=BALANCE * weight)

    near(claimed.bar_moment, bars)
    near(tow.hitch_load, turned.axle.sum() - alone.axle.sum())
    near(tow.axle_load, turned.axle)
    near(tow.trailer_axle_load, turned.trailer.sum())
    near(tow.side_moment.sum() + truck.swing(1.0) * tow.stance.roll, turned.side_moment)
    near(lift.axle_load, slack.axle)
    near(lift.hitch_load, slack.axle.sum() - alone.axle.sum())
    near(lift.trailer_axle_load, slack.trailer.sum())
    near(lift.side_moment.sum() + truck.swing(1.0) * lift.stance.roll, slack.side_moment)
    for unhitched in plan.stages[:2]:
        near(unhitched.answer.axle_load, alone.axle)
        swung = truck.swing(1.0) * unhitched.answer.stance.roll
        near(unhitched.answer.side_moment.sum() + swung, alone.side_moment)


@pytest.mark.parametrize("seed", [seed for seed in range(OUTFITS) if COUPLINGS[seed // 9 % 4] != "fifth_wheel"])
def test_the_wheels_of_a_trailer_on_a_swivel_carry_all_of_what_is_off_its_centre(seed):
    truck, setup, _ = outfit(seed)
    claimed = np.array(deck_plan(setup.trailer).side_load) * setup.trailer.axle_count
    np.testing.assert_allclose(claimed, found(truck).trailer, rtol=0, atol=BALANCE * truck.trailer.gross * G)


def staged(truck, stage):
    """Return the truck as the engine has it at a stage, the state claimed, and the engine at the claimed stance."""
    answer = stage.answer
    bars = truck.trailer.restoration if stage.name == "tow" else 0.0
    towed = replace(truck.trailer, restoration=bars) if stage.name in ("lift", "tow") else None
    stance, out = answer.stance, np.asarray(truck.swing(1.0))
    side = answer.side_moment.sum() + out * stance.roll  # of the masses at their places; the answer's has swung out
    load = Load(answer.axle_load, side, np.zeros(()), out, np.zeros(()))
    there = replace(truck, trailer=towed, load=load)
    return (
        there,
        np.array([stance.front, stance.rear, stance.roll, answer.side_moment[0]]),
        np.nan_to_num(answer.pressure),
    )


@every_outfit
def test_each_stage_is_at_rest_where_it_claims_to_be(seed):
    truck, _, plan = outfit(seed)
    for i, stage in enumerate(plan.stages):
        there, state, pressure = staged(truck, stage)
        with_hitch = there if there.trailer else replace(there, trailer=replace(truck.trailer, gross=1e-9))
        engine = Engine(with_hitch, springs=True)
        engine.pose(state)
        Air(engine, pressure).act()
        assert np.abs(engine.residual()).max() < BALANCE * engine.weight, stage.name
        travel = engine.lengthening(SPRINGS).reshape(2, 2) + truck.rig.design_height
        bags = truck.rig.has_bag
        np.testing.assert_allclose(travel[bags], stage.answer.bag_height[bags], rtol=0, atol=PLACE)
        if stage.name == "tow":  # where it is told at the pressures set
            at_set = stage.answer.set.stance
            engine.pose(np.array([at_set.front, at_set.rear, at_set.roll, state[3]]))
            assert plan.trailer_pitch == pytest.approx(engine.trailer_pitch(), abs=PLACE)
        assert engine.height("coupling") == pytest.approx(stage.height, abs=PLACE), stage.name
        if there.trailer and plan.bed_clearance:
            room = engine.height("underside") - engine.height("rail")
            assert plan.bed_clearance[i] == pytest.approx(room, abs=PLACE), stage.name


@pytest.mark.parametrize("seed", range(0, OUTFITS, 3))
def test_the_engine_sinks_by_itself_to_the_heights_of_meet_and_lift(seed):
    truck, _, plan = outfit(seed)
    for stage in plan.stages[1:3]:
        there, state, pressure = staged(truck, stage)
        settled = settle(truck.rig, there.load, HeldPressure(pressure), state)
        if not (settled.fixed.all() and settled.roll_fixed):
            continue
        with_hitch = there if there.trailer else replace(there, trailer=replace(truck.trailer, gross=1e-9))
        engine = Engine(with_hitch, springs=True)
        come_to_rest(engine, Air(engine, pressure))
        assert engine.height("coupling") == pytest.approx(stage.height, abs=PLACE), stage.name


def test_the_outfits_tried_reach_their_stages_and_miss_them_in_every_way():
    tried = [outfit(seed) for seed in range(OUTFITS)]
    reached = np.array([[stage.reachable for stage in one.plan.stages] for one in tried])
    assert np.all(reached.sum(axis=0) > 10)
    assert np.all((~reached).sum(axis=0) > 10)
    assert sum(one.plan.front_raise != 0 for one in tried) > 3
    assert sum(one.setup.trailer.bars > 1 for one in tried) > 3
    assert sum(one.setup.hitch.x < 0 for one in tried) > 50
    assert sum(one.setup.hitch.roll_coupling > 0 for one in tried) > 8
    assert sum(one.plan.bed_clearance is not None for one in tried) > 30


def sprung_trailer(seed):
    """Return random numbers for `pitched`: coupling to axle centre, axles' places, rate, weight, centre of mass."""
    rng = np.random.default_rng([seed, 8])
    count = 1 + seed % 4
    places = (np.arange(count) - (count - 1) / 2)[::-1] * rng.uniform(0.6, 1.2)
    ahead, height = rng.uniform(0.05, 0.2), rng.uniform(-0.3, 1.5) * rng.integers(0, 2)
    return rng.uniform(3, 8), places, rng.uniform(1e5, 2e6), rng.uniform(1e3, 6e3) * G, ahead, height


def on_springs(length, places, rate, weight, ahead, height, rise):
    """Return pitch, coupling load and axle loads of a trailer in the engine, its coupling held above level by a rise.

    Lengths along it are stretched as engine.py tells; the height of its centre of mass is stretched twice, which
    keeps its moment among the others.
    """
    s = 1e4
    spring, site, ropes = weight / places.size, "", ""
    for i, x in enumerate(places):
        site += f'<site name="axle_{i}" pos="{float(x - length) * s!r} 0 -0.2"/>'
        ropes += f"""<spatial name="axle_{i}" stiffness="{rate!r}" springlength="{0.4 + spring / rate!r}">
            <site site="ground_{i}"/><site site="axle_{i}"/></spatial>"""
    ground = "".join(f'<site name="ground_{i}" pos="{float(x - length) * s!r} 0 0"/>' for i, x in enumerate(places))
    place = f"{float((ahead - 1) * length * s)!r} 0 {float(height * s**2 - 0.2)!r}"
    model = mujoco.MjModel.from_xml_string(f"""<mujoco><compiler angle="radian"/><option gravity="0 0 {-G}"/><worldbody>
        {ground}<body pos="0 0 0.6"><joint name="rise" type="slide" axis="0 0 1"/>
        <joint name="pitch" type="hinge" axis="0 1 0"/><geom type="sphere" size="0.1" mass="{weight / G!r}"
        pos="{place}"/>{site}</body></worldbody><tendon>{ropes}</tendon></mujoco>""")
    data = mujoco.MjData(model)

    def holding(angle):
        data.qpos[:], data.qvel[:], data.qacc[:] = (rise, angle / s), 0.0, 0.0
        mujoco.mj_forward(model, data)
        data.qacc[:] = 0.0
        mujoco.mj_inverse(model, data)
        return data.qfrc_inverse.copy()

    low, high = -0.01, 0.01  # a straight line, but for rounding: two secants find its foot
    for _ in range(3):
        at_low, at_high = holding(low)[1], holding(high)[1]
        foot = low - at_low * (high - low) / (at_high - at_low)
        low, high = foot - 1e-3, foot + 1e-3
    coupling = holding(foot)[0]
    axles = rate * (model.tendon_lengthspring[:, 0] - data.ten_length)
    return foot, coupling, axles


@pytest.mark.parametrize("seed", range(40))
def test_a_coupling_held_high_or_low_shifts_load_between_axles_as_the_engine_finds(seed):
    length, places, rate, weight, _, height = numbers = sprung_trailer(seed)
    rise = np.random.default_rng([seed, 9]).uniform(-0.1, 0.1)
    angle, coupling, axles = on_springs(*numbers, rise)
    level_angle, level_coupling, level_axles = on_springs(*numbers, 0.0)
    claimed = pitched(rise, length, places, rate, weight=weight, centre_height=height)
    near = {"rtol": 0, "atol": BALANCE * weight}
    assert claimed.pitch == pytest.approx(angle - level_angle, abs=PLACE)
    np.testing.assert_allclose(claimed.tongue_change, coupling - level_coupling, **near)
    np.testing.assert_allclose(claimed.axle_change, axles - level_axles, **near)
