"""Goff-Gratch saturation pressure over water, as tabled by mc-computing.com, "Other formulas", and ETH's routine esat.

Ours is Hyland and Wexler's of 1983, 0.13 % above it: half the last printed digit, and 0.15 %. Rows below freezing are
over water there and over ice here, so they are left out.
"""

import pytest

from planner.physics.moisture import saturation_pressure


@pytest.mark.parametrize(
    ("celsius", "printed", "half"), [(2, 7.05, 5e-3), (15, 17.0523, 5e-5), (25, 31.652, 5e-4), (46, 100.84, 5e-3)]
)
def test_over_water(compare, celsius, printed, half):
    found = saturation_pressure(celsius + 273.15) / 100.0
    compare(f"saturated vapour at {celsius} °C", printed, found, "hPa", half + 1.5e-3 * printed)
