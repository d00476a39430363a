"""The trailer by itself from the left side, to scale: what is on it, where it presses; and the same in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from planner.plans.trailer_deck import DeckPlan, Slide
from planner.records import DeckItem, Trailer
from planner.show.drawings import body_shapes
from planner.show.drawings.body import NECK, TrailerPose
from planner.show.drawings.cargo import MOST_NAMED, box_half
from planner.show.drawings.dimensioning import GROUND, arrow, chain, crossed_box, dimension, ground
from planner.show.drawings.elevation import LEFT, Elevation, standing_height, trailer_side
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import (
    MARGIN,
    SMALL,
    WIDTH,
    Drawing,
    clean,
    document,
    hatch,
    line,
    number,
    shorten,
    tag,
    text,
    text_width,
)
from planner.show.text.numbers import say
from planner.show.text.words import COUPLING_PARTS
from planner.units.quantity import System

RIGHT: Final = 12.0
AHEAD: Final = 0.25  # [m] drawn ahead of the coupling
LINE: Final = 18.0  # from one line of text to the next
ROW: Final = 28.0  # from one length to the next
GAP: Final = 10.0  # between texts in one row
BESIDE: Final = 4.0  # from a leader to its name
NAME: Final = 190.0  # room for a name with its weight
UNDER: Final = 16.0  # size of a load
SHORTEST: Final = 12.0  # length of an arrow with no load
LONGEST: Final = 34.0  # and with all the weight
PATTERN: Final = "deck-ground"
NOTE: Final = "To scale; deck, wheels, load heights sketched."
ITSELF: Final = 0.002  # [m] less than this is where it should be


@dataclass(frozen=True)
class PlacedItem:
    """An item on the paper: its box, and its name in a row above."""

    said: str
    x: float
    foot: float  # height it stands on [m]
    half: float
    left: float  # of the name
    right: float
    row: int


def deck_side(plan: DeckPlan, system: System) -> Drawing:
    """Return a trailer from the left side to scale with what is on it, and its loads as arrows that grow with them."""
    pose = TrailerPose.alone(plan.trailer)
    paper, items = _laid_out(plan, pose, system)
    foot, bottom = _foot(plan, paper, system)
    body = [
        ground(0, WIDTH, paper.ground, PATTERN),
        *trailer_side(pose, paper),
        *_items(items, paper),
        *_coupling(plan, paper, system),
        *_centre(plan, pose, paper),
        *foot,
    ]
    title = "The trailer from the side"
    return document("deck-side", bottom, title, _alt(plan, system), body, [hatch(PATTERN, LIGHT.ground)])


def loads_words(plan: DeckPlan, system: System) -> str:
    """Return what presses where: "864 lb on the ball, 12 % of 7,200 lb; 6,336 lb on 2 axles, 3,168 lb each"."""
    part = COUPLING_PARTS[plan.trailer.coupling]
    tongue, gross = say(plan.tongue_load, "load", system), say(plan.gross, "weight", system)
    axles = f"{say(plan.axle_load, 'load', system)} {axles_words(plan, system)}"
    return f"{tongue} on the {part}, {say(plan.tongue_ratio, 'share', system)} of {gross}; {axles}"


def axles_words(plan: DeckPlan, system: System) -> str:
    """Return on how many axles a load is, and how much that is for each."""
    count = plan.trailer.axle_count
    return "on the axle" if count == 1 else f"on {count} axles, {say(plan.one_axle, 'load', system)} each"


def centre_words(plan: DeckPlan, system: System) -> str:
    """Return where the centre of mass is, from axles and centre line."""
    ahead, left = plan.centre
    side = "" if abs(left) < ITSELF else f", {say(abs(left), 'length', system)} {'left' if left > 0 else 'right'}"
    return f"centre of mass {say(ahead, 'length', system)} ahead of the axle centre{side}"


def slide_words(slide: Slide, system: System) -> str:
    """Return what to do for a wanted tongue ratio, or why it cannot be had that way."""
    item, wanted = clean(slide.item), say(slide.wanted, "share", system)
    if abs(slide.by) < ITSELF:
        return f"{item} is where it should be for {wanted}."
    way = "ahead" if slide.by > 0 else "back"
    if slide.possible:
        return (
            f"Slide {item} {say(abs(slide.by), 'length', system)} {way} for {wanted}: "
            f"to {place_words(slide.ahead, system)}."
        )
    end = "at the coupling" if slide.furthest > 0 else "as far behind the axles as the coupling is ahead"
    share = say(slide.nearest, "share", system)
    return (
        f"Sliding {item} alone does not give {wanted}: "
        f"it would have to go {say(abs(slide.by), 'length', system)} {way}. "
        f"{end[0].upper()}{end[1:]} it gives {share}. Move something heavier, or more than one."
    )


def place_words(ahead: float, system: System) -> str:
    """Return a place along the trailer: "38.2 in ahead of the axle centre"."""
    return f"{say(abs(ahead), 'length', system)} {'ahead of' if ahead >= 0 else 'behind'} the axle centre"


def centre_mark(x: float, y: float, cls: str = "centre", radius: float = 7.0) -> str:
    """Return the mark of a centre of mass: a circle in quarters, two of them filled."""
    quarters = "".join(
        f"M{number(x)} {number(y)}h{number(s * radius)}A{number(radius)} {number(radius)} 0 0 0 {number(x)} "
        f"{number(y - s * radius)}Z"
        for s in (1, -1)
    )
    ring = tag(
        "circle", cx=x, cy=y, r=radius, fill=LIGHT.paper, stroke=LIGHT.ink, stroke_width=1.6, cls=cls
    )  # on paper, so that it reads over a box
    return ring + tag("path", d=quarters, fill=LIGHT.ink)


def _laid_out(plan: DeckPlan, pose: TrailerPose, system: System) -> tuple[Elevation, list[PlacedItem]]:
    """Return the scale at which everything fits the width, and the items with their names above."""
    length = pose.axle_distance
    behind = [length - float(item.ahead) for item in plan.trailer.deck]
    front, rear = min([-AHEAD, *behind]), max([pose.end, *behind])
    scale = (WIDTH - LEFT - RIGHT) / (rear - front)
    paper = Elevation(scale, -front, 0.0)
    items = _standing(plan.trailer, pose, paper, behind, system)
    tops = [(pose.height + (2 * NECK if pose.necked else NECK)) * scale]
    tops += [one.foot * scale + 2 * one.half for one in items]
    rows = 1 + max((one.row for one in items), default=-1)
    return Elevation(scale, -front, 14.0 + rows * LINE + (10.0 if rows else 0.0) + max(tops)), items


def _standing(
    trailer: Trailer, pose: TrailerPose, paper: Elevation, behind: list[float], system: System
) -> list[PlacedItem]:
    """Return the items with their names beside their leaders, outermost lowest, so that no leader crosses a name."""
    places = [paper.x(-distance) for distance in behind]
    said = [_name(n, item, len(behind) > MOST_NAMED, system) for n, item in enumerate(trailer.deck)]
    widths = [text_width(words, SMALL) for words in said]
    middle = sorted(places)[(len(places) - 1) // 2] if places else 0.0
    to_left = [_goes_left(x, width, x <= middle) for x, width in zip(places, widths, strict=True)]
    along = sorted(range(len(places)), key=lambda n: places[n])
    placed: list[PlacedItem] = []
    for n in [*(n for n in along if to_left[n]), *(n for n in reversed(along) if not to_left[n])]:
        x, width = places[n], widths[n]
        left = _shifted(x - BESIDE - width if to_left[n] else x + BESIDE, width)
        foot, half = standing_height(pose, behind[n]), box_half(float(trailer.deck[n].weight))
        placed.append(PlacedItem(said[n], x, foot, half, left, left + width, _row(placed, x, left, left + width)))
    return placed


def _goes_left(x: float, width: float, wanted: bool) -> bool:
    """Tell whether a name stands left of its leader: as wanted, where there is room."""
    if x - BESIDE - width < MARGIN:
        return False
    return wanted or x + BESIDE + width > WIDTH - MARGIN


def _row(placed: list[PlacedItem], x: float, left: float, right: float) -> int:
    """Return the lowest row in which a name is on no other, and over the leaders that it spans."""
    over = [one.row + 1 for one in placed if left - GAP <= one.x <= right + GAP or one.left <= x <= one.right]
    row = max(over, default=0)
    while any(one.row == row and left < one.right + GAP and one.left < right + GAP for one in placed):
        row += 1
    return row


def _name(n: int, item: DeckItem, numbered: bool, system: System) -> str:
    """Return what stands above an item: name and weight, or its number in the list beside the other drawing."""
    if numbered:
        return str(n + 1)
    weight = say(float(item.weight), "weight", system)
    return f"{shorten(clean(item.name), SMALL, NAME - text_width(weight, SMALL))} {weight}"


def _items(items: list[PlacedItem], paper: Elevation) -> Iterator[str]:
    """Leaders, boxes, then names, so that a leader passes behind a name."""
    top = {one.row: 14.0 + (max(other.row for other in items) - one.row) * LINE for one in items}
    for one in items:
        yield line(one.x, top[one.row] - 10, one.x, paper.y(one.foot) - one.half, LIGHT.ochre, 1.0)
    for one in sorted(items, key=lambda one: -one.half):
        yield crossed_box(one.x, paper.y(one.foot) - one.half, one.half)
    for one in items:
        yield text(one.said, one.left, top[one.row], LIGHT.ochre, halo=LIGHT.paper)


def _coupling(plan: DeckPlan, paper: Elevation, system: System) -> Iterator[str]:
    """The coupling, and how high it is."""
    height = float(plan.trailer.coupling_height)
    x, y = paper.at(0.0, height)
    yield dimension(x, paper.ground, x, y, LIGHT.soft)
    if plan.trailer.coupling == "fifth_wheel":
        yield line(x - 8, y, x + 8, y, LIGHT.ink, 4.0)
    else:
        yield tag("circle", cx=x, cy=y, r=3.6, fill=LIGHT.ink, stroke=LIGHT.paper, stroke_width=1.0, cls="hitch")
    yield text(say(height, "length", system), x + 8, (y + paper.ground) / 2 + 5, LIGHT.soft, halo=LIGHT.paper)


def _centre(plan: DeckPlan, pose: TrailerPose, paper: Elevation) -> Iterator[str]:
    """The centre of mass: as high as its owner says, else on the deck."""
    ahead, trailer = plan.centre[0], plan.trailer
    behind = pose.axle_distance - ahead
    height = standing_height(pose, behind)
    if trailer.centre_height is not None:
        height = body_shapes.TRAILER_WHEEL + float(trailer.centre_height)
    x, y = paper.at(-behind, height)
    yield chain(x, y, x, paper.ground + GROUND + 2)
    yield centre_mark(x, y)


def _foot(plan: DeckPlan, paper: Elevation, system: System) -> tuple[list[str], float]:
    """Return what stands below the ground, and where it ends: loads as arrows, lengths, the note."""
    length, y = float(plan.trailer.axle_distance), paper.ground + GROUND + 3.0
    lines, y = _arrows(plan, paper, y, system)
    for start, end in ((0.0, -length), (plan.centre[0] - length, -length)):
        if abs(start - end) * paper.scale > 2.0:
            lines.append(dimension(paper.x(start), y, paper.x(end), y, LIGHT.soft))
            lines.append(_under(say(start - end, "length", system), paper.x((start + end) / 2), y + 16, LIGHT.soft))
            y += ROW
    lines.append(text(NOTE, MARGIN, y + 10, LIGHT.soft))
    return lines, y + 21.0


def _arrows(plan: DeckPlan, paper: Elevation, top: float, system: System) -> tuple[list[str], float]:
    """Return the loads on coupling and axles as arrows with their numbers under them, and where these end."""
    part, length = COUPLING_PARTS[plan.trailer.coupling], float(plan.trailer.axle_distance)
    lines, total = list[str](), plan.tongue_load + plan.axle_load
    shown = (
        (0.0, plan.tongue_load, f"on the {part}"),
        (-length, plan.axle_load, axles_words(plan, system)),
    )
    free, y = -1e9, top + LONGEST + 18
    for x, load, words in shown:
        at, long = paper.x(x), SHORTEST + (LONGEST - SHORTEST) * load / total
        width = max(text_width(words, SMALL), text_width(say(load, "load", system), UNDER, bold=True))
        if _shifted(at - width / 2, width) < free + GAP:
            y += 2 * LINE
        free = _shifted(at - width / 2, width) + width
        lines += [line(at, top, at, y - 18, LIGHT.ground, 1.0), line(at, top, at, top + long, LIGHT.ink, 2.4)]
        lines.append(arrow(at, top + long, 1.5707963, LIGHT.ink, 2.0))
        lines.append(_under(say(load, "load", system), at, y, LIGHT.ink, size=UNDER, bold=True, width=width))
        lines.append(_under(words, at, y + LINE, LIGHT.soft, width=width))
    return lines, y + LINE + 16


def _shifted(left: float, width: float) -> float:
    """Return where a text of a width begins, shifted as little as keeps it on the paper."""
    return min(max(MARGIN, left), WIDTH - MARGIN - width)


def _under(
    words: str, x: float, y: float, fill: str, *, size: float = SMALL, bold: bool = False, width: float | None = None
) -> str:
    """Return a text about a place, shifted to stay on the paper."""
    room = text_width(words, size, bold=bold) if width is None else width
    return text(words, _shifted(x - room / 2, room) + room / 2, y, fill, size=size, anchor="middle", bold=bold)


def _alt(plan: DeckPlan, system: System) -> str:
    """Return the drawing in words."""
    height, words = say(float(plan.trailer.coupling_height), "length", system), centre_words(plan, system)
    on_deck = ", ".join(clean(item.name) for item in plan.trailer.deck)
    said = [f"{clean(plan.trailer.name)} from the left side, level on the ground."]
    said.append(f"{loads_words(plan, system)}.")
    said.append(f"{COUPLING_PARTS[plan.trailer.coupling]} {height} above ground.".capitalize())
    said.append(f"{words[0].upper()}{words[1:]}.")
    if on_deck:
        said.append(f"On it: {on_deck}.")
    return " ".join([*said, NOTE])
