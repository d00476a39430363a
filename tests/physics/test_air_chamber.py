"""Alsuwaiyan, World Journal of Engineering and Technology 12 (2024), doi 10.4236/wjet.2024.123029, abstract.

An air chamber's stiffness is linear in area, falls with its length, and is greater isentropic than isothermal. Signs
and proportion only: its tables were not at hand.
"""

import numpy as np
from numpy.testing import assert_allclose

from planner.physics.air_spring import spring_rate

GAUGE, AREA, LENGTH = 4e5, 0.02, 0.25  # [Pa, m², m]


def rate(area: object = AREA, length: object = LENGTH, exponent: float = 1.4) -> np.ndarray:
    """Return the rate of a straight chamber."""
    return spring_rate(GAUGE, area, np.multiply(area, length), area_slope=0.0, exponent=exponent)


def test_linear_in_area() -> None:
    assert_allclose(rate(area=np.array([1.0, 2.0, 3.0]) * AREA), rate() * np.array([1.0, 2.0, 3.0]), rtol=1e-12)


def test_falls_with_length() -> None:
    assert (np.diff(rate(length=np.linspace(0.1, 0.5, 9))) < 0).all()


def test_isentropic_above_isothermal() -> None:
    assert rate(exponent=1.4) > rate(exponent=1.0)
