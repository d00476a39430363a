"""Findings: the answer held against every label, rating and limit, worst first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Final

import numpy as np

from planner.physics.checks import Codes, Flags
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.levelling import Limit
from planner.plans.answer import AXLES, SEVERITIES, SIDES, Answer, Finding, Kind
from planner.plans.labels import FRONT_AXLE_MAY_LOSE, SMALL, TONGUE_RANGES, Carried, Check, checks, trailer_checks
from planner.plans.setup import Setup
from planner.records import Axle, Trailer

LABEL = "rating label of the truck"
GAWR_SOURCE = "49 CFR 571.3: GAWR is measured at the tyre-ground interface"
TYRE_SOURCE = "tyre side wall; the heaviest wheel of an axle governs (TRA selection rule)"
HITCH_LABEL = "label of the hitch; the lowest rating of ball, mount, hitch and truck governs"
BAG_LIMIT, BAG_CHART = "maker's limit of the bag", "chart of the bag"
PRACTICE, BALL_PRACTICE = "common practice", "Iowa State University Extension, 28 June 2017"
AIR = "Air raises no rating."
AIM_SCREEN = 7.62  # [m] 25 ft, the distance at which headlamps are aimed: SAE J599 (from memory)
AIM_TOLERANCE = 0.1016  # [m] 4 in at that distance: SAE J599 (from memory)
AIM_WORTH_SAYING = 0.0254  # [m] 1 in at that distance: less is within the reading of a screen
TWIST_WORTH_SAYING = 0.01  # [-] of the moment that would lift one side of the axle off its springs

Amounts = dict[str, tuple[float, Kind]]

SAID: Final[dict[str, tuple[str, str]]] = {  # what each check of `labels` says where it is passed, and its source
    "gvwr": (
        f"The truck weighs {{value}} with this load, {{over}} over its GVWR of {{limit}}: take load off. {AIR}",
        LABEL,
    ),
    "gcwr": (
        "%s {value}, {over} over the GCWR of {limit}: tow a lighter trailer or take load off.",
        LABEL,
    ),
    "gawr": (
        f"The %s axle carries {{value}}, {{over}} over its GAWR of {{limit}}: move load or take it off. {AIR}",
        GAWR_SOURCE,
    ),
    "front-axle-light": (
        (
            "The front axle carries {value}, {lost} less than at kerb and below {limit}: steering and front brakes "
            "suffer. Move load forward, or use a hitch nearer the axle or weight-distribution bars."
        ),
        f"common practice: no more than {100 * FRONT_AXLE_MAY_LOSE:.0f} % of kerb weight",
    ),
    "tyre": (
        (
            "The %s tyre carries {value}, {over} over its rating of {limit}: "
            f"shift load to the other side or take it off. {AIR}"
        ),
        TYRE_SOURCE,
    ),
    "wheel-lifts": ("The %s wheel carries nothing: this load tips the truck. Take it off.", "statics"),
    "pressure-high": (
        "The %s bag would be at {value}, above its greatest pressure of {limit}: let air out.",
        BAG_LIMIT,
    ),
    "pressure-low": (
        (
            "The %s bag would be at {value}, below its least pressure of {limit}: "
            "never tow like this, the bag can fold and tear."
        ),
        BAG_LIMIT,
    ),
    "bag-height-low": (
        "The %s bag is down at {limit}, the lowest height of its chart: the bump stop is next. Raise it.",
        BAG_CHART,
    ),
    "bag-height-high": (
        "The %s bag is up at {limit}, the greatest height of its chart: it must not be stretched. Lower it.",
        BAG_CHART,
    ),
    "bag-load": (
        f"The %s bag carries {{value}}, {{over}} over its rating of {{limit}}: take load off. {AIR}",
        BAG_LIMIT,
    ),
    "tongue-rating": (
        (
            "The tongue weighs {value}, {over} over the hitch's tongue rating of {limit}: "
            "move load back on the trailer or use a stronger hitch."
        ),
        HITCH_LABEL,
    ),
    "trailer-rating": (
        "The trailer weighs {value}, {over} over the hitch's trailer rating of {limit}: tow a lighter trailer.",
        HITCH_LABEL,
    ),
    "trailer-gvwr": (
        "The trailer weighs {value}, {over} over its own GVWR of {limit}: take load off it.",
        "rating label of the trailer",
    ),
    "trailer-axle": (
        (
            "Each axle of the trailer carries {value}, {over} over its rating of {limit}: "
            "take load off, or move it forward if the tongue can take it."
        ),
        "rating label of the trailer's axles",
    ),
    "trailer-tyre": (
        (
            "Each %s tyre of the trailer carries {value}, {over} over its rating of {limit}: "
            "shift load across or take it off."
        ),
        TYRE_SOURCE,
    ),
    "tongue-ratio-low": (
        (
            "The tongue carries {value} of the trailer, under the usual {least} to {greatest}: "
            "a light tongue sways. Move load forward on the trailer."
        ),
        PRACTICE,
    ),
    "tongue-ratio-high": (
        (
            "The tongue carries {value} of the trailer, over the usual {least} to {greatest}: "
            "move load back on the trailer."
        ),
        PRACTICE,
    ),
}


def findings(setup: Setup, answer: Answer, held: Codes, fixed: Flags) -> tuple[Finding, ...]:
    """Return everything the owner should know of an answer, worst first.

    ``held`` is the Limit each corner was held at, shape (2, 2); ``fixed`` whether pressure fixes each axle's height.
    """
    found = [
        *_labels(setup, answer),
        *_bias_on_ball(setup),
        *_stance(setup, answer),
        *_heights(setup, answer, held),
        *_undetermined(fixed),
    ]
    return worst_first(found)


def worst_first(found: Iterable[Finding]) -> tuple[Finding, ...]:
    """Return findings in the order they should be read."""
    return tuple(sorted(found, key=_rank))


def _rank(finding: Finding) -> tuple[int, float]:
    """Order by severity, then by how far the limit is passed."""
    value, limit = finding.value, finding.limit
    past = abs(value / limit - 1.0) if value is not None and limit else 0.0
    return SEVERITIES.index(finding.level), -past


def _labels(setup: Setup, answer: Answer) -> Iterator[Finding]:
    """Yield what the labels say of an answer."""
    trailer = setup.trailer
    carried = Carried(
        axle_load=answer.axle_load,
        tyre_load=answer.tyre_load,
        pressure=answer.pressure,
        bag_height=answer.bag_height,
        bag_load=answer.bag_load,
        trailer_load=np.asarray(trailer.weight * G if trailer else 0.0),
        tongue_share=np.asarray(trailer.tongue_share if trailer else 0.0),
        trailer_axle_load=np.asarray(answer.trailer_axle_load),
    )
    for check in checks(setup, carried):
        if check.passed:
            yield _said(check, _who(check, answer, trailer), _amounts(check, setup, trailer), trailer)


def trailer_findings(trailer: Trailer, axle_load: float) -> Iterator[Finding]:
    """Yield what a trailer's own labels and good practice say of it, with a load on its axles. [N]"""
    weight, share = np.asarray(trailer.weight * G), np.asarray(trailer.tongue_share)
    for check in trailer_checks(trailer, weight, share, np.asarray(axle_load)):
        if check.passed:
            yield _said(check, _heavier_side(trailer), _amounts(check, None, trailer), trailer)


def _said(check: Check, who: str, amounts: Amounts, trailer: Trailer | None) -> Finding:
    """Return a check that is passed as a finding; ``who`` is what its sentence is about."""
    words, source = SAID[check.rule]
    if check.rule.startswith("tongue-ratio") and trailer is not None and trailer.coupling == "ball":
        source = BALL_PRACTICE
    return Finding(check.level, check.code, words.replace("%s", who), source, amounts)


def _who(check: Check, answer: Answer, trailer: Trailer | None) -> str:
    """Return what on the truck or the trailer a check is of, in the words of its sentence."""
    if check.rule == "gcwr":
        return "Truck and trailer together weigh" if trailer else "The truck alone weighs"
    if check.rule in ("tyre", "wheel-lifts"):
        (axle,) = check.place
        left, right = answer.tyre_load[AXLES.index(axle)]
        return f"{axle} {SIDES[int(right > left if check.rule == 'tyre' else right < left)]}"
    if check.rule == "trailer-tyre" and trailer is not None:
        return _heavier_side(trailer)
    return " ".join(check.place)


def _heavier_side(trailer: Trailer) -> str:
    """Return the side of a trailer whose wheels carry more."""
    return SIDES[int(trailer.side_share < 0.5)]


def _amounts(check: Check, setup: Setup | None, trailer: Trailer | None) -> Amounts:
    """Return the amounts that the sentence of a check speaks of."""
    value, limit, kind = float(check.value), check.limit, check.kind
    amounts: Amounts = {"value": (value, kind), "limit": (limit, kind)}
    if check.rule == "front-axle-light" and setup is not None:
        amounts["lost"] = (setup.truck.kerb.front_axle * G - value, kind)
    elif check.rule.startswith("tongue-ratio") and trailer is not None:
        least, greatest = TONGUE_RANGES[trailer.coupling]
        amounts |= {"least": (least, kind), "greatest": (greatest, kind)}
    elif "{over}" in SAID[check.rule][0]:
        amounts["over"] = (value - limit, kind)
    return amounts


def _bias_on_ball(setup: Setup) -> Iterator[Finding]:
    """A coupling that swivels passes no side moment, so a bias of the hitch load leans nothing here."""
    hitch = setup.hitch
    if setup.trailer is None or hitch is None:
        return
    if hitch.roll_coupling < 1.0 and abs(setup.left_share - 0.5) > SMALL:
        passed = "none of it" if hitch.roll_coupling == 0.0 else f"only {100 * hitch.roll_coupling:.0f} % of it"
        yield Finding(
            "note",
            "side-bias-on-ball",
            f"The hitch load is given as {{value}} on the left, but this coupling swivels and passes {passed}: a "
            "lopsided trailer shows on its own tyres. Put lopsided cargo of the truck in as cargo.",
            "statics: a ball carries no moment",
            {"value": (setup.left_share, "share")},
        )


def _stance(setup: Setup, answer: Answer) -> Iterator[Finding]:
    """What is left over of lean, twist and pitch."""
    truck, stance = setup.truck, answer.stance
    lean = (stance.roll - setup.wanted[2]) * truck.rear.track
    if abs(lean) > truck.instruments.tape_error:
        low, high = ("right", "left") if lean > 0 else ("left", "right")
        yield Finding(
            "caution",
            "lean-left-over",
            f"The {low} side stays {{value}} lower than the {high} against the wanted stance, over the rear track: "
            "shift load across.",
            "limit: what the tape can tell",
            {"value": (abs(lean), "length"), "limit": (truck.instruments.tape_error, "length")},
        )
    twist = answer.frame_twist
    least = TWIST_WORTH_SAYING * float(answer.spring_load[0].sum()) * truck.front.track / 2.0
    if abs(twist) > least:
        yield Finding(
            "note",
            "frame-twist",
            "The frame holds a twist of {value}: the side load does not go to the axles in the ratio of its place. "
            "Shifting cargo across to even the sides takes it out.",
            "least strain energy of a uniform frame",
            {"value": (abs(twist), "moment")},
        )
    yield from _headlamps(setup, answer)


def _heights(setup: Setup, answer: Answer, held: Codes) -> Iterator[Finding]:
    """Where the wanted height is not reached: by how much, and which limit at which corner stands in the way."""
    rises = (answer.stance.front - setup.wanted[0], answer.stance.rear - setup.wanted[1])
    axles = (setup.truck.front, setup.truck.rear)
    for k, (name, axle, rise) in enumerate(zip(AXLES, axles, rises, strict=True)):
        if abs(rise) <= setup.truck.instruments.tape_error:
            continue
        way = "above" if rise > 0 else "below"
        why, amounts = _reason(name, axle, held[k])
        yield Finding(
            "caution" if axle.bag else "note",
            f"stance-not-reached-{name}",
            f"The {name} stays {{value}} {way} the wanted height: {why}.",
            "limit: what the tape can tell",
            amounts | {"value": (abs(rise), "length"), "limit": (setup.truck.instruments.tape_error, "length")},
        )


def _reason(name: str, axle: Axle, held: Codes) -> tuple[str, Amounts]:
    """Return why an axle's height is what it is: the limit its corners are held at, or the lack of a bag."""
    bag, code = axle.bag, Limit(int(held.max()))
    if bag is None:
        return "it has no bag, and its steel settles there", {}
    if code == Limit.NONE:
        return "its pressures give that", {}
    corners = " and ".join(side for side, at in zip(SIDES, held, strict=True) if at)
    end, height = ("lowest", bag.height[0]) if code == Limit.LOWEST_HEIGHT else ("greatest", bag.height[-1])
    told: dict[Limit, tuple[str, Amounts]] = {
        Limit.LEAST_PRESSURE: ("its least pressure of {at}", {"at": (bag.least_pressure, "pressure")}),
        Limit.GREATEST_PRESSURE: ("its greatest pressure of {at}", {"at": (bag.greatest_pressure, "pressure")}),
        Limit.LOAD_RATING: ("its load rating of {at}", {"at": (bag.load_rating or 0.0, "load")}),
        Limit.LOWEST_HEIGHT: (f"the {end} height of its chart, {{at}}", {"at": (height, "length")}),
        Limit.HIGHEST_HEIGHT: (f"the {end} height of its chart, {{at}}", {"at": (height, "length")}),
    }
    limit, amounts = told[code]
    return f"the {name} {corners} bag is held at {limit}", amounts


def _headlamps(setup: Setup, answer: Answer) -> Iterator[Finding]:
    """Pitch of the body moves the beam."""
    stance = answer.stance
    aim = AIM_SCREEN * (stance.front - stance.rear) / setup.truck.wheelbase
    if abs(aim) < AIM_WORTH_SAYING:
        return
    way, effect = ("up", "it dazzles") if aim > 0 else ("down", "it reaches less far")
    yield Finding(
        "caution" if abs(aim) > AIM_TOLERANCE else "note",
        "headlamp-aim",
        f"The headlamps aim {{value}} {way} at {{screen}} against level: {effect}. Level the truck or have them set.",
        "SAE J599 aims at 25 ft, within 4 in",
        {"value": (abs(aim), "length"), "limit": (AIM_TOLERANCE, "length"), "screen": (AIM_SCREEN, "length")},
    )


def _undetermined(fixed: Flags) -> Iterator[Finding]:
    """A bag whose area grows with height as fast as steel resists does not hold a height by pressure."""
    for name, sure in zip(AXLES, fixed, strict=True):
        if not sure:
            yield Finding(
                "caution",
                f"height-not-fixed-{name}",
                f"At the {name} axle pressure alone does not fix the height: set it by tape, not by gauge, "
                "and shut the valves.",
                "stiffness at constant pressure: steel rate - P dA/db",
            )
