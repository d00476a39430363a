"""What a day's temperature does to a truck with its valves shut."""

from __future__ import annotations

from typing import Final

import numpy as np

from planner.physics.atmosphere import standard_pressure
from planner.physics.constants import REFERENCE_TEMPERATURE
from planner.physics.equilibrium import SealedAir, settle
from planner.plans.answer import Answer
from planner.plans.setup import Setup, rig_of

A_DAY: Final = 15.0  # [K] from a morning to an afternoon: common practice


def rise_when_warmer(setup: Setup, answer: Answer, by: float = A_DAY) -> tuple[float, float]:
    """Return how far front and rear rise on the pressures that are set, the valves shut and the air warmer. [m]

    Parameters
    ----------
    setup, answer
        What was asked, and its answer.
    by : float
        How much warmer than when the valves were shut. [K]

    Examples
    --------
    >>> from planner import level, read_truck
    >>> answer = level(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> front, rear = rise_when_warmer(answer.setup, answer, by=20.0)
    >>> round(1e3 * front, 1), round(1e3 * rear, 1)  # mm
    (7.9, 8.4)
    """
    rig = rig_of(setup.truck)
    load, stance = setup.load(rig), answer.set.stance
    ambient, temperature = np.full(2, standard_pressure(0.0)), REFERENCE_TEMPERATURE + np.array([0.0, by])
    height = np.where(rig.has_bag[:, None], answer.set.bag_height, rig.design_height)
    air = SealedAir.shut(
        rig,
        height,
        np.nan_to_num(answer.set.pressure),
        ambient=ambient,
        temperature=np.full(2, REFERENCE_TEMPERATURE),
        ambient_now=ambient,
        temperature_now=temperature,
    )
    start = np.array([stance.front, stance.rear, stance.roll, answer.side_moment[0]])
    cool, warm = settle(rig, load, air, np.broadcast_to(start, (2, 4))).state
    return float(warm[0] - cool[0]), float(warm[1] - cool[1])
