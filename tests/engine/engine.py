"""A truck and its trailer in a general rigid-body engine: bodies on joints, springs as ropes between places.

The planner's statics are those of small angles. The engine's are exact, so it is given the truck stretched: every
length along and across the truck, and nothing upright, is STRETCH times as long, every roll stiffness STRETCH² times.
Forces and heights then stay what they are, angles shrink by STRETCH, and what the engine does that small angles leave
out (1 - cos φ) falls below 1e-6 of the weight. No lever and no sum of moments is taken from the planner: the engine
finds them from masses and places.

The body turns on a hinge along the ground, and so does each axle. A mass on the body is as high over that hinge as it
is over the roll axis of the truck, STRETCH² times: angles are STRETCH times smaller and levers STRETCH times longer, so
what it swings out keeps its part among the other moments. Axles and trailer are low, and the pitch hinge is given the
moment that keeps the weight from swinging fore and aft: the planner leaves out both.
"""

import mujoco
import numpy as np
from scipy.interpolate import PchipInterpolator

from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.constants import STOP_RATE

from .trucks import Trailer, Truck

STRETCH = 3000.0
SEAT_HEIGHT = 1.1  # [m] spring seats on the body
AXLE_HEIGHT = 0.4  # [m] wheel centres and spring seats on the axle
TRAILER_RATE = 4e5  # [N/m] tyres of the trailer: its load is fixed by statics, this only tells where it comes to rest
SIDES = (("left", 1.0), ("right", -1.0))
SPRINGS, TYRES = ([f"{what}_{k}_{side}" for k in (0, 1) for side, _ in SIDES] for what in ("spring", "tyre"))
BARS = ["bar_0", "bar_1"]


class Engine:
    """One truck in the engine; q and forces are in the units of the truck as it is, not as it is stretched."""

    def __init__(self, truck: Truck, stretch: float = STRETCH, *, springs: bool, damping: float = 0.0) -> None:
        self.truck, self.stretch = truck, stretch
        self.model = mujoco.MjModel.from_xml_string(_xml(truck, stretch, damping))
        if not springs:
            self.model.opt.disableflags |= int(mujoco.mjtDisableBit.mjDSBL_SPRING)
        self.data = mujoco.MjData(self.model)
        mujoco.mj_forward(self.model, self.data)
        self.at_rest_length = self.data.ten_length.copy()
        hinge = self.model.jnt_type == mujoco.mjtJoint.mjJNT_HINGE
        self.unit = np.where(hinge, 1.0 / stretch, 1.0)  # one metre of rise at one metre of arm
        self.weight = float(truck.load.axle.sum())
        if truck.trailer:
            self.push({"hitch": -float(truck.trailer.hitched.bar_moment) * stretch})

    def joint(self, name: str) -> int:
        return self.model.joint(name).qposadr[0]

    def pose(self, state: np.ndarray) -> None:
        """Put body, axles and trailer where a state of the planner says."""
        truck, q, s = self.truck, self.data.qpos, self.stretch
        front, rear, roll = state[:3]
        squash = truck.rig.squash(truck.load)
        axle_roll = truck.rig.axle_roll(truck.rig.axle_moments(truck.load, state))
        q[self.joint("rise")] = rear
        q[self.joint("pitch")] = np.arctan((rear - front) / (truck.rig.wheelbase * s))
        q[self.joint("roll")] = roll / s
        for k in (0, 1):
            if truck.independent[k]:
                for side, sign in SIDES:
                    q[self.joint(f"hub_{k}_{side}")] = sign * truck.rig.track[k] / 2 * axle_roll[k] - squash[k]
            else:
                q[self.joint(f"heave_{k}")] = -squash[k]
                q[self.joint(f"axle_roll_{k}")] = axle_roll[k] / s
        if truck.trailer:  # its own wheels stay where they are
            t = truck.trailer
            rise = rear + (front - rear) * t.hitch_x / truck.rig.wheelbase + roll * t.hitch_y
            nose_up = (t.height + rise - t.level_height) / (t.length * s)
            q[self.joint("hitch")] = -nose_up - q[self.joint("pitch")]
            if t.track:
                q[self.joint("trailer_roll")] = -roll / s

    def state(self) -> np.ndarray:
        """Return rise front, rise rear and roll of the body."""
        q, s = self.data.qpos, self.stretch
        rear = q[self.joint("rise")]
        front = rear - self.truck.rig.wheelbase * s * np.tan(q[self.joint("pitch")])
        return np.array([front, rear, s * q[self.joint("roll")]])

    def lengthening(self, names: list[str]) -> np.ndarray:
        """Return how much longer than at design the springs (in their own travel) or tyres are, front first. [m]"""
        mujoco.mj_fwdPosition(self.model, self.data)
        ids = [self.model.tendon(n).id for n in names]
        return (self.data.ten_length - self.at_rest_length)[ids]

    def height(self, site: str) -> float:
        """Return the height of a named place above ground, as last posed. [m]"""
        mujoco.mj_fwdPosition(self.model, self.data)
        return float(self.data.site(site).xpos[2])

    def trailer_pitch(self) -> float:
        """Return the pitch of the trailer, nose down positive, as last posed. [rad]"""
        mujoco.mj_fwdPosition(self.model, self.data)
        return -float(self.data.body("trailer").xmat[6]) * self.stretch

    def push(self, forces: dict[str, float]) -> None:
        """Apply forces along springs and tyres, pushing apart, and moments of bars, as they are in the truck."""
        for name, force in forces.items():
            self.data.ctrl[self.model.actuator(name).id] = force

    def hold_pitch(self) -> None:
        """Take out of the pitch hinge what the weight swings fore and aft."""
        self.push({"pitch": -self.truck.swing(self.stretch) * self.data.qpos[self.joint("pitch")]})

    def residual(self) -> np.ndarray:
        """Return what holds the pose beside springs and applied forces, one a joint: 0 at rest. [N, N·m]"""
        self.hold_pitch()
        self.data.qvel[:], self.data.qacc[:] = 0.0, 0.0
        mujoco.mj_forward(self.model, self.data)
        applied = self.data.qfrc_actuator.copy()
        self.data.qacc[:] = 0.0
        mujoco.mj_inverse(self.model, self.data)
        return (self.data.qfrc_inverse - applied) * self.unit


class Chart:
    """Area at height and pressure: scipy's PCHIP of each row, straight between rows, level past the outer ones."""

    def __init__(self, bag):
        self.rows = [PchipInterpolator(bag.heights, row) for row in np.atleast_2d(bag.areas)]
        self.pressures = bag.pressures
        self.of_gas = self.rows[bag.gas_row]

    def __call__(self, height: np.ndarray, pressure: np.ndarray) -> np.ndarray:
        if self.pressures is None:
            return self.rows[0](height)
        at = np.array([row(height) for row in self.rows])
        return np.array([np.interp(pressure[i], self.pressures, at[:, i]) for i in range(len(height))])


class Air:
    """Bags and stops as the engine feels them: force from spring height, of its own making (scipy's PCHIP)."""

    def __init__(self, engine: Engine, gauge: np.ndarray, sealed_at: np.ndarray | None = None, ambient: float = 0.0):
        self.engine, self.gauge, self.ambient = engine, gauge, ambient
        rig = engine.truck.rig
        self.bags = [(k, bag, Chart(bag)) for k, bag in enumerate(rig.bags) if bag]
        self.amount = None
        if sealed_at is not None:
            self.amount = {
                k: (gauge[k] + ambient) * self.volume(k, bag, area, sealed_at[k]) for k, bag, area in self.bags
            }

    def volume(self, k, bag, area, height):
        inside = np.clip(height, bag.heights[0], bag.heights[-1])
        gas = np.array([bag.volume + area.of_gas.integrate(bag.fitted_height, b) for b in inside])
        return np.full(2, gas.sum()) if self.engine.truck.rig.joined[k] else gas

    def act(self) -> None:
        travel = self.engine.lengthening(SPRINGS).reshape(2, 2)
        for k, bag, area in self.bags:
            height = bag.fitted_height + travel[k]
            pressure = (
                self.gauge[k]
                if self.amount is None
                else self.amount[k] / self.volume(k, bag, area, height) - self.ambient
            )
            inside = np.clip(height, bag.heights[0], bag.heights[-1])
            force = pressure * area(inside, pressure) - STOP_RATE * (height - inside)
            self.engine.push({SPRINGS[2 * k]: force[0], SPRINGS[2 * k + 1]: force[1]})


def come_to_rest(engine: Engine, air: Air) -> None:
    """Let the truck sink into its rest as through treacle: viscous flow down the forces, by implicit steps."""
    viscosity, longest = 1e5 * np.eye(engine.model.nq), 0.01
    pace = 1.0
    left = _out_of_balance(engine, air)
    for _ in range(400):
        if np.abs(left).max() < 1e-7 * engine.weight:
            return
        step = np.linalg.solve(viscosity / pace + _stiffness(engine, air), -left)
        step *= min(1.0, longest / np.abs(step).max())
        engine.data.qpos += step * engine.unit
        now = _out_of_balance(engine, air)
        pace = float(np.clip(pace * np.linalg.norm(left) / np.linalg.norm(now), pace / 4, pace * 4))
        left = now
    raise AssertionError("the engine found no rest")


def let_go(engine: Engine, air: Air, seconds: float) -> None:
    """Let the truck move in time, the air acting anew at every step."""
    for _ in range(round(seconds / engine.model.opt.timestep)):
        mujoco.mj_step1(engine.model, engine.data)
        air.act()
        engine.hold_pitch()
        mujoco.mj_step2(engine.model, engine.data)


def _out_of_balance(engine, air):
    air.act()
    return engine.residual()


def _stiffness(engine, air):
    """Return d(out of balance)/dq by central differences."""
    q, small = engine.data.qpos.copy(), 1e-6
    columns = []
    for j in range(engine.model.nq):
        ends = []
        for sign in (1.0, -1.0):
            engine.data.qpos[:] = q
            engine.data.qpos[j] += sign * small * engine.unit[j]
            ends.append(_out_of_balance(engine, air))
        columns.append((ends[0] - ends[1]) / (2 * small))
    engine.data.qpos[:] = q
    return np.column_stack(columns)


def _xml(truck: Truck, s: float, damping: float) -> str:
    """Write the truck as MJCF."""
    parts, ropes, motors = [_body(truck, s)], [], []
    for k in (0, 1):
        parts.append(_axle(truck, s, k))
        ropes += _axle_ropes(truck, s, k, damping)
        motors += [f"spring_{k}_left", f"spring_{k}_right", f"tyre_{k}_left", f"tyre_{k}_right", f"bar_{k}"]
    if truck.trailer:
        for side, load in _trailer_wheels(truck.trailer):
            ends = (f"trailer_ground{side}", f"trailer_axle{side}")
            ropes.append(_rope(f"trailer_tyre{side}", *ends, 1.0, TRAILER_RATE, AXLE_HEIGHT, load, damping))
            motors.append(f"trailer_tyre{side}")
    pushes = "".join(f'<motor name="{n}" tendon="{n}"/>' for n in motors) + '<motor name="pitch" joint="pitch"/>'
    if truck.trailer:
        pushes += '<motor name="hitch" joint="hitch"/>'
    return f"""<mujoco><compiler angle="radian"/><option gravity="0 0 {-G}" timestep="0.001" integrator="implicitfast"/>
    <default><geom type="sphere" size="0.05" contype="0" conaffinity="0"/></default>
    <worldbody>{"".join(parts)}</worldbody><tendon>{"".join(ropes)}</tendon><actuator>{pushes}</actuator></mujoco>"""


def _sphere(mass, x, y, z):
    return f'<geom mass="{float(mass)!r}" pos="{float(x)!r} {float(y)!r} {float(z)!r}"/>'


def _site(name, x, y, z):
    return f'<site name="{name}" pos="{float(x)!r} {float(y)!r} {float(z)!r}"/>'


def _body(truck, s):
    rig = truck.rig
    inside = "".join(
        _sphere(m.mass, m.x * s, m.y * s, truck.over_roll_axis(m) * s**2) for m in truck.body + truck.cargo
    )
    for k, x in enumerate((float(rig.wheelbase), 0.0)):
        for side, sign in SIDES:
            inside += _site(f"seat_{k}_{side}", x * s, float(sign * rig.half_spacing[k] * s), SEAT_HEIGHT)
    outside = ""
    if truck.trailer:
        on_truck, outside = _trailer(truck.trailer, s)
        inside += on_truck
    return f"""<body><joint name="rise" type="slide" axis="0 0 1"/><joint name="pitch" type="hinge" axis="0 1 0"/>
        <joint name="roll" type="hinge" axis="1 0 0"/>{inside}</body>{outside}"""


def _trailer_wheels(trailer: Trailer):
    """Return the ends of the names of its tyres with their loads: one, or left and right where it swivels."""
    if trailer.track is None:
        return [("", float(trailer.hitched.trailer_axle_load))]
    return [(f"_{side}", load) for (side, _), load in zip(SIDES, trailer.tyre_loads, strict=True)]


def _trailer(t: Trailer, s):
    """Write the trailer as a body on the truck's, and the places on the ground below it."""
    inside, ground = _sphere(t.gross, (t.ahead - t.length) * s, t.left * s, 0.3), ""
    for side, _ in _trailer_wheels(t):
        y = {"": 0.0, "_left": (t.track or 0.0) / 2, "_right": -(t.track or 0.0) / 2}[side] * s
        inside += _site(f"trailer_axle{side}", -t.length * s, y, AXLE_HEIGHT - t.level_height)
        ground += _site(f"trailer_ground{side}", (t.hitch_x - t.length) * s, t.hitch_y * s + y, 0.0)
    swivel = '<joint name="trailer_roll" type="hinge" axis="1 0 0"/>' if t.track else ""
    on_truck = _site("coupling", t.hitch_x * s, t.hitch_y * s, t.height)
    if t.over_bed:
        end, rail, under = t.over_bed
        on_truck += _site("rail", end * s, 0.0, rail)
        inside += _site("underside", (end - t.hitch_x) * s, 0.0, under)
    return (
        f"""{on_truck}<body name="trailer" pos="{float(t.hitch_x * s)!r} {float(t.hitch_y * s)!r} {float(t.height)!r}">
        <joint name="hitch" type="hinge" axis="0 1 0"/>{swivel}{inside}</body>""",
        ground,
    )


def _axle(truck, s, k):
    """One body on heave and roll, or two hubs that only go up and down."""
    rig, x = truck.rig, (float(truck.rig.wheelbase) if k == 0 else 0.0) * s
    mass, parts, ground = float(rig.unsprung_load[k]) / G / 2, [], ""
    for side, sign in SIDES:
        wheel, seat = float(sign * rig.track[k] / 2 * s), float(sign * rig.half_spacing[k] * s)
        ground += _site(f"ground_{k}_{side}", x, wheel, 0.0)
        parts.append(
            _sphere(mass, 0.0, wheel, AXLE_HEIGHT)
            + _site(f"wheel_{k}_{side}", 0.0, wheel, AXLE_HEIGHT)
            + _site(f"axle_seat_{k}_{side}", 0.0, seat, AXLE_HEIGHT)
        )
    if truck.independent[k]:
        hubs = (f'<joint name="hub_{k}_{side}" type="slide" axis="0 0 1"/>' for side, _ in SIDES)
        return ground + "".join(f'<body pos="{x!r} 0 0">{h}{p}</body>' for h, p in zip(hubs, parts, strict=True))
    joints = f"""<joint name="heave_{k}" type="slide" axis="0 0 1"/>
        <joint name="axle_roll_{k}" type="hinge" axis="1 0 0"/>"""
    return ground + f'<body pos="{x!r} 0 0">{joints}{"".join(parts)}</body>'


def _rope(name, start, end, gain, rate, length, force, damping):
    """A spring that pushes apart with a force at a length between its ends; its travel is gain times theirs."""
    spring = f'stiffness="{rate!r}" springlength="{float(gain * length + force / rate)!r}"' if rate > 0 else ""
    return f"""<spatial name="{name}" {spring} damping="{damping!r}">
        <pulley divisor="{1.0 / gain!r}"/><site site="{start}"/><site site="{end}"/></spatial>"""


def _axle_ropes(truck, s, k, damping):
    rig, n, ropes = truck.rig, truck.tyres_per_side[k], []
    kerb = float(rig.kerb.axle[k]) / 2  # the tyres' squash at kerb is the zero of the stance, half the axle each side
    for side, _ in SIDES:
        ropes.append(
            _rope(
                f"spring_{k}_{side}", f"axle_seat_{k}_{side}", f"seat_{k}_{side}", float(rig.motion_ratio[k]),
                float(rig.steel_rate[k]), SEAT_HEIGHT - AXLE_HEIGHT, float(rig.steel_load[k]), damping,
            )
        )  # fmt: skip
        for j in range(n):
            name = f"tyre_{k}_{side}" + ("" if j == 0 else "_dual")
            ends = (f"ground_{k}_{side}", f"wheel_{k}_{side}")
            ropes.append(_rope(name, *ends, 1.0, float(rig.tyre_rate[k]) / n, AXLE_HEIGHT, kerb / n, damping / 20))
    stiffness = float(rig.anti_roll_rate[k]) * s**2
    if truck.independent[k]:
        arm = float(rig.track[k]) * s
        joints = f'<joint joint="hub_{k}_left" coef="{-1 / arm!r}"/><joint joint="hub_{k}_right" coef="{1 / arm!r}"/>'
    else:
        joints = f'<joint joint="axle_roll_{k}" coef="-1"/>'
    joints = f'<joint joint="roll" coef="1"/>{joints}'
    ropes.append(f'<fixed name="bar_{k}" stiffness="{stiffness!r}" springlength="0">{joints}</fixed>')
    return ropes
