"""One air spring: its chart of effective area against height, and what follows from it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from planner.errors import Refusal
from planner.physics.chart import Curve
from planner.physics.constants import STANDARD_PRESSURE
from planner.physics.validation import Array, require_positive


@dataclass(frozen=True, eq=False)
class Bag:
    """The charted behaviour and the limits of one air spring.

    Parameters
    ----------
    heights : array, shape (n,)
        Charted heights, strictly rising. [m]
    areas : array, shape (n,)
        Effective area at each height, load over gauge pressure. [m²]
    fitted_height : float
        Height at design ride height. [m]
    volume : float
        Gas volume at fitted height, fittings included. [m³]
    least_pressure, greatest_pressure : float
        Working limits, gauge. [Pa]
    load_rating : float
        Greatest load of the bag; infinite where no label gives one. [N]

    Raises
    ------
    Refusal
        If the chart is not strictly rising in height, or an area, the volume or the gas left at the lowest height is
        not > 0, or the fitted height is outside the chart.

    Notes
    -----
    Effective area A = F / p_gauge is interpolated by PCHIP [1]_, which keeps the chart's own rises and falls and
    invents none. Virtual work on an inextensible wall gives A = dV/db (b: height), so gas volume is the integral of
    A from fitted height. Outside the chart the end values are held; only a stop,
    pressed by about a millimetre, gets there.

    References
    ----------
    .. [1] F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300-304; the form scipy has.
    """

    heights: Array
    areas: Array
    fitted_height: float
    volume: float
    least_pressure: float
    greatest_pressure: float
    load_rating: float = np.inf

    def __post_init__(self) -> None:
        """Check the chart against itself."""
        require_positive(("effective area", self.areas, "m²"), ("gas volume", self.volume, "m³"))
        require_positive(("step between charted heights", np.diff(self.heights), "m"))
        if not self.lowest <= self.fitted_height <= self.highest:
            rule = f"fitted height must lie within the chart, {self.lowest:g} to {self.highest:g} m"
            raise Refusal(rule, f"{self.fitted_height:g} m", "check it against the maker's chart")
        require_positive(("gas volume at the lowest charted height", self.gas_at_lowest, "m³"))

    @property
    def lowest(self) -> float:
        """Lowest charted height. [m]"""
        return float(self.heights[0])

    @property
    def highest(self) -> float:
        """Highest charted height. [m]"""
        return float(self.heights[-1])

    @cached_property
    def curve(self) -> Curve:
        """Effective area [m²] against height [m]."""
        return Curve(np.asarray(self.heights, float), np.asarray(self.areas, float))

    @cached_property
    def gas_at_lowest(self) -> float:
        """Gas volume at the lowest charted height. [m³]"""
        return float(self.volume - self.curve.integral(np.asarray(self.fitted_height)))

    def _inside(self, height: ArrayLike) -> Array:
        """Return heights held between the ends of the chart."""
        inside: Array = np.asarray(height).clip(self.heights[0], self.heights[-1])
        return inside

    def area(self, height: ArrayLike) -> Array:
        """Return the effective area [m²] at a height [m], any shape."""
        return self.curve.value(self._inside(height))

    def area_slope(self, height: ArrayLike) -> Array:
        """Return dA/db [m²/m] at a height [m], any shape; 0 outside the chart, where the area is held."""
        return self.area_and_slope(height)[1]

    def area_and_slope(self, height: ArrayLike) -> tuple[Array, Array]:
        """Return both, read from the chart together."""
        inside = self._inside(height)
        area, slope = self.curve.value_and_slope(inside)
        return area, np.where(inside == height, slope, 0.0)

    def gas_volume(self, height: ArrayLike) -> Array:
        """Return the gas volume [m³] at a height [m]: volume at fitted height + ∫ A db; held outside the chart."""
        return self.gas_at_lowest + self.curve.integral(self._inside(height))


def spring_rate(
    gauge_pressure: ArrayLike,
    area: ArrayLike,
    gas_volume: ArrayLike,
    *,
    area_slope: ArrayLike,
    exponent: ArrayLike,
    ambient_pressure: ArrayLike = STANDARD_PRESSURE,
) -> Array:
    r"""Return the rate of a sealed air spring about its present height.

    Parameters
    ----------
    gauge_pressure, area, gas_volume, area_slope : array_like, shapes that broadcast
        Pressure above ambient [Pa], effective area [m²], gas volume [m³], dA/db with height [m²/m].
    exponent : array_like
        Polytropic exponent: 1 for slow changes, about 1.38 when moving. [-]
    ambient_pressure : array_like, default 101325
        Absolute pressure outside the spring. [Pa]

    Returns
    -------
    ndarray, the broadcast shape
        Force gained per metre of lost height. [N/m]

    Raises
    ------
    Refusal
        If an area, a volume or the absolute pressure is not > 0, or the exponent is below 1.

    Notes
    -----
    :math:`k = n (p_g + p_a) A^2 / V - p_g\,dA/db`, from :math:`p V^n` constant [1]_ and :math:`dV = A\,db`,
    b growing upward.

    References
    ----------
    .. [1] Y. A. Çengel and M. A. Boles, Thermodynamics, 8th ed., McGraw-Hill, 2015, sec. 4-1.

    Examples
    --------
    >>> round(float(spring_rate(500e3, 0.02, 0.005, area_slope=0.0, exponent=1.4)), 1)  # 5 bar, 200 cm², 5 L
    67348.4
    """
    p_g, a, v = (np.asarray(x, float) for x in (gauge_pressure, area, gas_volume))
    p = p_g + np.asarray(ambient_pressure, float)
    require_positive(("absolute pressure", p, "Pa"), ("area", a, "m²"), ("gas volume", v, "m³"))
    if not (np.asarray(exponent) >= 1.0).all():
        raise Refusal("exponent must be >= 1 (isothermal)", f"{np.min(exponent):g}", "1.4 is that of fast changes")
    rate: Array = np.asarray(exponent, float) * p * a**2 / v - p_g * np.asarray(area_slope, float)
    return rate
