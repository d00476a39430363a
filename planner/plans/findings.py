"""Findings: the answer held against every label, rating and limit, worst first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from planner.physics.checks import Codes, Flags
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.levelling import Limit
from planner.physics.trailer import wheel_sides
from planner.plans.answer import AXLES, SEVERITIES, SIDES, Answer, Finding, Kind, Severity
from planner.plans.setup import Setup
from planner.records import Axle, Hitch, Trailer

LABEL = "rating label of the truck"
GAWR_SOURCE = "49 CFR 571.3: GAWR is measured at the tyre-ground interface"
TYRE_SOURCE = "tyre side wall; the heaviest wheel of an axle governs (TRA selection rule)"
AIR = "Air raises no rating."
TONGUE_RANGES = {  # share of the trailer's weight
    "ball": (0.10, 0.15),  # Iowa State University Extension, 28 June 2017: 10 to 15 percent on the tongue
    "pintle": (0.10, 0.15),  # as for a ball: common practice
    "gooseneck": (0.15, 0.25),  # common practice
    "fifth_wheel": (0.15, 0.25),  # common practice
}
FRONT_AXLE_MAY_LOSE = 0.10  # [-] of its kerb weight before steering and braking are in question: common practice
AIM_SCREEN = 7.62  # [m] 25 ft, the distance at which headlamps are aimed: SAE J599 (from memory)
AIM_TOLERANCE = 0.1016  # [m] 4 in at that distance: SAE J599 (from memory)
AIM_WORTH_SAYING = 0.0254  # [m] 1 in at that distance: less is within the reading of a screen
TWIST_WORTH_SAYING = 0.01  # [-] of the moment that would lift one side of the axle off its springs
PRESSURE_SLACK = 1.0  # [Pa] rounding of the arithmetic, far below any gauge
HEIGHT_SLACK = 1e-5  # [m] the same for heights
SMALL = 1e-6  # [-] loads nearer their rating than this are at it

Amounts = dict[str, tuple[float, Kind]]


def findings(setup: Setup, answer: Answer, held: Codes, fixed: Flags) -> tuple[Finding, ...]:
    """Return everything the owner should know of an answer, worst first.

    ``held`` is the Limit each corner was held at, shape (2, 2); ``fixed`` whether pressure fixes each axle's height.
    """
    found = [
        *_truck_ratings(setup, answer),
        *_wheels(setup, answer),
        *_bags(setup, answer),
        *_hitch(setup, answer),
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


def _over(
    code: str, template: str, value: float, limit: float, kind: Kind, source: str, level: Severity = "stop"
) -> Iterator[Finding]:
    """Yield a finding if a value is over its limit."""
    if value > limit * (1.0 + SMALL):
        amounts: Amounts = {"value": (value, kind), "limit": (limit, kind), "over": (value - limit, kind)}
        yield Finding(level, code, template, source, amounts)


def _truck_ratings(setup: Setup, answer: Answer) -> Iterator[Finding]:
    """Whole truck, whole combination and both axles against their labels."""
    truck = setup.truck
    total = float(answer.axle_load.sum())
    yield from _over(
        "gvwr",
        f"The truck weighs {{value}} with this load, {{over}} over its GVWR of {{limit}}: take load off. {AIR}",
        total,
        truck.gvwr * G,
        "load",
        LABEL,
    )
    together = "Truck and trailer together weigh" if setup.trailer else "The truck alone weighs"
    yield from _over(
        "gcwr",
        f"{together} {{value}}, {{over}} over the GCWR of {{limit}}: tow a lighter trailer or take load off.",
        total + answer.trailer_axle_load,
        truck.gcwr * G,
        "load",
        LABEL,
    )
    for name, axle, load in zip(AXLES, (truck.front, truck.rear), answer.axle_load, strict=True):
        yield from _over(
            f"gawr-{name}",
            f"The {name} axle carries {{value}}, {{over}} over its GAWR of {{limit}}: move load or take it off. {AIR}",
            float(load),
            axle.gawr * G,
            "load",
            GAWR_SOURCE,
        )
    yield from _light_front(setup, answer)


def _light_front(setup: Setup, answer: Answer) -> Iterator[Finding]:
    """A front axle that lost more than its share of kerb weight steers and brakes worse."""
    kerb, now = setup.truck.kerb.front_axle * G, float(answer.axle_load[0])
    least = kerb * (1.0 - FRONT_AXLE_MAY_LOSE)
    if now >= least:
        return
    yield Finding(
        "stop" if now <= 0 else "caution",
        "front-axle-light",
        "The front axle carries {value}, {lost} less than at kerb and below {limit}: steering and front brakes suffer. "
        "Move load forward, or use a hitch nearer the axle or weight-distribution bars.",
        f"common practice: no more than {100 * FRONT_AXLE_MAY_LOSE:.0f} % of kerb weight",
        {"value": (now, "load"), "limit": (least, "load"), "lost": (kerb - now, "load")},
    )


def _wheels(setup: Setup, answer: Answer) -> Iterator[Finding]:
    """Each axle's heavier wheel against its tyre, and wheels that lift."""
    for name, axle, loads in zip(AXLES, (setup.truck.front, setup.truck.rear), answer.tyre_load, strict=True):
        side = SIDES[int(loads[1] > loads[0])]
        yield from _over(
            f"tyre-{name}",
            f"The {name} {side} tyre carries {{value}}, {{over}} over its rating of {{limit}}: "
            f"shift load to the other side or take it off. {AIR}",
            float(loads.max()) / axle.tyres.per_side,
            axle.tyres.load_rating * G,
            "load",
            TYRE_SOURCE,
        )
        if loads.min() <= 0:
            lifted = SIDES[int(loads[1] < loads[0])]
            yield Finding(
                "stop",
                f"wheel-lifts-{name}",
                f"The {name} {lifted} wheel carries nothing: this load tips the truck. Take it off.",
                "statics",
                {"value": (float(loads.min()), "load"), "limit": (0.0, "load")},
            )


def _bags(setup: Setup, answer: Answer) -> Iterator[Finding]:
    """Every bag against its pressures, its heights and its load."""
    for k, axle in enumerate((setup.truck.front, setup.truck.rear)):
        for i, side in enumerate(SIDES):
            if axle.bag is not None:
                yield from _bag(
                    axle,
                    (AXLES[k], side),
                    float(answer.pressure[k, i]),
                    float(answer.bag_height[k, i]),
                    float(answer.bag_load[k, i]),
                )


def _bag(axle: Axle, corner: tuple[str, str], pressure: float, height: float, load: float) -> Iterator[Finding]:
    """One bag against its limits."""
    bag, name, code = axle.bag, " ".join(corner), "-".join(corner)
    assert bag is not None  # the caller asked
    pressures: Amounts = {"value": (pressure, "pressure")}
    heights: Amounts = {"value": (height, "length")}
    if pressure > bag.greatest_pressure + PRESSURE_SLACK:
        yield Finding(
            "stop",
            f"pressure-high-{code}",
            f"The {name} bag would be at {{value}}, above its greatest pressure of {{limit}}: let air out.",
            "maker's limit of the bag",
            pressures | {"limit": (bag.greatest_pressure, "pressure")},
        )
    if pressure < bag.least_pressure - PRESSURE_SLACK:
        yield Finding(
            "stop",
            f"pressure-low-{code}",
            f"The {name} bag would be at {{value}}, below its least pressure of {{limit}}: "
            "never tow like this, the bag can fold and tear.",
            "maker's limit of the bag",
            pressures | {"limit": (bag.least_pressure, "pressure")},
        )
    if height <= bag.height[0] + HEIGHT_SLACK:
        yield Finding(
            "caution",
            f"bag-height-low-{code}",
            f"The {name} bag is down at {{limit}}, the lowest height of its chart: the bump stop is next. Raise it.",
            "chart of the bag",
            heights | {"limit": (bag.height[0], "length")},
        )
    if height >= bag.height[-1] - HEIGHT_SLACK:
        yield Finding(
            "caution",
            f"bag-height-high-{code}",
            f"The {name} bag is up at {{limit}}, the greatest height of its chart: it must not be stretched. Lower it.",
            "chart of the bag",
            heights | {"limit": (bag.height[-1], "length")},
        )
    if bag.load_rating is not None:
        yield from _over(
            f"bag-load-{code}",
            f"The {name} bag carries {{value}}, {{over}} over its rating of {{limit}}: take load off. {AIR}",
            load,
            bag.load_rating,
            "load",
            "maker's limit of the bag",
        )


def _hitch(setup: Setup, answer: Answer) -> Iterator[Finding]:
    """Hitch, receiver and trailer against their labels, and the tongue against good practice."""
    trailer, hitch = setup.trailer, setup.hitch
    if trailer is None or hitch is None:
        return
    gross, tongue = trailer.weight * G, trailer.tongue_share * trailer.weight * G
    yield from _over(
        "tongue-rating",
        "The tongue weighs {value}, {over} over the hitch's tongue rating of {limit}: "
        "move load back on the trailer or use a stronger hitch.",
        tongue,
        hitch.tongue_rating * G,
        "load",
        "label of the hitch; the lowest rating of ball, mount, hitch and truck governs",
    )
    yield from _over(
        "trailer-rating",
        "The trailer weighs {value}, {over} over the hitch's trailer rating of {limit}: tow a lighter trailer.",
        gross,
        hitch.trailer_rating * G,
        "load",
        "label of the hitch; the lowest rating of ball, mount, hitch and truck governs",
    )
    yield from trailer_findings(trailer, answer.trailer_axle_load)
    yield from _bias_on_ball(setup, hitch)


def trailer_findings(trailer: Trailer, axle_load: float) -> Iterator[Finding]:
    """Yield what a trailer's own labels and good practice say of it, with a load on its axles. [N]"""
    yield from _trailer(trailer, trailer.weight * G, axle_load)
    yield from _tongue_ratio(trailer, trailer.tongue_share)


def _trailer(trailer: Trailer, gross: float, axle_load: float) -> Iterator[Finding]:
    """The trailer against its own labels; its load taken as even over its axles."""
    one_axle = axle_load / trailer.axle_count
    yield from _over(
        "trailer-gvwr",
        "The trailer weighs {value}, {over} over its own GVWR of {limit}: take load off it.",
        gross,
        trailer.gvwr * G,
        "load",
        "rating label of the trailer",
    )
    yield from _over(
        "trailer-axle",
        "Each axle of the trailer carries {value}, {over} over its rating of {limit}: "
        "take load off, or move it forward if the tongue can take it.",
        one_axle,
        trailer.axle_rating * G,
        "load",
        "rating label of the trailer's axles",
    )
    if trailer.tyre_load_rating is not None:
        sides = wheel_sides(axle_load, gross, trailer.side_share)
        side = SIDES[int(sides[0] < sides[1])]
        yield from _over(
            "trailer-tyre",
            f"Each {side} tyre of the trailer carries {{value}}, {{over}} over its rating of {{limit}}: "
            "shift load across or take it off.",
            float(sides.max()) / trailer.axle_count / trailer.tyres_per_side,
            trailer.tyre_load_rating * G,
            "load",
            TYRE_SOURCE,
        )


def _tongue_ratio(trailer: Trailer, ratio: float) -> Iterator[Finding]:
    """Too light a tongue sways, too heavy a one loads the truck."""
    least, greatest = TONGUE_RANGES[trailer.coupling]
    source = "common practice" if trailer.coupling != "ball" else "Iowa State University Extension, 28 June 2017"
    amounts: Amounts = {"value": (ratio, "share"), "least": (least, "share"), "greatest": (greatest, "share")}
    if ratio < least - SMALL:
        yield Finding(
            "caution",
            "tongue-ratio-low",
            "The tongue carries {value} of the trailer, under the usual {least} to {greatest}: "
            "a light tongue sways. Move load forward on the trailer.",
            source,
            amounts | {"limit": (least, "share")},
        )
    if ratio > greatest + SMALL:
        yield Finding(
            "caution",
            "tongue-ratio-high",
            "The tongue carries {value} of the trailer, over the usual {least} to {greatest}: "
            "move load back on the trailer.",
            source,
            amounts | {"limit": (greatest, "share")},
        )


def _bias_on_ball(setup: Setup, hitch: Hitch) -> Iterator[Finding]:
    """A coupling that swivels passes no side moment, so a bias of the hitch load leans nothing here."""
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
