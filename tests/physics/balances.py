"""The balances of the truck written out anew, corner by corner, for a general solver; of Rig only its numbers."""

import numpy as np
from scipy.interpolate import PchipInterpolator

STOP = 1e7  # [N/m]


class Truck:
    """A rig and a load as plain numbers."""

    def __init__(self, rig, load):
        self.rig, self.load = rig, load
        self.curves = [PchipInterpolator(b.heights, b.areas) if b else None for b in rig.bags]

    def heights(self, z, roll, moments):
        """Spring heights above fitted, from body and axle: [axle][side]."""
        r, out = self.rig, np.empty((2, 2))
        for k in (0, 1):
            squash = (self.load.axle[k] - r.kerb.axle[k]) / (2 * r.tyre_rate[k])
            axle_roll = -moments[k] / (0.5 * r.tyre_rate[k] * r.track[k] ** 2)
            for side, sign in ((0, 1), (1, -1)):
                out[k, side] = r.motion_ratio[k] * (z[k] + squash + sign * r.half_spacing[k] * (roll - axle_roll))
        return out

    def needed(self, roll, moments):
        """Force each spring must give: [axle][side]."""
        r, out = self.rig, np.empty((2, 2))
        for k in (0, 1):
            sum_s = self.load.axle[k] - r.unsprung_load[k]
            axle_roll = -moments[k] / (0.5 * r.tyre_rate[k] * r.track[k] ** 2)
            difference = (moments[k] + r.anti_roll_rate[k] * (roll - axle_roll)) / r.half_spacing[k]
            out[k] = (sum_s / 2 + difference / 2) / r.motion_ratio[k], (sum_s / 2 - difference / 2) / r.motion_ratio[k]
        return out

    def steel(self, k, travel):
        r, bag = self.rig, self.rig.bags[k]
        force = r.steel_load[k] - r.steel_rate[k] * travel
        if bag:
            height = bag.fitted_height + travel
            force -= STOP * (min(height - bag.heights[0], 0) + max(height - bag.heights[-1], 0))
        return force

    def area(self, k, travel):
        bag = self.rig.bags[k]
        return float(self.curves[k](np.clip(bag.fitted_height + travel, bag.heights[0], bag.heights[-1])))

    def volume(self, k, travel):
        bag = self.rig.bags[k]
        end = np.clip(bag.fitted_height + travel, bag.heights[0], bag.heights[-1])
        return bag.volume + float(self.curves[k].integrate(bag.fitted_height, end))

    def pressures(self, z, roll, front_moment):
        """Gauge pressure each bag needs in a state."""
        moments = (front_moment, self.load.side_moment - front_moment)
        travel, needed, out = self.heights(z, roll, moments), self.needed(roll, moments), np.zeros((2, 2))
        for k in (0, 1):
            if self.rig.bags[k]:
                for side in (0, 1):
                    area = self.area(k, travel[k, side])
                    out[k, side] = (needed[k, side] - self.steel(k, travel[k, side])) / area
        return out

    def left_over(self, state, pressure):
        """Forces left over at the four springs; `pressure(travel)` gives the gauge pressures."""
        z, roll, front = state[:2], state[2], state[3]
        moments = (front, self.load.side_moment - front)
        travel, needed = self.heights(z, roll, moments), self.needed(roll, moments)
        gauge, out = pressure(travel), []
        for k in (0, 1):
            for side in (0, 1):
                air = gauge[k, side] * self.area(k, travel[k, side]) if self.rig.bags[k] else 0.0
                out.append(needed[k, side] - air - self.steel(k, travel[k, side]))
        return np.array(out)

    def sealed(self, gauge, travel, ambient, heat, ambient_now):
        """Pressure law of air shut in at some pressures and spring travels; heat = temperature now / then."""
        r = self.rig

        def gas(k, at):
            both = [self.volume(k, at[k, side]) for side in (0, 1)]
            return np.full(2, sum(both)) if r.joined[k] else np.array(both)

        amount = [(gauge[k] + ambient) * gas(k, travel) * heat if r.bags[k] else None for k in (0, 1)]

        def pressure(at):
            return np.array([amount[k] / gas(k, at) - ambient_now if r.bags[k] else np.zeros(2) for k in (0, 1)])

        return pressure
