"""What to find out next: of what an answer is unsure by, the cheapest to measure of all that is worth it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final, NamedTuple

from planner.plans.answer import Answer
from planner.plans.setup import Setup
from planner.plans.uncertainty.result import Certainty, find_within
from planner.plans.uncertainty.spreads import groups_of

ROUGHLY: Final = 256  # points of each of the two samples that say what a measurement is worth
AT_LEAST: Final = 0.03  # part by which it has to shrink where no single measurement does as much as that
WORTH_IT: Final = 0.1  # part by which the band has to shrink for a measurement to be worth its while
# By group of inputs: how it is measured, and about how many minutes that takes (common practice, from memory).
MEASURED: Final[dict[str, tuple[str, int]]] = {
    "bag friction": ("air each bag from below to its number, always the same way", 2),
    "slope of the place": ("set it on ground that a spirit level calls level", 5),
    "tape": ("tape every corner twice and take the mean", 5),
    "gauge": ("check the gauge against a tested one, or use a finer one", 10),
    "bags left to right": ("tape all four corners once at equal pressures, and trim", 10),
    "tyre rate": ("tape the hub heights empty and loaded, on a scale", 20),
    "cargo": ("weigh what is loaded and tape where it lies", 20),
    "kerb weight": ("weigh the truck alone, axle by axle, as it is driven", 30),
    "side bias": ("weigh the hitched truck wheel by wheel", 30),
    "tongue ratio": ("weigh the truck hitched and unhitched", 30),
    "trailer weight": ("weigh the trailer's axles and the tongue", 30),
    "bars": ("weigh the front axle alone, hitched, and with bars", 40),
    "steel": ("let all air out and weigh each axle where the steel alone carries it", 40),
    "bag area": ("take the maker's chart at several heights, or read the bags on a scale", 40),
    "spring spacing": ("tape the springs from centre to centre", 5),
    "motion ratio": ("tape from the arm's pivot to spring and to wheel, or see that the spring sits on the axle", 10),
    "bag area's slope": ("take the maker's chart at two heights or more", 15),
    "unsprung weight": ("look up axle, wheels and tyres, or weigh them when they are off", 60),
    "anti-roll bars": ("measure the bar: its thickness, its arms and its length", 20),
    "mass and roll axis": ("tape the lean with a known load on one side", 60),
}

TAUGHT: Final = "read gauges and tape on a scale once more, with another load", 40  # of groups learnt together
WEIGHED: Final = ("kerb weight", "side bias", "tongue ratio", "trailer weight", "bars")  # groups that scale slips tell


class Measurement(NamedTuple):
    """A measurement that would make an answer surer.

    Attributes
    ----------
    group : of inputs that it makes known
    how : what to do
    now : what 9 in 10 corners are within [m]
    then : what they would be within if the group were known exactly [m]
    """

    group: str
    how: str
    now: float
    then: float

    @property
    def weighed(self) -> bool:
        """Whether it is done on a scale, whose slips tell it."""
        return self.group in WEIGHED


def next_measurement(
    setup: Setup, answer: Answer, sure: Certainty, own: Mapping[str, float] | None = None
) -> Measurement | None:
    """Return the cheapest measurement that is worth its while, or the best there is; None where none is any use.

    The variance shares say which groups could be: with a group known the variance falls by no more than its total
    share (A. Saltelli et al., Global Sensitivity Analysis: The Primer, 2008, section 1.2; from memory), and a band
    about with the square root. What the band would be is then drawn anew with that group known: far-off guesses act
    together, and a band at a limit does not shrink with its variance.

    Parameters
    ----------
    setup, answer : what was asked, and answered
    sure : Certainty
        How sure that is today.
    own : mapping of key to one standard deviation, optional
        The spreads that `sure` was found with. [SI]

    Returns
    -------
    Measurement or None
        The first, by minutes, with which the band shrinks by a tenth or more; else the one that shrinks it most.

    Examples
    --------
    >>> from planner import open_folder
    >>> from planner.plans.level import level_setup
    >>> from planner.plans.uncertainty.result import find_uncertainty
    >>> mill = open_folder("profiles").read_outfit("mill-bed-empty")
    >>> setup = Setup.of(mill.profile, mill.truck, mill.trailer)
    >>> answer = level_setup(setup)
    >>> found = next_measurement(setup, answer, find_uncertainty(setup, answer))
    >>> found.then < 0.9 * found.now
    True
    """
    shares = dict(zip(sure.shares.groups, sure.shares.total.tolist(), strict=True))
    keys = groups_of({key: spread.correlated for key, spread in sure.spreads.items() if spread.value > 0})
    worth, best = 1.0 - (1.0 - WORTH_IT) ** 2, None
    worthwhile = sorted((one for one in shares if shares[one] >= worth), key=lambda one: MEASURED.get(one, TAUGHT)[1])
    now = find_within(setup, answer, own, base=ROUGHLY) if worthwhile else 0.0
    for group in worthwhile:
        known = dict(own or {}) | dict.fromkeys(keys[group], 0.0)
        left = find_within(setup, answer, known, base=ROUGHLY) / now
        found = Measurement(group, MEASURED.get(group, TAUGHT)[0], sure.within, left * sure.within)
        if left <= 1.0 - WORTH_IT:
            return found
        if left <= 1.0 - AT_LEAST and (best is None or found.then < best.then):
            best = found
    return best
