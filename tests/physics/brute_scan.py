"""The best state inside all limits by looking everywhere: a grid over the state, made finer about the best.

It knows nothing of multipliers or slopes. At a roll and a split of the side moment every spring force is known, so each
axle's rise is free of the other's: all rises of a fine grid are tried for each, and a bag is inside its limits or not.
Equations are met by secants: one pressure in a shared line by the split that gives it, the roll that no line chooses
by what both axles carry.
"""

import numpy as np

from planner.physics.statics import Load

RISES = np.linspace(-0.25, 0.25, 251)  # [m] tried about the wanted rise
ZOOMS = 8
FIRST, NEXT = 25, 13  # points along each coordinate of the first grid and of the finer ones
NEAR = 2.0  # cells about the best that the next grid spans
ROUNDED = 0.1  # [N or N·m] of an equation not met: the secants came to nothing
FAR = 1.0  # [m] a departure beyond all others: no rise is inside the limits


class Axle:
    """One axle of a truck under a load: what its corners carry at a roll and a side moment."""

    def __init__(self, rig, load, k):
        self.k, self.bag, self.joined = k, rig.bags[k], rig.joined[k]
        self.m, self.arm = float(rig.motion_ratio[k]), float(rig.motion_ratio[k] * rig.half_spacing[k])
        self.tyre_roll = float(0.5 * rig.tyre_rate[k] * rig.track[k] ** 2)
        self.bar = float(rig.anti_roll_rate[k])
        self.squash = float((load.axle[k] - rig.kerb.axle[k]) / (2 * rig.tyre_rate[k]))
        self.mean = float((load.axle[k] - rig.unsprung_load[k]) / (2 * self.m))
        self.rate, self.steel = float(rig.steel_rate[k]), float(rig.steel_load[k])
        self.fitted = self.bag.fitted_height if self.bag else 0.0

    def corners(self, roll, moment, rise):
        """Heights and bag forces left and right, any shape."""
        tilt = roll + moment / self.tyre_roll
        heights, forces = [], []
        for sign in (1.0, -1.0):
            height = self.fitted + self.m * (rise + self.squash) + sign * self.arm * tilt
            force = self.mean + sign * (moment + self.bar * tilt) / (2 * self.arm)
            heights.append(height)
            forces.append(force - self.steel + self.rate * (height - self.fitted))
        return heights, forces

    def room(self, roll, moment, rise):
        """How far inside all its limits the worse corner is, in metres or newtons over 1e5; < 0 outside."""
        heights, forces = self.corners(roll, moment, rise)
        bag, worst = self.bag, np.inf
        for height, force in zip(heights, forces, strict=True):
            area = bag.area(height)
            for one in (
                height - bag.lowest,
                bag.highest - height,
                (force - bag.least_pressure * area) / 1e5,
                (bag.greatest_pressure * area - force) / 1e5,
                (min(bag.load_rating, 1e12) - force) / 1e5,
            ):
                worst = np.minimum(worst, one)
        return worst

    def departures(self, roll, moment, wanted):
        """The least |rise - wanted| inside the limits at each roll and moment, FAR where there is none; any shape."""
        rises = wanted + RISES
        rises = rises[np.argsort(np.abs(rises - wanted), kind="stable")]
        inside = self.room(roll[..., None], moment[..., None], rises) >= -1e-9
        first = inside.argmax(axis=-1)
        found = inside.any(axis=-1)
        best = rises[first]
        # bisect between the found rise and its neighbour towards the wanted one, which is outside
        outer, inner = best.copy(), best - np.sign(best - wanted) * (RISES[1] - RISES[0])
        for _ in range(24):
            middle = 0.5 * (outer + inner)
            good = self.room(roll, moment, middle) >= -1e-9
            outer, inner = np.where(good, middle, outer), np.where(good, inner, middle)
        away = np.where(first == 0, 0.0, np.abs(outer - wanted))
        return np.where(found, away, FAR)


def _by_secants(function, first, second, steps):
    """Where a function is nought, from two guesses by secants, and what is left of it there; any shape."""
    before, now = function(first), function(second)
    for _ in range(steps):
        slope = now - before
        step = np.where(slope == 0.0, 0.0, -now * (second - first) / np.where(slope == 0.0, 1.0, slope))
        first, before = second, now
        second = second + step
        now = function(second)
    return second, np.abs(now)


def _moment_of_one_pressure(axle, roll, rise):
    """The side moment that an axle with a shared line carries at a roll and a rise, and what is left; any shape."""

    def unlike(moment):
        heights, forces = axle.corners(roll, moment, rise)
        left, right = (axle.bag.area(height) for height in heights)
        return (forces[0] * right - forces[1] * left) / (left + right)

    shape = np.broadcast(roll, rise).shape
    return _by_secants(unlike, np.full(shape, -1e3), np.full(shape, 1e3), 6)


def _steel(axle, roll):
    """Side moment and rise of an axle without bags at a roll: its steel carries mean and difference on its own."""
    arm, tyre = axle.arm, axle.tyre_roll
    stiff = axle.bar / (2 * arm) + axle.rate * arm  # of the difference by the roll between body and axle
    moment = -stiff * roll / (stiff / tyre + 1.0 / (2 * arm))
    rise = (axle.steel - axle.mean) / axle.rate / axle.m - axle.squash
    return moment, np.full_like(roll, rise)


class Search:
    """The states of one truck under one load, by lean and departure of the rises."""

    def __init__(self, rig, load, wanted):
        self.axles = [Axle(rig, load, k) for k in (0, 1)]
        self.load, self.wanted, self.track = load, wanted, float(rig.track[1])
        self.kinds = ["steel" if a.bag is None else "joined" if a.joined else "separate" for a in self.axles]
        self.steered = "separate" in self.kinds

    def passive(self, k, roll, rise):
        """Moment and departure of an axle that does not choose its side moment, at a roll and (joined) a rise."""
        axle = self.axles[k]
        if self.kinds[k] == "steel":
            moment, at = _steel(axle, roll)
            return moment, np.abs(at - self.wanted[k])
        moment, left = _moment_of_one_pressure(axle, roll, rise)
        inside = (axle.room(roll, moment, rise) >= -1e-9) & (left <= ROUNDED)
        return moment, np.where(inside, np.abs(rise - self.wanted[k]), FAR)

    def tried(self, first, second):
        """Lean and larger departure over a grid of the two coordinates that the plumbing leaves; see `start`."""
        one, two = np.meshgrid(first, second, indexing="ij")
        if not self.steered:
            return self._rolls_free(one, two)
        roll = one
        total = self.load.side_moment - self.load.overturning * roll
        if self.kinds == ["separate", "separate"]:
            moments = (two, total - two)
            off = [a.departures(roll, m, w) for a, m, w in zip(self.axles, moments, self.wanted[:2], strict=True)]
        else:
            k = self.kinds.index("separate")
            moment, other = self.passive(1 - k, roll, two)
            off = [other, self.axles[k].departures(roll, total - moment, self.wanted[k])]
        return np.abs(roll - self.wanted[2]) * self.track, np.maximum(*off)

    def _rolls_free(self, one, two):
        """No axle chooses its side moment: the roll is where both together carry what there is."""

        def missing(roll):
            carried = sum(self.passive(k, roll, rise)[0] for k, rise in enumerate((one, two)))
            return carried - self.load.side_moment + self.load.overturning * roll

        roll, left = _by_secants(missing, np.full(one.shape, -0.01), np.full(one.shape, 0.01), 10)
        off = [self.passive(k, roll, rise)[1] for k, rise in enumerate((one, two))]
        return np.abs(roll - self.wanted[2]) * self.track, np.where(left <= ROUNDED, np.maximum(*off), FAR)

    def start(self):
        """Centre and half width of the two coordinates: roll or front rise, then split or a joined axle's rise."""
        if not self.steered:
            return np.array(self.wanted[:2], float), np.array([0.2, 0.2])
        side = float(self.load.side_moment)
        if self.kinds == ["separate", "separate"]:
            return np.array([self.wanted[2], 0.5 * side]), np.array([0.12 / self.track, 3.0 * (abs(side) + 4e3)])
        rise = self.wanted[1 - self.kinds.index("separate")]
        return np.array([self.wanted[2], rise]), np.array([0.12 / self.track, 0.2])

    def least(self, cost):
        """The lean and departure of least cost; None where nothing is inside all limits."""
        centre, half = self.start()
        aim, best = centre.copy(), None
        for zoom in range(ZOOMS):
            count = FIRST if zoom == 0 else NEXT
            grid = [
                np.sort(np.append(c + h * np.linspace(-1, 1, count), a))
                for c, h, a in zip(centre, half, aim, strict=True)
            ]
            lean, off = self.tried(*grid)
            value = np.where(off < FAR, cost(lean, off), np.inf)
            at = np.unravel_index(value.argmin(), value.shape)
            if not np.isfinite(value[at]):
                return None
            if best is None or value[at] <= best[0]:
                best, centre = (value[at], lean[at], off[at]), np.array([grid[0][at[0]], grid[1][at[1]]])
            half = half * NEAR * 2.0 / (count - 1)
        return best[1:]


def least_lean(search):
    """The least lean over the rear track of any state inside all limits [m]; None where the grid meets none."""
    found = search.least(lambda lean, off: lean + 1e-3 * off)
    return None if found is None else found[0]


def least_departure(search, lean_allowed):
    """The least larger departure of the rises with no more lean than is allowed [m]; None where the grid meets none."""
    found = search.least(lambda lean, off: np.where(lean <= lean_allowed, off + 1e-4 * lean, np.inf))
    return None if found is None else found[1]


def one_case(load, j):
    """One case of a batch of loads."""
    return Load(
        *(
            np.asarray(getattr(load, name))[j] if np.ndim(getattr(load, name)) else getattr(load, name)
            for name in ("axle", "side_moment", "least_twist", "overturning", "overturning_front")
        )
    )
