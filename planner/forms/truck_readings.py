"""Readings that stand for values of a truck: its arms' lengths, its hubs' heights, its weights wheel by wheel."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from planner.errors import Refusal
from planner.forms.draft import Draft
from planner.forms.parse import read_quantity
from planner.forms.truck_typical import refit
from planner.plans.typical import Estimate, tyre_rate_from_hub_height
from planner.records import Truck
from planner.units.quantity import STANDARD_GRAVITY as G
from planner.units.quantity import Quantity, System, display, entry_unit, read

ARM: Final = "arm"  # arm.front.spring, arm.front.wheel: from the pivot of the arm
HUB: Final = "hub"  # hub.front: height of the wheel's centre, the truck as it was weighed
WHEEL: Final = "wheel"  # wheel.front.left: what one side of an axle weighs
SIDES: Final = ("left", "right")
LABELS: Final = {"spring": "Arm's pivot to spring", "wheel": "Arm's pivot to wheel", HUB: "Hub height, as weighed"}
EXAMPLES: Final = {  # in US units, in metric ones; of a wheel by its axle
    "spring": ("14 in", "360 mm"),
    "wheel": ("20 in", "510 mm"),
    HUB: ("15.6 in", "396 mm"),
    "front": ("2150 lb", "975 kg"),
    "rear": ("1500 lb", "680 kg"),
}
WHEELS: Final = tuple(f"{WHEEL}.{axle}.{side}" for axle in ("front", "rear") for side in SIDES)
NEAREST: Final = 0.05  # [m] a spring sits no nearer to its pivot


def motion_ratio_of(draft: Draft[Truck], axle: str, system: System) -> float | None:
    """Return the motion ratio that two tape readings give: pivot to spring over pivot to wheel; None without both.

    The lever rule: near its middle an arm's spring moves as much less than its wheel as it sits nearer to the pivot.

    Raises
    ------
    Refusal
        If no arm is like that.
    """
    texts = [draft.typed.get(f"{ARM}.{axle}.{end}", "") for end in ("spring", "wheel")]
    if not all(text.strip() for text in texts):
        return None
    spring, wheel = (read_quantity(text, "length", system) for text in texts)
    if spring < NEAREST or wheel < NEAREST:
        raise Refusal("must be 2 in or more", (spring if spring < NEAREST else wheel).text, "tape from the pivot bolt")
    return float(f"{spring / wheel:.3g}")


def tyre_rate_of(draft: Draft[Truck], axle: str, system: System) -> Estimate | None:
    """Return the rate of one tyre [N/m] from its hub height under the weight on the slip; None without a height.

    Raises
    ------
    Refusal
        If the tyre is not squashed by more than a tape can tell.
    """
    text = draft.typed.get(f"{HUB}.{axle}", "")
    if not text.strip():
        return None
    truck, own = draft.record, getattr(draft.record, axle)
    load = getattr(truck.kerb, f"{axle}_axle") * G / (2 * own.tyres.per_side)
    height = read_quantity(text, "length", system)
    return tyre_rate_from_hub_height(load, own.tyres.unloaded_radius, height, truck.instruments.tape_error)


def wheel_weights_of(draft: Draft[Truck], system: System) -> dict[str, Quantity | float] | None:
    """Return both axle weights and the left share, by key, that a slip wheel by wheel gives; None without all four.

    Raises
    ------
    Refusal
        If a text is no weight, or nothing stands on a wheel.
    """
    texts = {key: draft.typed.get(key, "") for key in WHEELS}
    if not all(text.strip() for text in texts.values()):
        return None
    weights = {key: read_quantity(text, "weight", system) for key, text in texts.items()}
    for weight in weights.values():
        if weight <= 0:
            raise Refusal("must be more than nothing", weight.text, "each wheel carries some of the truck")
    unit = entry_unit("weight", system)
    found: dict[str, Quantity | float] = {}
    for axle in ("front", "rear"):
        both = display(sum(float(weights[f"{WHEEL}.{axle}.{side}"]) for side in SIDES), "weight", system)[0]
        found[f"kerb.{axle}_axle"] = read(f"{float(f'{both:.6g}'):.10g} {unit}", "weight")
    left = sum(float(weights[f"{WHEEL}.{axle}.left"]) for axle in ("front", "rear"))
    found["kerb.left_share"] = float(f"{left / sum(map(float, weights.values())):.4g}")
    return found


def with_wheel_weights(draft: Draft[Truck], system: System) -> Draft[Truck]:
    """Return the draft with the axle weights and the left share of a slip wheel by wheel; Refusal if it has none."""
    found = wheel_weights_of(draft, system)
    if found is None:
        raise Refusal("needs all four wheels", "fewer", "type what stands on each")
    return replace(draft, record=refit(draft.record, found))


def with_motion_ratio(draft: Draft[Truck], axle: str, system: System) -> Draft[Truck]:
    """Return the draft with the motion ratio that two tape readings give; Refusal if they give none."""
    ratio = motion_ratio_of(draft, axle, system)
    if ratio is None:
        raise Refusal("needs both readings", "one", "tape both")
    return replace(draft, record=refit(draft.record, {f"{axle}.motion_ratio": ratio}))


def with_tyre_rate(draft: Draft[Truck], axle: str, system: System) -> Draft[Truck]:
    """Return the draft with the tyre rate that a hub height gives, and its spread; Refusal if it gives none."""
    found = tyre_rate_of(draft, axle, system)
    if found is None:
        raise Refusal("needs the hub's height", "nothing", "tape it as the truck was weighed")
    unit, path = entry_unit("spring rate", system), f"{axle}.tyres.rate"
    shown = (display(value, "spring rate", system)[0] for value in (found.value, found.spread))
    rate, spread = (read(f"{float(f'{number:.3g}'):.10g} {unit}", "spring rate") for number in shown)
    record = refit(draft.record, {path: rate})
    own = {"spread": {**record.spread, path: spread}, "correlation": record.correlation_without((path,))}
    return replace(draft, record=record.replaced(**own))
