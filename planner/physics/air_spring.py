"""One air spring: its chart of effective area against height, and what follows from it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from planner.errors import Refusal
from planner.physics.chart import Chart, Charts, Curve
from planner.physics.constants import STANDARD_PRESSURE
from planner.physics.validation import Array, require_positive

FINE_HEIGHTS: Final = 100  # of a chart of several pressures, at which its load is looked at


@dataclass(frozen=True, eq=False)
class Bag:
    """The charted behaviour and the limits of one air spring.

    Parameters
    ----------
    heights : array, shape (n,)
        Charted heights, strictly rising. [m]
    areas : array, shape (n,), or (r, n) where the chart has several pressures
        Effective area at each height, load over gauge pressure. [m²]
    fitted_height : float
        Height at design ride height. [m]
    volume : float
        Gas volume at fitted height, fittings included. [m³]
    least_pressure, greatest_pressure : float
        Working limits, gauge. [Pa]
    load_rating : float
        Greatest load of the bag; infinite where no label gives one. [N]
    pressures : array, shape (r,), optional
        Gauge pressure of each row of areas, strictly rising. [Pa]
    volumes : array, shape (n,), optional
        Gas volume at each height, but for its fittings; left out, it follows from the area. [m³]
    gas_row : int
        The row of areas that the gas volume follows from.
    slope, slope_about : float
        Where the chart is of one height: the slope that its area is given, as a part of the area there, and that
        height, about which a slope that is not sure tilts it. [1/m, m]

    Raises
    ------
    Refusal
        If the chart is not strictly rising in height or pressure, or an area, the volume or the gas left at the lowest
        height is not > 0, or the load does not rise with pressure, or the fitted height is outside the chart.

    Notes
    -----
    Effective area A = F / p_gauge is interpolated over height by PCHIP [1]_, which keeps the chart's own rises and
    falls and invents none, and on a straight line from row to row; below the first row and above the last the nearest
    row's area is read (our choice: no load is read from a pressure where nothing was measured). Virtual work on an
    inextensible wall gives A = dV/db (b: height), so gas volume is the integral of A from fitted height, of one row.
    Outside the chart the end values are held; only a stop, pressed by about a millimetre, gets there.

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
    pressures: Array | None = None
    volumes: Array | None = None
    gas_row: int = 0
    slope: float = 0.0
    slope_about: float = 0.0

    def __post_init__(self) -> None:
        """Check the chart against itself."""
        require_positive(("effective area", self.areas, "m²"), ("gas volume", self.volume, "m³"))
        require_positive(("step between charted heights", np.diff(self.heights), "m"))
        if not self.lowest <= self.fitted_height <= self.highest:
            rule = f"fitted height must lie within the chart, {self.lowest:g} to {self.highest:g} m"
            raise Refusal(rule, f"{self.fitted_height:g} m", "check it against the maker's chart")
        if self.pressures is not None:
            require_positive(("charted pressure", self.pressures, "Pa"))
            require_positive(("step between charted pressures", np.diff(self.pressures), "Pa"))
            self._refuse_falling_load(self.pressures)
        require_positive(("gas volume at the lowest charted height", self.gas_volume(self.lowest), "m³"))

    def _refuse_falling_load(self, pressures: Array) -> None:
        """Refuse rows between which the load falls with pressure anywhere: which pressure carries it would be open.

        Straight between rows the load is P (A + (P - p) ΔA / Δp); its slope is least at an end, and > 0 at both where
        A above > A below · p above / (2 p above - p below).
        """
        heights = np.linspace(self.lowest, self.highest, FINE_HEIGHTS)
        areas, low, high = self._rows(heights), pressures[:-1, None], pressures[1:, None]
        row, place = np.unravel_index(np.argmin(areas[1:] * (2.0 * high - low) - areas[:-1] * high), areas[1:].shape)
        if not areas[row + 1, place] * (2.0 * high - low)[row, 0] > areas[row, place] * high[row, 0]:
            rule = f"load must rise with pressure at every height, from {low[row, 0]:g} to {high[row, 0]:g} Pa too"
            loads = f"{areas[row, place] * low[row, 0]:g} and {areas[row + 1, place] * high[row, 0]:g} N"
            raise Refusal(rule, f"{loads} at {heights[place]:g} m", "check the chart's rows")

    @property
    def lowest(self) -> float:
        """Lowest charted height. [m]"""
        return float(self.heights[0])

    @property
    def highest(self) -> float:
        """Highest charted height. [m]"""
        return float(self.heights[-1])

    @cached_property
    def _curves(self) -> tuple[Curve, ...]:
        """Area over height, of each row."""
        heights = np.asarray(self.heights, float)
        return tuple(Curve(heights, areas) for areas in np.atleast_2d(np.asarray(self.areas, float)))

    @cached_property
    def area_chart(self) -> Chart:
        """Effective area [m²] over height [m], a curve for each pressure [Pa] where there are several."""
        pressures = None if self.pressures is None else np.asarray(self.pressures, float)
        return Chart(self._curves[0].x, tuple(curve.pieces for curve in self._curves), pressures)

    @cached_property
    def gas_chart(self) -> Chart:
        """Gas volume [m³] over height [m]."""
        rising = self._curves[self.gas_row].integral_pieces
        if self.volumes is not None:
            rising = Curve(self._curves[0].x, np.asarray(self.volumes, float)).pieces
        charted = Charts((Chart(self._curves[0].x, (rising,)),)).value(np.array([self.fitted_height]))
        return Chart(self._curves[0].x, (np.concatenate([rising[:-1], rising[-1:] + (self.volume - charted)]),))

    @cached_property
    def _areas(self) -> Charts:
        return Charts((self.area_chart,))

    @cached_property
    def _gas(self) -> Charts:
        return Charts((self.gas_chart,))

    def _inside(self, height: ArrayLike) -> Array:
        """Return heights held between the ends of the chart."""
        inside: Array = np.asarray(height).clip(self.heights[0], self.heights[-1])
        return inside

    def _read_at(self, height: ArrayLike, pressure: ArrayLike | None) -> tuple[Array, Array | None]:
        """Return heights inside the chart and, where it has several rows, pressures, of one shape: of one chart."""
        inside = self._inside(height)
        if pressure is None or self.pressures is None:
            return inside[None], None
        inside, pressure = np.broadcast_arrays(inside, np.asarray(pressure, float))
        return inside[None], pressure[None]

    def area(self, height: ArrayLike, pressure: ArrayLike | None = None) -> Array:
        """Return the effective area [m²] at a height [m] and gauge pressure [Pa] that broadcast.

        A chart of one row is read without the pressure.
        """
        area: Array = self._areas.value(*self._read_at(height, pressure))[0]
        return area

    def area_slope(self, height: ArrayLike, pressure: ArrayLike | None = None) -> Array:
        """Return dA/db [m²/m] at a height and a pressure; 0 outside the chart, where the area is held."""
        return self.area_and_slope(height, pressure)[1]

    def area_and_slope(self, height: ArrayLike, pressure: ArrayLike | None = None) -> tuple[Array, Array]:
        """Return both, read from the chart together."""
        inside, given = self._read_at(height, pressure)
        area, slope, _ = self._areas.value_and_slopes(inside, given)
        return area[0], np.where(inside[0] == height, slope[0], 0.0)

    def load_gain(self, height: ArrayLike, pressure: ArrayLike) -> Array:
        """Return by how much the load grows with pressure at a height, dF/dP = A + P dA/dP, any shape. [m²]"""
        area, _, gain = self._areas.value_and_slopes(*self._read_at(height, pressure))
        grown: Array = area[0] if self.pressures is None else area[0] + np.asarray(pressure) * gain[0]
        return grown

    def pressure(self, height: ArrayLike, load: ArrayLike) -> Array:
        """Return the gauge pressure [Pa] that carries a load [N] at a height [m], shapes that broadcast.

        Between two rows P (A + (P - p) ΔA / Δp) is the load: a quadratic, of which one root lies between the rows, as
        the load rises with pressure.
        """
        load = np.asarray(load, float)
        if self.pressures is None:
            alone: Array = load / self.area(height)
            return alone
        areas = self._rows(self._inside(height))
        loads = self.pressures.reshape(-1, *(1,) * (areas.ndim - 1)) * areas
        row = np.asarray(np.sum(load >= loads[1:-1], axis=0, dtype=np.intp))
        areas = np.broadcast_to(areas, (len(areas), *row.shape))
        low, high = (np.take_along_axis(areas, (row + one)[None], axis=0)[0] for one in (0, 1))
        start = self.pressures.take(row)
        gain = (high - low) / (self.pressures.take(row + 1) - start)
        at_none, between = low - gain * start, np.minimum(np.maximum(load, loads[0]), loads[-1])
        inside = 2.0 * between / (at_none + np.sqrt(at_none**2 + 4.0 * gain * between))
        found: Array = np.where(load < loads[0], load / areas[0], np.where(load > loads[-1], load / areas[-1], inside))
        return found

    def _rows(self, inside: Array) -> Array:
        """Return the area by each row at heights inside the chart, shape (r, ...). [m²]"""
        return np.stack([curve.value(inside) for curve in self._curves])

    def limit_loads(self, height: ArrayLike) -> tuple[Array, Array, Array, Array]:
        """Return the loads at least and greatest pressure, each with its slope by height, any shape. [N, N/m]"""
        least, most = self.least_pressure, self.greatest_pressure
        area, slope = self.area_and_slope(height, least)
        above, above_slope = (area, slope) if self.pressures is None else self.area_and_slope(height, most)
        return least * area, least * slope, most * above, most * above_slope

    def gas_volume(self, height: ArrayLike) -> Array:
        """Return the gas volume [m³] at a height [m]: volume at fitted height + ∫ A db; held outside the chart."""
        volume: Array = self._gas.value(self._inside(height)[None])[0]
        return volume

    def gas_growth(self, height: ArrayLike) -> Array:
        """Return dV/db [m²], the gas volume's slope by height, any shape; outside the chart that of its end."""
        growth: Array = self._gas.value_and_slopes(self._inside(height)[None])[1][0]
        return growth

    @property
    def grows_with_height(self) -> bool:
        """Whether the area grows with height somewhere on the chart."""
        return bool(np.any(np.diff(self.areas) > 0))

    @property
    def gas_is_area(self) -> bool:
        """Whether the gas volume grows by the area that carries, dV/db = A, at every pressure."""
        return self.pressures is None and self.volumes is None


def spring_rate(
    gauge_pressure: ArrayLike,
    area: ArrayLike,
    gas_volume: ArrayLike,
    *,
    area_slope: ArrayLike,
    exponent: ArrayLike,
    ambient_pressure: ArrayLike = STANDARD_PRESSURE,
    load_gain: ArrayLike | None = None,
    gas_growth: ArrayLike | None = None,
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
    load_gain, gas_growth : array_like, optional
        Where they are not the area: dF/dP at a height, as the area depends on pressure, and dV/db. [m²]

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
    b growing upward; in place of :math:`A^2` the product of load_gain and gas_growth where they are given.

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
    by_pressure, by_height = (a if one is None else np.asarray(one, float) for one in (load_gain, gas_growth))
    rate: Array = np.asarray(exponent, float) * p * (by_pressure * by_height) / v - p_g * np.asarray(area_slope, float)
    return rate
