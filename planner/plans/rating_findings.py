"""What the labels say of an answer, and what to do: no advice asks for what another label or limit forbids."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.validation import Array
from planner.plans.answer import AXLES, SIDES, Answer, Finding, Kind
from planner.plans.ratings import FRONT_AXLE_MAY_LOSE, SMALL, TONGUE_RANGES, Carried, Check, checks, trailer_checks
from planner.plans.setup import Setup, rig_of
from planner.records import Trailer
from planner.records.fields import PRESSURE_SLACK

LABEL = "rating label of the truck"
GAWR_SOURCE = "49 CFR 571.3: GAWR is measured at the tyre-ground interface"
TYRE_SOURCE = "tyre side wall; the heaviest wheel of an axle governs (TRA selection rule)"
HITCH_LABEL = "label of the hitch; the lowest rating of ball, mount, hitch and truck governs"
BAG_LIMIT, BAG_CHART = "maker's limit of the bag", "chart of the bag"
PRACTICE, BALL_PRACTICE = "common practice", "Iowa State University Extension, 28 June 2017"
AIR = "Air raises no rating."

Amounts = dict[str, tuple[float, Kind]]
Plan = Callable[[], Answer]

SAID: Final[dict[str, tuple[str, str]]] = {  # what each check of `ratings` says where it is passed, and its source
    "gvwr": (f"The truck weighs {{value}} with this load, {{over}} over its GVWR of {{limit}}: {{do}}. {AIR}", LABEL),
    "gcwr": ("%s {value}, {over} over the GCWR of {limit}: {do}.", LABEL),
    "gawr": (f"The %s axle carries {{value}}, {{over}} over its GAWR of {{limit}}: {{do}}. {AIR}", GAWR_SOURCE),
    "front-axle-light": (
        (
            "The front axle carries {value}, {lost} less than empty and below {limit}: steering and front brakes get "
            "weak. {Do}."
        ),
        f"common practice: no more than {100 * FRONT_AXLE_MAY_LOSE:.0f} % of kerb weight",
    ),
    "tyre": (f"The %s tyre carries {{value}}, {{over}} over its rating of {{limit}}: {{do}}. {AIR}", TYRE_SOURCE),
    "wheel-lifts": ("The %s wheel carries nothing: this load tips the truck. Take the load off.", "statics"),
    "pressure-high": ("The %s bag is at {value}, above its greatest pressure of {limit}: {do}.", BAG_LIMIT),
    "pressure-low": (
        (
            "The %s bag is at {value}, below its least pressure of {limit}: never tow like this, the bag can fold and "
            "tear. {Do}."
        ),
        BAG_LIMIT,
    ),
    "bag-height-low": ("The %s bag is down at {limit}, the lowest height of its chart: {do}.", BAG_CHART),
    "bag-height-high": ("The %s bag is up at {limit}, the greatest height of its chart: {do}.", BAG_CHART),
    "bag-load": (f"The %s bag carries {{value}}, {{over}} over its rating of {{limit}}: {{do}}. {AIR}", BAG_LIMIT),
    "tongue-rating": (
        "The tongue weighs {value}, {over} over the hitch's tongue rating of {limit}: {do}, or use a stronger hitch.",
        HITCH_LABEL,
    ),
    "trailer-rating": (
        "The trailer weighs {value}, {over} over the hitch's trailer rating of {limit}: {do}.",
        HITCH_LABEL,
    ),
    "d-value": (
        (
            "Truck and trailer need a coupling with a D-value of {value}, over the {limit} on its label: use a "
            "stronger one."
        ),
        "UN Regulation No. 55, at the weights that the labels permit",
    ),
    "v-value": (
        "The trailer needs a coupling with a V-value of {value}, over the {limit} on its label: use a stronger one.",
        "UN Regulation No. 55, for centre-axle trailers over 3.5 t",
    ),
    "trailer-gvwr": (
        "The trailer weighs {value}, {over} over its own GVWR of {limit}: {do}.",
        "rating label of the trailer",
    ),
    "trailer-axle": (
        "Each axle of the trailer carries {value}, {over} over its rating of {limit}: {do}.",
        "rating label of the trailer's axles",
    ),
    "trailer-tyre": (
        "Each %s tyre of the trailer carries {value}, {over} over its rating of {limit}: {do}.",
        TYRE_SOURCE,
    ),
    "trailer-side": (
        "The %s wheels of the trailer carry {value} of its axle load, more than {limit}: {do}.",
        PRACTICE,
    ),
    "tongue-ratio-low": (
        "The tongue carries {value} of the trailer, under the usual {least} to {greatest}: a light tongue sways. {Do}.",
        PRACTICE,
    ),
    "tongue-ratio-high": (
        "The tongue carries {value} of the trailer, over the usual {least} to {greatest}: {do}.",
        PRACTICE,
    ),
}


@dataclass(frozen=True)
class _Case:
    """What a check was made of; setup and answer are missing where a trailer is looked at by itself.

    plan : gives the answer that levels the truck, where this one is of pressures that were given
    trailer_axles : load on all axles of the trailer [N]
    """

    setup: Setup | None
    answer: Answer | None
    plan: Plan | None
    trailer: Trailer | None
    trailer_axles: float

    @property
    def has_cargo(self) -> bool:
        """Whether something on the truck can be moved or taken off."""
        return self.setup is not None and bool(self.setup.cargo)


def label_findings(
    setup: Setup, answer: Answer, plan: Plan | None, passed: Sequence[Check] | None = None
) -> Iterator[Finding]:
    """Yield what the labels say of an answer at the pressures that are set.

    ``plan`` gives the answer that levels the truck, where this one is of pressures that were given; ``passed`` is what
    `labels_passed` found of it, where that is known.
    """
    case = _Case(setup, answer, plan, setup.trailer, answer.trailer_axle_load)
    for check in checks(setup, carried_by(setup, answer)) if passed is None else passed:
        if check.passed:
            yield _said(check, case)


def labels_passed(setup: Setup, carried: Carried) -> list[list[Check]]:
    """Return, of each of many cases with the truck, trailer and hitch of a setup, the checks that are passed."""
    count = len(carried.axle_load)
    found: list[list[Check]] = [[] for _ in range(count)]
    for check in checks(setup, carried):
        value, passed = np.broadcast_to(check.value, count), np.broadcast_to(check.passed, count)
        for case in np.flatnonzero(passed):
            found[case].append(check._replace(value=value[case], passed=passed[case]))
    return found


def carried_by(setup: Setup, answer: Answer) -> Carried:
    """Return what a truck carries, its bags at the pressures that are set."""
    return carried_of(setup, vars(answer), vars(answer.set))


def carried_of(setup: Setup, answer: Mapping[str, Array], at_set: Mapping[str, Array]) -> Carried:
    """Return the same from arrays by their names in `Answer` and in its `Setting`, of one case or of many."""
    trailer = setup.trailer
    return Carried(
        axle_load=answer["axle_load"],
        tyre_load=answer["tyre_load"],
        pressure=at_set["pressure"],
        bag_height=at_set["bag_height"],
        bag_load=at_set["bag_load"],
        trailer_load=np.asarray(trailer.weight * G if trailer else 0.0),
        tongue_share=np.asarray(trailer.tongue_share if trailer else 0.0),
        trailer_axle_load=np.asarray(answer["trailer_axle_load"]),
    )


def trailer_findings(trailer: Trailer, axle_load: float) -> Iterator[Finding]:
    """Yield what a trailer's own labels and good practice say of it, with a load on its axles. [N]"""
    weight, share = np.asarray(trailer.weight * G), np.asarray(trailer.tongue_share)
    case = _Case(None, None, None, trailer, axle_load)
    for check in trailer_checks(trailer, weight, share, np.asarray(axle_load)):
        if check.passed:
            yield _said(check, case)


def _said(check: Check, case: _Case) -> Finding:
    """Return a check that is passed as a finding: what is found, and what to do."""
    words, source = SAID[check.rule]
    if check.rule.startswith("tongue-ratio") and case.trailer is not None and case.trailer.coupling == "ball":
        source = BALL_PRACTICE
    advice, more = _advice(check, case)
    template = words.replace("%s", _who(check, case)).replace("{do}", advice).replace("{Do}", _capital(advice))
    return Finding(check.level, check.code, template, source, _amounts(check, case) | more)


def _capital(words: str) -> str:
    """Return words that begin a sentence."""
    return words[:1].upper() + words[1:]


def _who(check: Check, case: _Case) -> str:
    """Return what on the truck or the trailer a check is of, in the words of its sentence."""
    if check.rule == "gcwr":
        return "Truck and trailer together weigh" if case.trailer else "The truck alone weighs"
    if check.rule in ("tyre", "wheel-lifts") and case.answer is not None:
        (axle,) = check.place
        left, right = case.answer.tyre_load[AXLES.index(axle)] * (1.0 if check.rule == "tyre" else -1.0)
        return f"{axle} {SIDES[int(right > left + SMALL * abs(left))]}"  # the left, where both are alike
    if check.rule in ("trailer-tyre", "trailer-side") and case.trailer is not None:
        return SIDES[int(case.trailer.side_share < 0.5)]
    return " ".join(check.place)


def _amounts(check: Check, case: _Case) -> Amounts:
    """Return the amounts that the sentence of a check speaks of."""
    value, limit, kind = float(check.value), check.limit, check.kind
    amounts: Amounts = {"value": (value, kind), "limit": (limit, kind)}
    if check.rule == "front-axle-light" and case.setup is not None:
        amounts["lost"] = (case.setup.truck.kerb.front_axle * G - value, kind)
    elif check.rule.startswith("tongue-ratio") and case.trailer is not None:
        least, greatest = TONGUE_RANGES[case.trailer.coupling]
        amounts |= {"least": (least, kind), "greatest": (greatest, kind)}
    elif "{over}" in SAID[check.rule][0]:
        amounts["over"] = (value - limit, kind)
    return amounts


def _advice(check: Check, case: _Case) -> tuple[str, Amounts]:
    """Return what to do about a check that is passed, and the amounts that this names beside those of the check."""
    over = float(check.value) - check.limit
    if check.rule in ("pressure-high", "pressure-low", "bag-height-low", "bag-height-high", "bag-load"):
        return _about_bag(check, case)
    if check.rule in ("tongue-ratio-low", "tongue-ratio-high"):
        return _about_ratio(check, case)
    told: dict[str, Callable[[], str]] = {
        "gvwr": lambda: "take that much off the truck" if _cargo(case) >= over else "take load off truck and tongue",
        "gcwr": lambda: "take that much off truck or trailer" if case.trailer else "take that much off",
        "gawr": lambda: _about_axle(check, case, over),
        "front-axle-light": lambda: _about_light_front(case),
        "tyre": lambda: _about_tyre(check, case),
        "tongue-rating": lambda: _about_tongue(case, over),
        "trailer-rating": lambda: "take that much off it, or tow a lighter one",
        "trailer-gvwr": lambda: "take that much off it",
        "trailer-axle": lambda: _about_trailer_axle(case, over),
        "trailer-tyre": lambda: _about_trailer_tyre(check, case),
        "trailer-side": lambda: "shift load across on it",
    }
    return (told[check.rule]() if check.rule in told else ""), {}


def _cargo(case: _Case) -> float:
    """Return the load of all that lies on the truck. [N]"""
    return sum(float(item.weight) for item in case.setup.cargo) * G if case.setup else 0.0


def _about_axle(check: Check, case: _Case, over: float) -> str:
    """An axle over its rating: load goes to the other one only where all of that has room for it."""
    other = 1 - AXLES.index(check.place[0])
    if case.has_cargo and _room(case, other) >= over:
        return f"move load {('back', 'forward')[1 - other]} on the truck, or take it off"
    return "take load off"


def _room(case: _Case, k: int) -> float:
    """Return how much more an axle may carry: by its rating, its tyres, and the pressure and rating of its bags. [N]"""
    setup, answer = case.setup, case.answer
    if setup is None or answer is None:
        return 0.0
    axle = (setup.truck.front, setup.truck.rear)[k]
    tyres = float((axle.tyres.load_rating * G * axle.tyres.per_side - answer.tyre_load[k]).min())
    room = [axle.gawr * G - float(answer.axle_load[k]), 2.0 * tyres]
    if axle.bag is not None:
        greatest = np.full((2, 2), float(axle.bag.greatest_pressure))
        more = rig_of(setup.truck).bag_load(answer.bag_height, greatest)[k] - answer.bag_load[k]
        if axle.bag.load_rating is not None:
            more = np.minimum(more, axle.bag.load_rating - answer.bag_load[k])
        room.append(2.0 * float(axle.motion_ratio) * float(more.min()))
    return min(room)


def _about_light_front(case: _Case) -> str:
    """A front axle that has lost too much of its load."""
    ways = ["move load forward on the truck"] if case.has_cargo else []
    hitch = case.setup.hitch if case.setup and case.trailer else None
    if hitch is not None and hitch.x < 0:
        ways.append("use a hitch nearer the axle")
        if hitch.coupling == "ball" and case.trailer and case.trailer.bars < 1.0:
            ways.append("set weight-distribution bars")
    return " or ".join((", ".join(ways[:-1]), ways[-1])) if len(ways) > 1 else (ways or ["take load off"])[0]


def _about_tyre(check: Check, case: _Case) -> str:
    """A tyre over its rating: the other side takes load only where both then carry no more than theirs."""
    if case.answer is not None and case.setup is not None and case.has_cargo:
        k = AXLES.index(check.place[0])
        count = (case.setup.truck.front, case.setup.truck.rear)[k].tyres.per_side
        if float(case.answer.tyre_load[k].mean()) / count <= check.limit:
            return "shift load to the other side, or take it off"
    return "take load off"


def _about_bag(check: Check, case: _Case) -> tuple[str, Amounts]:
    """A bag past a limit or at its end: air, where pressures were given and the plan has room; else load."""
    assert case.setup is not None  # only a truck has bags
    assert case.answer is not None
    k, i = AXLES.index(check.place[0]), SIDES.index(check.place[1])
    now = float(case.answer.set.pressure[k, i])
    bag = (case.setup.truck.front, case.setup.truck.rear)[k].bag
    assert bag is not None  # its check is passed
    planned = float(case.plan().set.pressure[k, i]) if case.plan else now
    to: Amounts = {"to": (planned, "step")}  # a whole number of them
    least, greatest = now <= bag.least_pressure + PRESSURE_SLACK, at_most(case.setup, case.answer, k, i)
    down = "let air out until it reads {to}" if planned < now - PRESSURE_SLACK else ""
    up = "air it up to {to}" if planned > now + PRESSURE_SLACK else ""
    if check.rule == "pressure-high":
        return (down, to) if down else ("let air out down to that", {})
    if check.rule == "pressure-low":
        return (up, to) if up else ("load this corner before you tow", {})
    if check.rule == "bag-load":
        inside = case.plan is not None and float(case.plan().bag_load[k, i]) <= check.limit * (1.0 + SMALL)
        return (down, to) if down and inside else ("take load off", {})
    if check.rule == "bag-height-low":
        if greatest:
            return "it may take no more air, and the bump stop is next. Take load off", {}
        return (f"the bump stop is next. {_capital(up)}", to) if up else ("the bump stop is next. Go no lower", {})
    if least:
        return "it is at its least pressure and must not be stretched. It needs load, not air", {}
    return (
        (f"it must not be stretched. {_capital(down)}", to) if down else ("it must not be stretched. Go no higher", {})
    )


def at_most(setup: Setup, answer: Answer, k: int, i: int) -> bool:
    """Tell whether a bag holds all the air or all the load it may."""
    bag = (setup.truck.front, setup.truck.rear)[k].bag
    if bag is None:
        return False
    if max(answer.pressure[k, i], answer.set.pressure[k, i]) >= bag.greatest_pressure - PRESSURE_SLACK:
        return True
    return bag.load_rating is not None and bool(answer.bag_load[k, i] >= bag.load_rating * (1.0 - SMALL))


def _tongue(trailer: Trailer) -> float:
    """Return the tongue load, bars slack. [N]"""
    return trailer.weight * G * trailer.tongue_share


def _tongue_room(case: _Case) -> float:
    """Return how much heavier the tongue may become: by its usual range, the hitch, the truck's axles and GVWR. [N]"""
    trailer, setup, answer = case.trailer, case.setup, case.answer
    assert trailer is not None
    room = [TONGUE_RANGES[trailer.coupling][1] * trailer.weight * G - _tongue(trailer)]
    if setup is not None and answer is not None and setup.hitch is not None:
        reach = 1.0 - setup.hitch.x / setup.truck.wheelbase  # of the tongue load on the rear axle
        room += [
            setup.hitch.tongue_rating * G - _tongue(trailer),
            setup.truck.gvwr * G - float(answer.axle_load.sum()),
            _room(case, 1) / reach,
            _room(case, 0) / (1.0 - reach) if reach < 1.0 else np.inf,
        ]
    return min(room)


def _trailer_axle_room(case: _Case) -> float:
    """Return how much more the trailer's axles and tyres may carry. [N]"""
    trailer = case.trailer
    assert trailer is not None
    room = trailer.axle_rating * G * trailer.axle_count - case.trailer_axles
    if trailer.tyre_load_rating is not None:
        wheels = 2 * trailer.axle_count * trailer.tyres_per_side
        heavier = case.trailer_axles / 2 + abs(trailer.side_share - 0.5) * trailer.weight * G
        room = min(room, 2.0 * (trailer.tyre_load_rating * G * wheels / 2 - heavier))
    return float(room)


def _about_tongue(case: _Case, over: float) -> str:
    """A tongue over the hitch's rating: load goes back only where its range and the trailer's axles have room."""
    trailer = case.trailer
    assert trailer is not None
    least = TONGUE_RANGES[trailer.coupling][0] * trailer.weight * G
    if _tongue(trailer) - over >= least and _trailer_axle_room(case) >= over:
        return "move load back on the trailer"
    return "take load off the trailer"


def _about_trailer_axle(case: _Case, over: float) -> str:
    """Axles of the trailer over their rating: load goes forward only where the tongue and the truck have room."""
    assert case.trailer is not None
    if _tongue_room(case) >= over * case.trailer.axle_count:
        return "take load off it, or move some forward on it"
    return "take load off it"


def _about_trailer_tyre(check: Check, case: _Case) -> str:
    """A tyre of the trailer over its rating: the other side takes load only where both then carry no more."""
    assert case.trailer is not None
    each = case.trailer_axles / (2 * case.trailer.axle_count * case.trailer.tyres_per_side)
    return "shift load across on it, or take it off" if each <= check.limit else "take load off it"


def _about_ratio(check: Check, case: _Case) -> tuple[str, Amounts]:
    """A tongue out of its usual range: load moves on the trailer only where what it goes to has room."""
    trailer = case.trailer
    assert trailer is not None
    moved = abs(float(check.value) - check.limit) * trailer.weight * G
    if check.rule == "tongue-ratio-high":
        fits = _trailer_axle_room(case) >= moved
        return ("move load back on the trailer" if fits else "take load off it ahead of its axles"), {}
    if _tongue_room(case) >= moved:
        return "move load forward on the trailer", {}
    off = trailer.weight * G - _tongue(trailer) / check.limit
    return "the tongue may take no more: take {off} off over the trailer's axles", {"off": (off, "load")}
