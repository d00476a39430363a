"""The links of a rear axle on a truck's form: which bars there are, and each end as one text: ahead; left; up.

What hangs between axle and frame comes with the first of its ends and goes with it; what it needs besides is typical
until its owner says otherwise, as the bars themselves are to begin with.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final

from planner.forms.draft import Draft
from planner.forms.parse import read_quantity
from planner.records import Linkage, Truck
from planner.units.quantity import Quantity, Refusal, System, shown

LINKS: Final = "links"  # own field: which bars hold the axle
AT: Final = "at."  # own fields: where an end is, at.lower.frame
NONE: Final = "none"
KINDS: Final = {"uppers meet": (2, False), "track bar": (2, True), "one upper": (1, True)}  # upper bars, a track bar
BARS: Final = ("lower", "upper", "track_bar")
STEEPEST: Final = 0.262  # rad, 15°: past it other brackets are asked for, not other bars
FARTHEST: Final = 0.1524  # m, 6 in
MIDDLE: Final = ";"  # between ahead, left and up
SPLIT: Final = re.compile(r"\s*;\s*|,\s+")

WANTED: Final = "wanted"  # wanted.pinion_up, wanted.ahead: where the axle is to be at ride height
WANTED_LABELS: Final = {"pinion_up": "Pinion wanted, nose up by", "ahead": "Axle wanted forward by"}

END_LABELS: Final[dict[str, str]] = {
    "lower.frame": "Lower bar at the frame",
    "lower.axle": "Lower bar at the axle",
    "upper.frame": "Upper bar at the frame",
    "upper.axle": "Upper bar at the axle",
    "track_bar.frame": "Track bar at the frame",
    "track_bar.axle": "Track bar at the axle",
    "driveshaft.front": "Driveshaft, front joint",
    "driveshaft.carrier": "Driveshaft, joint at a carrier bearing",
    "driveshaft.pinion": "Driveshaft, joint at the pinion",
    "shock.frame": "Left shock at the frame",
    "shock.axle": "Left shock at the axle",
    "hose.frame": "Brake hose at the frame",
    "hose.axle": "Brake hose at the axle",
}
FIRST: Final = {"driveshaft": "front", "shock": "frame", "hose": "frame"}  # the end that a part comes and goes with
BESIDE: Final = {  # what else is asked of a part
    "driveshaft": ("output_angle", "pinion_angle", "joint_limit"),
    "shock": ("shortest", "longest"),
    "hose": ("length",),
}


def link_keys(truck: Truck) -> tuple[str, ...]:
    """Return what is asked of the links of a truck's rear axle; nothing where no solid one is."""
    linkage = truck.rear.linkage
    if truck.rear.suspension != "solid" and linkage is None:
        return ()
    found = [LINKS]
    if linkage is not None:
        found += [f"{AT}{bar}.{end}" for bar in BARS if getattr(linkage, bar) for end in ("frame", "axle")]
        for part, first in FIRST.items():
            there = getattr(linkage, part) is not None
            ends = [end for end in END_LABELS if end.startswith(f"{part}.")] if there else [f"{part}.{first}"]
            found += [f"{AT}{end}" for end in ends]
            found += [f"linkage.{part}.{name}" for name in BESIDE[part]] if there else []
        found += [f"linkage.{name}" for name in ("joint_limit", "bump_travel", "droop_travel")]
    return tuple(f"rear.{key}" for key in found)


def kind_of(linkage: Linkage | None) -> str:
    """Return which bars there are, as the form calls them."""
    if linkage is None:
        return NONE
    bars = int(linkage.uppers), linkage.track_bar is not None
    return next((kind for kind, one in KINDS.items() if one == bars), NONE)


def end_text(truck: Truck, path: str) -> str | None:
    """Return where an end is, as a text; None where there is none."""
    here: Any = truck.rear.linkage
    for name in path.split("."):
        here = None if here is None else getattr(here, name)
    return None if here is None else f"{MIDDLE} ".join(one.text for one in (here.x, here.y, here.z))


def with_links(draft: Draft[Truck], kind: str) -> Draft[Truck]:
    """Return the draft with other bars at its rear axle; without any they go aside, and come back."""
    truck, aside = draft.record, dict(draft.aside)
    if kind not in (NONE, *KINDS):
        raise Refusal(f"must be one of {', '.join((NONE, *KINDS))}", shown(kind), "write it as it stands there")
    now, before = truck.rear.linkage, kind_of(truck.rear.linkage)
    left = tuple(one for one in truck.typical if not one.startswith("rear.linkage."))
    if kind == before:
        return draft
    if kind == NONE:
        assert now is not None  # else nothing changed
        aside[LINKS] = now.as_file()
        return _changed(draft, None, left, aside)
    kept = aside.pop(LINKS, None)
    given: dict[str, Any] = dict(kept) if now is None and kept else {} if now is None else now.as_file()
    typical = left if now is None else truck.typical
    guess, (uppers, track_bar) = _typical_bars(truck, kind), KINDS[kind]
    if given and kind_of(Linkage.model_validate(given)) == kind:
        return _changed(draft, given, typical, aside)
    wanted = ["upper"] if "lower" in given else ["lower", "upper"]
    given |= {name: guess[name] for name in wanted} | {"uppers": uppers}
    given.pop("upper_right", None)
    if not track_bar:
        given.pop("track_bar", None)
    elif "track_bar" not in given:
        given["track_bar"] = guess["track_bar"]
        wanted.append("track_bar")
    typical = tuple(one for one in typical if track_bar or not one.startswith("rear.linkage.track_bar"))
    ends = [f"rear.linkage.{name}.{end}" for name in wanted for end in ("frame", "axle")]
    return _changed(draft, given, (*typical, *ends), aside)


def with_end(draft: Draft[Truck], path: str, text: str, system: System) -> Draft[Truck]:
    """Return the draft with the place of an end; an empty one takes a driveshaft, a shock or a hose off.

    Raises
    ------
    Refusal
        If the text is no place.
    """
    truck, linkage = draft.record, draft.record.rear.linkage
    if linkage is None:
        raise Refusal("is of an axle with links", shown(text), "say first what holds the rear axle")
    part, _, end = path.partition(".")
    given, full = linkage.as_file(), f"rear.linkage.{path}"
    typical = [one for one in truck.typical if one != full]
    if not text.strip():
        if path == "driveshaft.carrier":
            given.get(part, {}).pop(end, None)
        elif FIRST.get(part) == end:
            given.pop(part, None)
            typical = [one for one in typical if not one.startswith(f"rear.linkage.{part}.")]
        else:
            raise Refusal("must be a place", "nothing", "write ahead; left; up, such as 28 in; 16 in; 15 in")
        return _changed(draft, given, typical, draft.aside)
    place = read_place(text, system)
    if part not in given:
        given[part] = _typical_part(truck, part, place)
        typical += [f"rear.linkage.{part}.{name}" for name in given[part] if name not in (end, "output_angle")]
    given[part] = {**given[part], end: {name: one.text for name, one in zip("xyz", place, strict=True)}}
    return _changed(draft, given, typical, draft.aside)


def read_place(text: str, system: System) -> tuple[Quantity, Quantity, Quantity]:
    """Return ahead, left and up of a text such as "28; 16; 15 in"; a unit at its end counts for all without one.

    Raises
    ------
    Refusal
        If it is not three lengths.

    Examples
    --------
    >>> [one.text for one in read_place("28; -16; 15 in", "metric")]
    ['28 in', '-16 in', '15 in']
    """
    parts = [one for one in SPLIT.split(text.strip()) if one]
    if len(parts) != 3:
        remedy = "write ahead; left; up, such as 28 in; 16 in; 15 in"
        raise Refusal("must be three lengths with ; between", shown(text), remedy)
    ahead, left, up = parts
    unit = re.search(r"[^\d\s.,/'\"-]+$", up)
    if unit is not None:
        ahead, left = (one if re.search(r"[a-zA-Z'\"]", one) else f"{one} {unit.group()}" for one in (ahead, left))
    return tuple(read_quantity(one, "length", system) for one in (ahead, left, up))  # type: ignore[return-value]  # three


def read_wanted(draft: Draft[Truck], system: System) -> tuple[float, float]:
    """Return the turn of the pinion, nose up [rad], and the way forward of the axle [m] that are wanted from now.

    Raises
    ------
    Refusal
        If one of them cannot be read.
    """
    typed = {name: draft.typed.get(f"{WANTED}.{name}", "").strip() for name in WANTED_LABELS}
    linkage = draft.record.rear.linkage
    shaft = None if linkage is None else linkage.driveshaft
    now = 0.0 if shaft is None else float(shaft.pinion_angle)
    up = float(read_quantity(typed["pinion_up"], "angle", system)) - now if typed["pinion_up"] else 0.0
    if abs(up) > STEEPEST:
        raise Refusal("must be within 15° of now", shown(typed["pinion_up"]), "ask for less")
    ahead = float(read_quantity(typed["ahead"], "length", system)) if typed["ahead"] else 0.0
    if abs(ahead) > FARTHEST:
        raise Refusal("must be within 6 in of now", shown(typed["ahead"]), "ask for less")
    return up, ahead


def check_aside(linkage: Mapping[str, Any]) -> None:
    """Raise a ValueError for what are no links."""
    Linkage.model_validate(linkage)


def _changed(
    draft: Draft[Truck], linkage: Mapping[str, Any] | None, typical: Any, aside: Mapping[str, Any]
) -> Draft[Truck]:
    """Return the draft with other links."""
    rear = draft.record.rear.replaced(linkage=linkage)
    record = draft.record.replaced(rear=rear, typical=tuple(dict.fromkeys(typical)))
    return replace(draft, record=record, aside=aside)


def _inches(*places: float) -> dict[str, str]:
    """Return a place from metres, to half an inch."""
    return {name: f"{round(2 * place / 0.0254) / 2:g} in" for name, place in zip("xyz", places, strict=True)}


def _typical_bars(truck: Truck, kind: str) -> dict[str, Any]:
    """Return bars in proportion to track and tyre (from memory of trucks with links): they show how it is meant."""
    half, hub = float(truck.rear.track) / 2, float(truck.rear.tyres.unloaded_radius)
    low, high, frame = 0.80 * hub, 1.45 * hub, 0.48 * half
    upper = (_inches(0.53, 0.5 * half, 1.36 * hub), _inches(-0.02, 0.5 * half, high))
    if kind == "uppers meet":
        upper = (_inches(0.53, 0.5 * half, 1.36 * hub), _inches(-0.02, 0.12 * half, high))
    elif kind == "one upper":
        upper = (_inches(0.53, 0.2 * half, 1.36 * hub), _inches(-0.02, 0.2 * half, high))
    return {
        "lower": {"frame": _inches(0.71, frame, 0.9 * hub), "axle": _inches(0.0, 0.58 * half, low)},
        "upper": dict(zip(("frame", "axle"), upper, strict=True)),
        "track_bar": {
            "frame": _inches(-0.13, -0.52 * half, 1.1 * hub),
            "axle": _inches(-0.13, 0.52 * half, 1.04 * hub),
        },
    }


def _typical_part(truck: Truck, part: str, place: tuple[Quantity, Quantity, Quantity]) -> dict[str, Any]:
    """Return what else a part is, its first end given: roomy, so that a guess ends nothing."""
    x, y, z = (float(one) for one in place)
    hub = float(truck.rear.tyres.unloaded_radius)
    if part == "driveshaft":
        angle = "2 deg"
        return {"pinion": _inches(0.28, y, 1.05 * hub), "output_angle": angle, "pinion_angle": angle}
    axle = (x + 0.12, y, 0.8 * hub) if part == "shock" else (0.0, y, 1.25 * hub)
    apart = ((axle[0] - x) ** 2 + (axle[2] - z) ** 2) ** 0.5
    if part == "shock":
        lengths = {"shortest": f"{(apart - 0.12) / 0.0254:.3g} in", "longest": f"{(apart + 0.13) / 0.0254:.3g} in"}
        return {"axle": _inches(*axle), **lengths}
    return {"axle": _inches(*axle), "length": f"{(apart + 0.2) / 0.0254:.3g} in"}
