"""A single-axle trailer worked out by hand: 220 kg, its centre 1.85 m and its axle 2.15 m behind the coupler.

The numbers are those of a set exercise ("A single-axle trailer is supported by an axle in the middle of the trailer and
a coupler...", parts c to g, g = 9.81 m/s²), whose answers were not printed. Tolerance: half the last digit given.
"""

from collections.abc import Callable

import pytest
from numpy.testing import assert_allclose

from planner.physics import statics
from planner.records import BadInput, Trailer

G = 9.81  # [m/s²] the exercise's own
AXLE, CENTRE = 2.15, 1.85  # [m] behind the coupler
EMPTY, LOAD = 220.0, 540.0  # [kg]

TrailerMaker = Callable[..., Trailer]


def ball_load(*masses_at: tuple[float, float]) -> float:
    """Return the load on the ball [N] of masses [kg] at distances behind the coupler [m]."""
    loads = [statics.point_load(mass * G, AXLE - place, 0.0, AXLE) for mass, place in masses_at]
    return float(sum(load.axle[0] for load in loads))


def on_deck(make_trailer: TrailerMaker, place: float) -> Trailer:
    """Return the trailer with the load aboard, at a distance behind the coupler [m]."""
    items = [("empty", EMPTY, CENTRE), ("load", LOAD, place)]
    deck = [{"name": name, "weight": f"{mass} kg", "ahead": f"{AXLE - at:.6f} m"} for name, mass, at in items]
    return make_trailer(gross_weight=None, tongue_ratio=None, axle_distance=f"{AXLE} m", axle_count=1, deck=deck)


@pytest.mark.parametrize(
    ("masses_at", "expected", "half_digit"),
    [
        ([(EMPTY, CENTRE)], 301.1, 0.05),
        ([(EMPTY, CENTRE), (LOAD, 3.3)], -2532, 0.5),
        ([(EMPTY, CENTRE), (LOAD, 2.272)], 0, 1.3),  # 0.5 mm of the 540 kg is 1.2 N at the ball
    ],
)
def test_load_on_the_ball(masses_at: list[tuple[float, float]], expected: float, half_digit: float) -> None:
    assert_allclose(ball_load(*masses_at), expected, rtol=0, atol=half_digit)


def test_a_load_in_the_back_lifts_the_ball_and_is_refused(make_trailer: TrailerMaker) -> None:
    with pytest.raises(BadInput, match=r"deck: must give a tongue load >= 0, got -258.*tail-heavy.*move load forward"):
        on_deck(make_trailer, 3.3)  # -2532 N / 9.81 = -258 kg


def test_the_ball_carries_nothing_with_the_load_at_2_272_m(make_trailer: TrailerMaker) -> None:
    trailer = on_deck(make_trailer, 2.272)
    assert_allclose(trailer.tongue_share * trailer.weight * G, 0, rtol=0, atol=1.3)
    with pytest.raises(BadInput, match="must give a tongue load >= 0"):
        on_deck(make_trailer, 2.273)


def test_the_empty_trailer_rests_on_the_ball(make_trailer: TrailerMaker) -> None:
    deck = [{"name": "empty", "weight": "220 kg", "ahead": "0.30 m"}]
    trailer = make_trailer(gross_weight=None, tongue_ratio=None, axle_distance="2.15 m", axle_count=1, deck=deck)
    assert_allclose(trailer.tongue_share * trailer.weight * G, 301.1, rtol=0, atol=0.05)
