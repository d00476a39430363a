"""Errors that add up: independent ones, each rectangular or normal, and the band that holds their sum."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

POINTS: Final = 513  # of the grid on which laws are added: the band is right to some thousandths of itself
TAILS: Final = 6.0  # standard deviations of the normal part that the grid reaches past the rectangles
SMALL: Final = 0.02  # of the largest, below which an error's shape does not show
SHARE: Final = 0.95  # of cases that a band holds
SURE: Final = 1.96  # [standard deviations] either side: those cases of a normal distribution


@dataclass(frozen=True)
class Errors:
    """The law of a sum of independent errors of mean nought.

    Attributes
    ----------
    rectangles : half width of each rectangular one, in the unit of the sum
    normal : standard deviation of all normal ones together
    """

    rectangles: tuple[float, ...] = ()
    normal: float = 0.0

    @property
    def variance(self) -> float:
        """Variance of the sum: a²/3 of a rectangle of half width a (JCGM 100:2008, 4.3.7)."""
        return sum(half**2 for half in self.rectangles) / 3.0 + self.normal**2

    @property
    def sd(self) -> float:
        """Standard deviation of the sum."""
        return math.sqrt(self.variance)

    def times(self, factor: float) -> Errors:
        """Return the law of the sum times a factor."""
        return Errors(tuple(abs(factor) * half for half in self.rectangles), abs(factor) * self.normal)

    @staticmethod
    def together(several: Iterable[Errors]) -> Errors:
        """Return the law of the sum of independent sums."""
        some = list(several)
        halves = tuple(half for one in some for half in one.rectangles)
        return Errors(halves, math.sqrt(sum(one.normal**2 for one in some)))

    def half_width(self, share: float = SHARE) -> float:
        r"""Return the half width of the band about nought that holds a share of cases, in the unit of the sum.

        Notes
        -----
        Adding a rectangle of half width a to a law F gives :math:`(1/2a) \int_{x-a}^{x+a} F`; one after the other on a
        grid. A single rectangle has 1.65 standard deviations for 95 %, many errors of one size the normal law's 1.96.

        Examples
        --------
        >>> round(Errors((1.0,)).half_width(), 3), round(Errors((), 1.0).half_width(), 2)
        (0.95, 1.96)
        """
        largest = max(self.rectangles, default=0.0)
        sizes = sorted((half for half in self.rectangles if half > SMALL * largest), reverse=True)
        normal = math.sqrt(max(0.0, self.variance - sum(half**2 for half in sizes) / 3.0))  # small ones with it
        normal = normal if normal > SMALL * largest else 0.0
        reach = sum(sizes) + TAILS * normal
        if reach == 0.0:
            return 0.0
        x = np.linspace(-reach, reach, POINTS)
        if normal > 0:
            law = np.array([0.5 * (1.0 + math.erf(one / (math.sqrt(2.0) * normal))) for one in x])
        else:
            law = np.clip(0.5 * (1.0 + x / sizes.pop(0)), 0.0, 1.0)
        for half in sizes:
            step = x[1] - x[0]
            area = np.concatenate([[0.0], np.cumsum((law[1:] + law[:-1]) / 2.0 * step)])
            above = np.interp(x + half, x, area) + np.maximum(0.0, x + half - reach)
            law = (above - np.interp(x - half, x, area)) / (2.0 * half)
        return float(np.interp(0.5 * (1.0 + share), law, x))
