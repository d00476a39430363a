"""R. N. Jazar, Vehicle Dynamics: Theory and Application: eq. 2.194-2.197 (hinge load), 2.198-2.200 (side slope).

His example 42 is not used: the height it prints, 0.34 m, does not follow from its own numbers, which give 1.876 m.
The checks are of formulas; tolerance is rounding.
"""

from collections.abc import Callable

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner.physics import statics
from planner.physics.air_spring import Bag
from planner.physics.truck_model import Rig
from planner.records import BadInput, Trailer


@pytest.mark.parametrize(("ahead", "sign"), [("100 mm", 1.0), ("0 mm", 0.0)])
def test_hinge_load_is_nought_with_the_centre_over_the_axle_and_grows_ahead_of_it(
    make_trailer: Callable[..., Trailer], ahead: str, sign: float
) -> None:
    deck = [{"name": "all", "weight": "1000 kg", "ahead": ahead}]
    assert np.sign(make_trailer(gross_weight=None, tongue_ratio=None, deck=deck).tongue_share) == sign


def test_a_centre_behind_the_axle_lifts_the_hinge(make_trailer: Callable[..., Trailer]) -> None:
    deck = [{"name": "all", "weight": "1000 kg", "ahead": "-100 mm"}]
    with pytest.raises(BadInput, match="must give a tongue load >= 0"):
        make_trailer(gross_weight=None, tongue_ratio=None, deck=deck)


@pytest.mark.parametrize("b1", [0.9, 0.6, 0.3])
def test_wheels_of_each_side_share_a_weight_off_centre(
    make_bag: Callable[..., Bag], make_rig: Callable[..., Rig], b1: float
) -> None:
    # slope 0: F_z1 = m g b2 / 2w for each left wheel, F_z2 = m g b1 / 2w right; b1, b2 from the centre to each side
    weight, w = 24e3, 1.8
    b2 = w - b1
    rig = make_rig(make_bag(0.03, 0.01), wheelbase=4.0, track=w)
    load = statics.point_load(weight, 2.0, w / 2 - b1, 4.0)
    wheels = rig.tyre_loads(load, rig.axle_moments(load, np.array([0.0, 0.0, 0.0, load.least_twist])))
    assert_allclose(wheels[:, 0], weight / (2 * w) * b2, rtol=1e-12)
    assert_allclose(wheels[:, 1], weight / (2 * w) * b1, rtol=1e-12)
