"""OpenStax, College Physics, example 16.4: car and load 900 kg on springs of 6.53·10⁴ N/m: 1.36 Hz, 0.738 s.

Tolerance: half the last printed digit.
"""

from numpy.testing import assert_allclose

from planner.physics.ride import bounce_frequency


def test_example_16_4() -> None:
    frequency = float(bounce_frequency(6.53e4, 900.0))
    assert_allclose(frequency, 1.36, rtol=0, atol=0.005)
    assert_allclose(1.0 / frequency, 0.738, rtol=0, atol=0.0005)
