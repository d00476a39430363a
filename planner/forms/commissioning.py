"""The commissioning list of a truck on air springs: what is looked at before it is driven, and when that was done."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Final

from planner.forms.truck_form import TruckDraft
from planner.plans.air_supply import TUBE_COLDEST, TUBE_HOTTEST, TUBE_LIMIT, TUBE_PSI
from planner.records import Check, Truck

# What to look at, and how: common practice of shops that fit air springs, but for what names its standard.
COMMISSIONING: Final[dict[str, str]] = {
    "Air lines clear of the exhaust": (
        "6 to 8 in (15 to 20 cm) from it, and on the other side of the truck from a particulate filter; "
        "at full bump and at full droop"
    ),
    "Air lines": "cut long and square, slack at full droop, held where they could rub; each joint more may leak",
    "Tubing": (
        f"marked SAE J844, which is made for {TUBE_PSI:.0f} psi ({TUBE_LIMIT / 1e3:.0f} kPa) at the most, "
        f"{TUBE_COLDEST} to {TUBE_HOTTEST[0]} °F ({TUBE_COLDEST} to {TUBE_HOTTEST[1]} °C), and never near battery acid"
    ),
    "Valve block": "midway, so that lines to left and right are about as long and fill alike",
    "Tank": (
        "a drain at its lowest point; a safety valve that opens at the tank's rating or below, no valve between "
        "(29 CFR 1917.155 asks it of workplaces)"
    ),
    "Soap test": (
        "every fitting, bead and valve wet with soapy water at the highest pressure it will see, ten minutes after it "
        "was filled; no bubble grows"
    ),
    "Brake hoses": "slack at full droop, not pinched at full bump, at both axles and with the wheels turned",
    "Shocks": "neither pulled to their end at full droop nor on their stops at full bump",
    "Track bar": "bolts tightened with the truck at ride height, not on the stands",
    "Bump stops": "in place and touching before any bag is folded to its end",
    "Bags free all round": "an inch clear of frame, tyre and bracket when aired to their greatest pressure",
    "Nothing rests on the bags": "stands under the frame whenever somebody is beneath it",
}


def last_checks(truck: Truck) -> dict[str, Check | None]:
    """Return the commissioning list with the last time each was done, then what else the truck's file lists."""
    found: dict[str, Check | None] = dict.fromkeys(COMMISSIONING)
    for one in truck.checks:
        before = found.get(one.name)
        if before is None or one.on >= before.on:
            found[one.name] = one
    return found


def with_check(draft: TruckDraft, name: str, on: date, by: str = "") -> TruckDraft:
    """Return the draft with something looked at on a day, by somebody where that is said."""
    new = Check(name=name, on=on, **({"by": by} if by.strip() else {}))
    return replace(draft, record=draft.record.replaced(checks=(*draft.record.checks, new)))
