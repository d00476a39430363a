"""OpenHydraulics (Modelica), AirChamber: p V constant and F = A (p - p_amb), the isothermal reference model.

Here V follows from the chart of a bag whose area changes. Tolerance: rounding.
"""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.physics.air_spring import Bag, spring_rate
from planner.physics.constants import STANDARD_PRESSURE
from planner.physics.equilibrium import SealedAir
from planner.physics.truck_model import Rig

GAUGE, START = 4e5, 0.14  # [Pa, m]
HEIGHTS = np.linspace(0.08, 0.20, 25)


@pytest.fixture
def bag() -> Bag:
    """An invented bag that narrows as it rises."""
    heights, areas = np.linspace(0.07, 0.21, 6), np.array([0.036, 0.035, 0.033, 0.030, 0.027, 0.022])
    return Bag(heights, areas, START, 0.006, 0.0, 1e6)


@pytest.fixture
def rig(bag: Bag, make_rig: Callable[..., Rig]) -> Rig:
    """Four of it."""
    return make_rig(bag)


@pytest.fixture
def air(rig: Rig) -> SealedAir:
    """Air shut in at the start, the valves closed since."""
    same = {"ambient": np.asarray(STANDARD_PRESSURE), "temperature": np.asarray(293.15)}
    now = {f"{name}_now": value for name, value in same.items()}
    return SealedAir.shut(rig, np.full((2, 2), START), np.full((2, 2), GAUGE), **same, **now)


@pytest.mark.parametrize("height", HEIGHTS)
def test_pressure_times_volume_stays(rig: Rig, bag: Bag, air: SealedAir, height: float) -> None:
    pressure = air.pressure(rig, np.full((2, 2), height)) + STANDARD_PRESSURE
    assert_allclose(pressure * bag.gas_volume(height), (GAUGE + STANDARD_PRESSURE) * 0.006, rtol=1e-12)


@pytest.mark.parametrize("height", HEIGHTS)
def test_slow_stiffness_is_the_spring_rate_at_n_1(rig: Rig, bag: Bag, air: SealedAir, height: float) -> None:
    everywhere = np.full((2, 2), height)
    pressure = air.pressure(rig, everywhere)
    own, across = air.slopes(rig, everywhere, rig.springs(everywhere), pressure)
    rate = spring_rate(
        pressure, bag.area(height), bag.gas_volume(height), area_slope=bag.area_slope(height), exponent=1.0
    )
    assert_allclose(own, -rate, rtol=1e-12)
    assert not across.any()
