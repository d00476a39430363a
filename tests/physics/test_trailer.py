"""The trailer as a lever, against sums taken about other places and a general linear solver."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from planner.physics.trailer import deck, drawbar_value, fifth_wheel_value, pitched, slide

ITEMS = np.array([900.0, 400.0, 250.0]), np.array([0.2, 1.5, -1.0]), np.array([0.0, 0.4, -0.3])


def test_deck_carries_its_items_at_coupling_and_wheels():
    weight, ahead, left = ITEMS
    d = deck(weight, ahead, left, 4.0, 1.8)
    tongue, axle = d.tongue_ratio * d.gross, (1 - d.tongue_ratio) * d.gross
    assert_allclose(axle * 4.0, (weight * (4.0 - ahead)).sum())  # about the coupling
    assert_allclose(tongue + axle, weight.sum())
    assert_allclose(d.left_share * d.gross * 1.8, (weight * (left + 0.9)).sum())  # about the right wheel


def test_sliding_an_item_gives_the_wanted_ratio():
    weight, ahead, left = ITEMS
    before = deck(weight, ahead, left, 4.0, 1.8)
    by = slide(400.0, before.gross, before.tongue_ratio, 0.12, 4.0)
    after = deck(weight, ahead + np.array([0, 1, 0]) * by, left, 4.0, 1.8)
    assert_allclose(after.tongue_ratio, 0.12, atol=1e-12)


@given(
    rise=st.floats(-0.3, 0.3), length=st.floats(2, 9), rate=st.floats(5e4, 1e6), spread=st.floats(0.4, 1.2),
    weight=st.floats(0, 6e4), height=st.floats(0, 1.5),
)  # fmt: skip
def test_pitch_solves_the_rigid_frame_on_springs(rise, length, rate, spread, weight, height):
    places = np.array([spread / 2, -spread / 2])
    p = pitched(rise, length, places, rate, weight=weight, centre_height=height)
    # unknown: rise at the axle centre, nose-up angle, load gained by the coupling; the frame is rigid
    system = np.array(
        [
            [1.0, length, 0.0],  # u(coupling) = rise
            [-2 * rate, 0.0, 1.0],  # springs lose what the coupling gains
            [0.0, -rate * (places**2).sum() + weight * height, length],  # moments about the axle centre
        ]
    )
    centre, angle, tongue = np.linalg.solve(system, [rise, 0.0, 0.0])
    scale = rate * 0.3
    assert_allclose(p.pitch, -angle, atol=1e-9)
    assert_allclose(p.tongue_change, tongue, atol=1e-9 * scale)
    assert_allclose(p.axle_change, -rate * (centre + angle * places), atol=1e-9 * scale)
    assert_allclose(p.axle_change.sum() + p.tongue_change, 0.0, atol=1e-9 * scale)


def test_one_axle_only_tilts():
    p = pitched(0.1, 5.0, [0.0], 2e5)
    assert_allclose(p.pitch, -0.02)
    assert_allclose(p.tongue_change, 0.0)


def test_coupling_values_balance_mass():
    # the force between two masses that share an acceleration g: reduced mass times g
    assert_allclose(drawbar_value(3000.0, 3000.0), 1500.0 * 9.80665)
    assert_allclose(fifth_wheel_value(18e3, 30e3, 10e3), 0.6 * 9.80665 * 18e3 * 30e3 / 38e3)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: deck([1.0, 0.0], [0, 0], [0, 0], 4.0, 1.8), r"weight of an item must be > 0 kg, got 0 kg"),
        (lambda: deck([1.0], [0], [0], 0.0, 1.8), r"axle distance must be > 0 m"),
        (lambda: slide(0.0, 1.0, 0.1, 0.1, 4.0), r"weight of the item must be > 0 kg"),
        (lambda: slide(1.0, 1.0, 0.1, 0.1, -4.0), r"axle distance must be > 0 m, got -4 m"),
        (lambda: pitched(0.1, 5.0, [0.5, -0.4], 1e5), r"axle places must sum to 0 m"),
        (lambda: pitched(0.1, 5.0, [0.0], 0.0), r"rate of an axle must be > 0 N/m"),
        (lambda: drawbar_value(0.0, 1.0), r"weight of the truck must be > 0 kg"),
        (lambda: fifth_wheel_value(1.0, 1.0, 3.0), r"less the plate's load must be > 0 kg, got -1 kg"),
    ],
)
def test_nonsense_is_refused(call, words):
    with pytest.raises(ValueError, match=words):
        call()
