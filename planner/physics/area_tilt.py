"""Bags whose area answers height otherwise than their chart says."""

from __future__ import annotations

from dataclasses import dataclass, replace

from planner.physics.array_layout import in_a_row, some_of
from planner.physics.equilibrium import HeldPressure
from planner.physics.truck_model import Rig, Springs
from planner.physics.validation import Array, Flags


@dataclass(frozen=True, eq=False)
class TiltedPressure(HeldPressure):
    """Bags aired to a number, with an area of A (1 + tilt (b - b_fitted)) where the chart says A.

    Attributes
    ----------
    gauge : array, shape (..., 2, 2)
        What they are aired to. [Pa]
    tilt : array, shape (..., 2)
        Of each axle's bags. [1/m]
    """

    tilt: Array

    def pressure(self, rig: Rig, height: Array) -> Array:
        """Return the pressure that makes the same force on the charted area, shape (..., 2, 2). [Pa]"""
        return self.gauge * tilted(rig, height, self.tilt)

    def slopes(self, rig: Rig, height: Array, springs: Springs, pressure: Array) -> tuple[Array, Array]:
        """Return how that force answers the corner's own height; the bag across has no say. [N/m]"""
        own, across = super().slopes(rig, height, springs, pressure)
        return own + self.gauge * self.tilt[..., None] * springs.area, across

    def spread(self, shape: tuple[int, ...]) -> TiltedPressure:
        """Return the same for every case of a shape."""
        return replace(self, gauge=in_a_row(self.gauge, shape, (2, 2)), tilt=in_a_row(self.tilt, shape, (2,)))

    def take(self, cases: Flags | slice) -> TiltedPressure:
        """Return some of the cases."""
        return replace(self, gauge=some_of(self.gauge, cases), tilt=some_of(self.tilt, cases))


def tilted(rig: Rig, height: Array, tilt: Array) -> Array:
    """Return by how much the area at a height differs from the chart's, shape (..., 2, 2). [-]

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> import numpy as np
    >>> tilted(rig, rig.design_height + 0.01, np.array([1.0, 2.0])).round(3).tolist()  # 10 mm up, by 1 and 2 a metre
    [[1.01, 1.01], [1.02, 1.02]]
    """
    part: Array = 1.0 + tilt[..., None] * (height - rig.design_height)
    return part
