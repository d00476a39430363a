"""The air budget of random trucks under random loads: nothing crashes, air is conserved, times are told."""

import json
from dataclasses import replace

import numpy as np
import pytest
from numpy.testing import assert_allclose

from planner import read_truck
from planner.plans.air_budget import air_budget
from planner.show.drawings.air import tank_curve
from planner.show.text.air import air_lines, air_object

from .random_records import random_setup

AIR = read_truck("profiles/trucks/ridge-truck.toml").air
TANKS = ("1 gal", "5 gal", "20 gal")
NO_REST = 0.15  # of trucks, at the most: bags whose area grows with height, lean past their stops


@pytest.mark.no_cover  # the lines are those of other tests
@pytest.mark.parametrize("part", range(2))
def test_any_truck_has_a_budget_or_finds_no_rest(part):
    lost = found = 0
    for seed in range(part, 24, 2):
        setup = random_setup(seed)
        if setup is None:
            continue
        truck = setup.truck.replaced(air=AIR.replaced(tank_volume=TANKS[seed % 3]))
        try:
            budget = air_budget(replace(setup, truck=truck))
        except ArithmeticError:
            lost += 1
            continue
        found += 1
        tank = budget.supply.cut_out
        for move in budget.moves:
            for one in move.fillings:
                held = (one.tank.pressure - tank) * budget.supply.volume / 100e3
                if np.isfinite(one.wait):
                    assert_allclose(held, one.delivered - np.nansum(one.air_in), atol=1e-9 * (0.1 + abs(held)))
                assert np.all(np.diff(one.times) >= 0.0)
                tank = one.tank.pressure
            assert not np.isnan(move.time[[axle.bag is not None for axle in (truck.front, truck.rear)]]).any()
        json.dumps(air_object(budget, "us"), allow_nan=False)
        assert "nan" not in " ".join(air_lines("any", budget, "metric")).split()
        tank_curve(budget, "us")
    assert lost <= NO_REST * (lost + found)
