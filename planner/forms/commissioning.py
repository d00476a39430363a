"""The commissioning list of a truck on air springs: what is looked at before it is driven, and when that was done."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Final

from planner.forms.truck_form import TruckDraft
from planner.records import Check, Truck

# What to look at, and how: common practice of shops that fit air springs.
COMMISSIONING: Final[dict[str, str]] = {
    "Air lines clear of the exhaust": "at least a hand's width from anything hot, at full bump and at full droop",
    "Soap test": "every fitting wet with soapy water at the highest pressure it will see; no bubble grows",
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
