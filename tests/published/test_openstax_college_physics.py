"""OpenStax, College Physics, example 16.4: car and load 900 kg on springs of 6.53·10⁴ N/m: 1.36 Hz, 0.738 s.

Tolerance: half the last printed digit.
"""

from planner.physics.ride import bounce_frequency

from .comparison import Compare


def test_example_16_4(compare: Compare) -> None:
    frequency = float(bounce_frequency(6.53e4, 900.0))
    compare("bounces in a second", 1.36, frequency, "Hz", 0.005)
    compare("time of one bounce", 0.738, 1.0 / frequency, "s", 0.0005)
