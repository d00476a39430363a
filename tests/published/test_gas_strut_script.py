"""A gas-strut check in a public repository (ks_support.py, after a paper it quotes): k = γ p s / l.

1 bar absolute, s = π·10⁻⁴ m², l = 10 mm, γ = 1.4, 5 N: 1.14 mm by finite elements. Its own "analytic" 1.12 mm is not
used: its formula gives 1.137 mm. Tolerance: half the last printed digit.
"""

import numpy as np

from planner.physics.air_spring import spring_rate

from .comparison import Compare

AREA, LENGTH, PRESSURE = np.pi * 1e-4, 0.01, 1e5  # [m², m, Pa]


def rate() -> float:
    """Return the strut's rate [N/m]: no gauge pressure, all of it ambient."""
    return float(spring_rate(0.0, AREA, AREA * LENGTH, area_slope=0.0, exponent=1.4, ambient_pressure=PRESSURE))


def test_displacement_under_5_n(compare: Compare) -> None:
    compare("travel of the strut under 5 N", 1.14, 5.0 / rate() * 1e3, "mm", 0.005)
