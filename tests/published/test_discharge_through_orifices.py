"""Discharge of air through an orifice, the usual table of air compressor handbooks: cfm of free air, rounded holes.

14.7 psia and 70 °F outside, 0.07494 lb/ft³. Unchoked flow is by the adiabatic formula, choked flow by Moss'
rule (S. A. Moss, American Machinist, 1906), 0.3 % below it: so half the last printed digit, and 0.4 %.
"""

import numpy as np
import pytest

from planner.physics.air_flow import FREE_AIR_DENSITY, orifice_flow

from .comparison import half_a_digit

PSI, INCH, CUBIC_FOOT, POUND = 6894.757, 0.0254, 0.02831685, 0.45359237
OUTSIDE, WARM, DENSITY = 14.7 * PSI, 294.26, 0.07494 * POUND / CUBIC_FOOT
SIXTYFOURTHS = [1, 2, 4, 8, 16, 24]
TABLE = {  # psig: by diameter
    100: [0.406, 1.62, 6.49, 26.0, 104, 234],
    60: [0.264, 1.06, 4.23, 16.9, 67.6, 152],
    30: [0.158, 0.633, 2.53, 10.1, 40.5],
    15: [0.105, 0.420, 1.68, 6.72, 26.9],
    5: [0.062, 0.248, 0.993, 3.97, 15.9],
    1: [0.028, 0.112, 0.450, 1.80, 7.18],
    125: [0.494, 1.98, 7.90, 31.6, 126],
}


def cubic_feet(psig, inches):
    """Return the discharge in cubic feet a minute of their free air."""
    passed = orifice_flow(OUTSIDE + psig * PSI, OUTSIDE, np.pi / 4 * (inches * INCH) ** 2, WARM)
    return float(passed) * FREE_AIR_DENSITY / DENSITY * 60 / CUBIC_FOOT


@pytest.mark.parametrize("psig", TABLE)
def test_the_table(compare, psig):
    for size, printed in zip(SIXTYFOURTHS, TABLE[psig], strict=False):
        off = max(half_a_digit(printed, 3), 0.0005) + 0.004 * printed
        compare(f"through {size}/64 in at {psig} psi", printed, cubic_feet(psig, size / 64), "cfm", off)


@pytest.mark.parametrize(("psig", "printed"), [(1, 7.17), (5, 15.88), (15, 26.89)])
def test_the_adiabatic_formula_for_a_quarter_inch(compare, psig, printed):
    compare(f"adiabatic formula, 1/4 in at {psig} psi", printed, cubic_feet(psig, 0.25), "cfm", 0.004 * printed)


def test_moss_rule_for_a_quarter_inch_at_100_psig(compare):
    compare("Moss' rule, 1/4 in at 100 psi", 103.84, cubic_feet(100, 0.25), "cfm", 0.004 * 103.84)
