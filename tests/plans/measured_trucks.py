"""Trucks whose hidden numbers are drawn from their spreads, and what gauge and tape say of them, made by `settle`."""

from dataclasses import dataclass

import numpy as np

from planner.plans.level import level_setup
from planner.plans.uncertainty.reading_fit import (
    Freedom,
    Gauges,
    Readings,
    Trucks,
    Unknowns,
    design_heights,
    unlisted,
)

FURTHEST = 3.0  # standard deviations


@dataclass
class Measured:
    """Trucks at rest in their true states, and their readings.

    shown : what each gauge truly would show, had it no error of the look [Pa]
    """

    unknowns: Unknowns
    gauges: Gauges
    trucks: Trucks
    readings: Readings
    shown: np.ndarray


def measured(setup, count, seed, *, free=None, shown=None):
    """Return trucks that may be a setup's, on the pressures planned for it, and one reading of each."""
    rng = np.random.default_rng(seed)
    unknowns = Unknowns(setup, level_setup(setup), unlisted(setup) if free is None else Freedom(*free))
    numbers = rng.standard_normal((count, unknowns.count)).clip(-FURTHEST, FURTHEST)
    return settled(unknowns, unknowns.trucks(numbers, planned_state(unknowns, count)), rng, shown)


def planned_state(unknowns, count):
    """Return the planned state for many trucks."""
    stance, moment = unknowns.planned.set.stance, unknowns.planned.side_moment[0]
    return np.tile([stance.front, stance.rear, stance.roll, moment], (count, 1))


def settled(unknowns, trucks, rng, read=None):
    """Return trucks where they rest with gauges that read a number (left out: as planned), and what is read of them."""
    gauges, count = Gauges.of(unknowns.setup), len(trucks.state)
    read = np.broadcast_to(unknowns.planned.set.pressure if read is None else read, (count, 2, 2))
    shown = looked(gauges, np.nan_to_num(read), rng)
    rest = trucks.settle(shown)
    trucks = trucks._replace(state=rest.state)
    rides = design_heights(unknowns.setup) + trucks.ride_heights()
    tape = gauges.tape * rng.standard_normal(rides.shape)
    return Measured(
        unknowns, gauges, trucks, Readings(np.where(gauges.has_bag[:, None], read, np.nan), rides + tape), shown
    )


def looked(gauges, read, rng):
    """Return what gauges truly show when they are read, or set, as a number; both of one line the same."""
    off = gauges.look * rng.standard_normal(read.shape)
    off[..., 1] = np.where(gauges.joined, off[..., 0], off[..., 1])
    return read + off


def on_stops(trucks):
    """Tell which trucks rest with a bag past an end of its chart."""
    return trucks.rig.on_stop(trucks.rig.corners(trucks.load, trucks.state).spring_height).any(axis=(1, 2))
