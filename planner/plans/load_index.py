"""What the load index on a tyre's sidewall stands for, and the pressure of a load range."""

from typing import Final

from planner.errors import Refusal
from planner.physics.constants import STANDARD_GRAVITY as G

FIRST: Final = 60
# kg, from index 60 up: ISO 4000-1 and UN Regulation No. 54, Annex 4, typed from memory and held against three public
# copies of the list; eighty steps are a factor of ten (R 80 of ISO 3), so each half checks the other.
# fmt: off
LOADS: Final = (
    250, 257, 265, 272, 280, 290, 300, 307, 315, 325,  # 60
    335, 345, 355, 365, 375, 387, 400, 412, 425, 437,  # 70
    450, 462, 475, 487, 500, 515, 530, 545, 560, 580,  # 80
    600, 615, 630, 650, 670, 690, 710, 730, 750, 775,  # 90
    800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030,  # 100
    1060, 1090, 1120, 1150, 1180, 1215, 1250, 1285, 1320, 1360,  # 110
    1400, 1450, 1500, 1550, 1600, 1650, 1700, 1750, 1800, 1850,  # 120
    1900, 1950, 2000, 2060, 2120, 2180, 2240, 2300, 2360, 2430,  # 130
    2500, 2575, 2650, 2725, 2800, 2900, 3000, 3075, 3150, 3250,  # 140
    3350, 3450, 3550, 3650, 3750, 3875, 4000, 4125, 4250, 4375,  # 150
    4500, 4625, 4750, 4875, 5000, 5150, 5300, 5450, 5600, 5800,  # 160
    6000,  # 170
)
# fmt: on
LAST: Final = FIRST + len(LOADS) - 1

PSI: Final = 6894.757293168361  # Pa
WIDE_SECTION: Final = 0.295  # m; light-truck tyres wider than this take one load range's pressure less: from memory
# psi at which a load range carries its rating. LT to E and ST: Tire and Rim Association yearbook as quoted on public
# pages (LT245/75R16 C 50, D 65, E 80); F, G and the wide ones from memory.
LIGHT_TRUCK: Final = {"B": 35, "C": 50, "D": 65, "E": 80, "F": 95}
WIDE_LIGHT_TRUCK: Final = {"C": 35, "D": 50, "E": 65, "F": 80}
TRAILER: Final = {"B": 35, "C": 50, "D": 65, "E": 80, "F": 95, "G": 110}
P_METRIC: Final = {"SL": 35, "XL": 41}  # P235/75R15: 2028 lb at 35 psi, extra load 2183 lb at 41 psi
ISO_METRIC: Final = {"SL": 36, "XL": 42}  # 250 and 290 kPa: from memory


def load_of_index(index: int) -> float:
    """Return the load that a load index stands for, on one tyre. [N]

    Raises
    ------
    Refusal
        If the index is outside 60 to 170; no truck or trailer has such a tyre.

    References
    ----------
    ISO 4000-1, Passenger car tyres and rims; UN Regulation No. 54, Annex 4.

    Examples
    --------
    >>> round(load_of_index(121) / 9.80665)
    1450
    """
    if not FIRST <= index <= LAST:
        rule, remedy = f"a load index must be {FIRST} to {LAST}", "read it on the sidewall, as 121 in 121/118S"
        raise Refusal(rule, f"{index}", remedy)
    return LOADS[index - FIRST] * G
