"""A. Esposito, Fluid Power with Applications, chapter 13, as FOSSEE's Scilab companion has it (788/CH13).

Printed in US units with 14.7 psi for the atmosphere: half the last printed digit. The title is from memory.
"""

import numpy as np
import pytest

from planner.physics.air_flow import Compressor, free_air

PSI, ATMOSPHERE, GALLON, CUBIC_FOOT = 6894.757, 14.7, 3.785412e-3, 0.02831685


@pytest.mark.parametrize(("volume", "running"), [(659.7, 0.0), (494.8, 5.0)])
def test_example_13_7_a_receiver_that_gives_20_scfm_for_6_minutes(compare, volume, running):
    # their free air is at 14.7 psi, ours at 100 kPa
    given = free_air(20 * PSI, volume * GALLON) * 100e3 / (ATMOSPHERE * PSI)
    what = f"13-7: flow from a receiver of {volume} gal for 6 min"
    compare(what, 20.0, given / CUBIC_FOOT / 6.0 + running, "scfm", 0.005)


def test_example_13_7_backwards_20_scfm_pump_it_up_in_6_minutes(compare):
    scfm = CUBIC_FOOT / 60 * ATMOSPHERE * PSI / 100e3
    pump = Compressor(np.array([0.0, 100 * PSI]), np.full(2, 20 * scfm))
    minutes = pump.pump_up_time(659.7 * GALLON, 80 * PSI, 100 * PSI) / 60
    compare("13-7: 80 to 100 psi in 659.7 gal at 20 scfm", 6.0, minutes, "min", 0.005)


def test_example_13_12_air_of_a_cylinder(compare):
    strokes, area, stroke = 30, np.pi / 4 * 1.75**2, 6.0  # a minute, in², in
    rankine = [(fahrenheit + 459.67) * 5 / 9 for fahrenheit in (80.0, 68.0)]
    free = free_air((100 + ATMOSPHERE) * PSI, strokes * area * stroke * 0.0254**3, rankine[0])
    scfm = free * 100e3 / (ATMOSPHERE * PSI) * (rankine[1] / 293.15) / CUBIC_FOOT
    compare("13-12: air of a cylinder", 1.91, scfm, "scfm", 0.005)
