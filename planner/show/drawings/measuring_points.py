"""Where on a truck each question of its form is read or measured, to scale from what is known of it so far."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final, NamedTuple

from planner.plans.answer import Answer
from planner.plans.setup import Setup
from planner.plans.typical_air import with_typical_air
from planner.records import Axle, Hitch
from planner.show.drawings import body_shapes
from planner.show.drawings.body import RAIL, ROOF, Pose
from planner.show.drawings.dimensioning import GROUND, arrow, chain, dimension, ground
from planner.show.drawings.elevation import LEFT, Elevation, outline, wheel
from planner.show.drawings.linkage import link_ends
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.springs import bellows, coil, leaf_end
from planner.show.drawings.svg import MARGIN, WIDTH, Drawing, document, hatch, line, shape, tag, text
from planner.show.text.numbers import say
from planner.show.text.words import COUPLING_PARTS
from planner.units.quantity import System, display

RIGHT: Final = 34.0
HEAD: Final = 34.0
PATTERN: Final = "where-ground"
NOTE: Final = "To scale; the bodies are sketched."
ACROSS: Final = 250.0  # width of an axle from behind
BELOW_AXLE: Final = 64.0  # from the top of one axle's tyres to the next one's, less their height

Part = Iterator[str]


class Scene(NamedTuple):
    """What is drawn: the truck alone as it stands, and in which units."""

    setup: Setup
    answer: Answer
    system: System

    @property
    def axles(self) -> tuple[tuple[str, Axle], tuple[str, Axle]]:
        """Both axles by name."""
        return ("front", self.setup.truck.front), ("rear", self.setup.truck.rear)


def draw_where(question: str, setup: Setup, answer: Answer, system: System) -> Drawing:
    """Return where the answer to a question is found on the truck.

    Parameters
    ----------
    question : by its name in the form: label, tyres, slip, build, bags, tape, hitch, air or links
    setup, answer : the truck alone, and how it stands
    system : "us" or "metric"

    Returns
    -------
    Drawing
        400 wide, to scale.
    """
    if question == "links" and setup.truck.rear.linkage is not None:
        return link_ends(setup.truck, system)
    title, said, draw = _DRAWN[question]
    body, bottom = draw(Scene(setup, answer, system))
    body.append(text(NOTE, MARGIN, bottom + 12, LIGHT.soft))
    return document(f"where-{question}", bottom + 22, title, f"{said} {NOTE}", body, [hatch(PATTERN, LIGHT.ground)])


def _from_the_side(scene: Scene, behind: float = 0.0) -> tuple[list[str], Elevation, Pose]:
    """Return the truck from the left, its paper, and how it stands; with room behind its tail [m]."""
    setup, answer, _ = scene
    pose, ends = Pose.of(setup, answer), body_shapes.body(setup.truck)
    scale = (WIDTH - LEFT - RIGHT) / (ends.nose - min(ends.tail, behind))
    paper = Elevation(scale, ends.nose, HEAD + pose.height(ROOF) * scale)
    body = [ground(0, WIDTH, paper.ground, PATTERN), *outline(setup, pose, paper)]
    for k, (_, x) in enumerate(body_shapes.axles(setup.truck)):
        centre = float(pose.wheels[k].mean())
        body += wheel(*paper.at(x, centre), centre * scale, "wheel")
    return body, paper, pose


def _label(scene: Scene) -> tuple[list[str], float]:
    """Return the plate on the frame of the driver's door."""
    setup, _, system = scene
    body, paper, pose = _from_the_side(scene)
    cab = body_shapes.cab_back(setup.truck)
    pillar = (float(setup.truck.wheelbase) + cab) / 2.0
    x, y = paper.at(pillar, pose.height(RAIL) - 0.1)
    body.append(
        tag("rect", x=x - 6, y=y - 4, width=12, height=8, fill=LIGHT.ochre_wash, stroke=LIGHT.ochre, stroke_width=1.6)
    )
    body.append(line(x, y - 4, x, 18, LIGHT.ochre, 1.0))
    words = f"door label: GVWR, now {say(float(setup.truck.gvwr), 'weight', system)}; GAWR of each axle"
    body.append(text(words, WIDTH / 2, 14, LIGHT.ink, anchor="middle"))
    return body, paper.ground + GROUND


def _slip(scene: Scene) -> tuple[list[str], float]:
    """Return what the scale reads under each axle."""
    setup, _, system = scene
    body, paper, _ = _from_the_side(scene)
    y = paper.ground + GROUND
    for (_, x), weight in zip(
        body_shapes.axles(setup.truck), (setup.truck.kerb.front_axle, setup.truck.kerb.rear_axle), strict=True
    ):
        at = paper.x(x)
        body.append(shape([(at - 30, y), (at + 30, y), (at + 30, y + 5), (at - 30, y + 5)], LIGHT.ink, width=1.2))
        body.append(line(at, y + 5, at, y + 24, LIGHT.ink, 1.4) + arrow(at, y + 6, -1.5708, LIGHT.ink, 1.4))
        body.append(text(say(float(weight), "weight", system), at + 8, y + 22, LIGHT.ink))
    return body, y + 26


def _tape(scene: Scene) -> tuple[list[str], float]:
    """Return wheelbase, and ride heights from wheel centre to arch lip."""
    setup, _, system = scene
    body, paper, pose = _from_the_side(scene)
    for k, (axle, x) in enumerate(body_shapes.axles(setup.truck)):
        low, height = float(pose.level_wheels[k]), float(axle.ride_height)
        at = paper.x(x)
        body.append(dimension(at, paper.y(low), at, paper.y(low + height), LIGHT.soft))
        body.append(line(at, paper.y(low + height), at, HEAD - 14, LIGHT.soft, 0.8))
        body.append(text(f"ride {say(height, 'length', system)}", at, HEAD - 18, LIGHT.ink, anchor="middle"))
    length, y = float(setup.truck.wheelbase), paper.ground + GROUND + 12
    body.append(dimension(paper.x(length), y, paper.x(0.0), y, LIGHT.soft))
    words = f"wheelbase {say(length, 'length', system)}"
    body.append(text(words, (paper.x(length) + paper.x(0.0)) / 2, y + 17, LIGHT.ink, anchor="middle"))
    return body, y + 20


def _hitch(scene: Scene) -> tuple[list[str], float]:
    """Return how far behind the rear axle, or ahead of it, each hitch is, and how high."""
    setup, _, system = scene
    hitches = setup.truck.hitches
    body, paper, _ = _from_the_side(scene, min((float(one.x) for one in hitches), default=0.0) - 0.1)
    y = paper.ground + GROUND + 12
    for one in hitches:
        body += _one_hitch(one, paper, y, system)
        y += 30
    body.append(chain(paper.x(0.0), paper.ground - 60, paper.x(0.0), max(y - 26, paper.ground + 10)))
    return body, y - 8


def _one_hitch(hitch: Hitch, paper: Elevation, y: float, system: System) -> Part:
    """A coupling point with its height above ground and its distance from the rear axle."""
    x, height = float(hitch.x), float(hitch.height)
    at, top = paper.at(x, height)
    yield dimension(at, paper.ground, at, top, LIGHT.soft)
    yield tag("circle", cx=at, cy=top, r=3.6, fill=LIGHT.ink, stroke=LIGHT.paper, stroke_width=1.0, cls="hitch")
    yield dimension(paper.x(0.0), y, at, y, LIGHT.soft)
    way = "behind" if x < 0 else "ahead of"
    part = COUPLING_PARTS[hitch.coupling]
    words = f"{part} {say(height, 'length', system)} high, {say(abs(x), 'length', system)} {way} the rear axle"
    yield text(words, WIDTH - MARGIN, y + 16, LIGHT.ink, anchor="end", halo=LIGHT.paper)


def _air(scene: Scene) -> tuple[list[str], float]:
    """Return tank and valve block under the bed, and the line from the block to the bags of each axle."""
    setup, _, system = scene
    air = with_typical_air(setup.truck).air
    assert air is not None  # it was just put there
    body, paper, pose = _from_the_side(scene)
    y, middle = paper.y(pose.height(RAIL)) + 8.0, paper.x(float(setup.truck.wheelbase) / 2)
    words = []
    for k, (axle, x) in enumerate(body_shapes.axles(setup.truck)):
        if axle.bag is None:
            continue
        at, low = paper.x(x), paper.y(float(pose.wheels[k].mean()))
        body += [line(middle, y, at, y, LIGHT.air, 1.8), line(at, y, at, low, LIGHT.air, 1.8)]
        lengths = [float(getattr(air.line_length, f"{('front', 'rear')[k]}_{side}")) for side in ("left", "right")]
        words.append(f"{('front', 'rear')[k]} {say(max(lengths), 'length', system)}")
    body.append(shape([(middle - 5, y - 5), (middle + 5, y - 5), (middle + 5, y + 5), (middle - 5, y + 5)], LIGHT.ink))
    tank = middle + (paper.x(0.0) - middle) * 0.42
    body.append(
        tag(
            "rect",
            x=tank - 17,
            y=y + 4,
            width=34,
            height=13,
            rx=6,
            fill=LIGHT.paper,
            stroke=LIGHT.air,
            stroke_width=1.6,
        )
    )
    body.append(text("valve block", middle - 9, y + 18, LIGHT.ink, anchor="end", halo=LIGHT.paper))
    size, unit = display(float(air.tank_volume), "volume", system)
    body.append(text(f"tank {size:.3g} {unit}", tank, y + 32, LIGHT.ink, anchor="middle", halo=LIGHT.paper))
    low = paper.ground + GROUND + 16
    body.append(text(f"longest lines: {', '.join(words)}", WIDTH / 2, low, LIGHT.ink, anchor="middle"))
    return body, low + 4


def _tyres(scene: Scene) -> tuple[list[str], float]:
    """Return both wheels with what stands on their sidewalls."""
    system = scene.system
    scale = 62.0 / max(float(axle.tyres.unloaded_radius) for _, axle in scene.axles)
    floor = HEAD + 130.0
    body = [ground(0, WIDTH, floor, PATTERN)]
    for n, (name, axle) in enumerate(scene.axles):
        radius, x = float(axle.tyres.unloaded_radius), WIDTH * (0.25 + 0.5 * n)
        y = floor - radius * scale
        body += wheel(x, y, radius * scale, "wheel")
        body.append(dimension(x, y, x, y - radius * scale, LIGHT.soft))
        body.append(text(name, x, 14, LIGHT.soft, anchor="middle"))
        body.append(text(axle.tyres.size or "size: on the sidewall", x, 30, LIGHT.ink, anchor="middle"))
        body.append(text(say(radius, "length", system), x + 6, y - radius * scale * 0.7, LIGHT.ink, halo=LIGHT.paper))
        words = (
            f"{say(float(axle.tyres.load_rating), 'weight', system)} each{', dual' if axle.tyres.per_side == 2 else ''}"
        )
        body.append(text(words, x, floor + GROUND + 16, LIGHT.ink, anchor="middle"))
    return body, floor + GROUND + 20


def _build(scene: Scene) -> tuple[list[str], float]:
    """Return both axles from behind: what carries them, and how far apart."""
    system = scene.system
    body: list[str] = []
    top = 4.0
    for name, axle in scene.axles:
        body += _axle_from_behind(name, axle, top, system)
        top += 2 * float(axle.tyres.unloaded_radius) * _axle_scale(axle) + BELOW_AXLE
    return body, top - 14


def _axle_scale(axle: Axle) -> float:
    """Return the scale at which an axle from behind fits. [1/m]"""
    return ACROSS / (2 * body_shapes.outer_half_width(axle))


def _axle_from_behind(name: str, axle: Axle, top: float, system: System) -> Part:
    """An axle from behind: tyres, tube or arms, springs, track and spacing."""
    scale = _axle_scale(axle)
    radius, width = float(axle.tyres.unloaded_radius) * scale, body_shapes.tyre_width(axle) * scale
    y, middle = top + 20 + radius, WIDTH / 2
    half = float(axle.track) / 2 * scale
    if axle.suspension == "solid":
        yield line(middle - half, y, middle + half, y, LIGHT.ink, 4.0)
    else:
        for side in (-1, 1):
            yield line(middle + side * half, y, middle + side * 0.3 * half, y + 6, LIGHT.ink, 3.0)
            yield tag("circle", cx=middle + side * 0.3 * half, cy=y + 6, r=3, fill=LIGHT.paper, stroke=LIGHT.ink)
    for place in body_shapes.tyre_places(axle):
        x = middle - place * scale
        yield tag(
            "rect", x=x - width / 2, y=y - radius, width=width, height=2 * radius, rx=min(6.0, width / 3),
            fill=LIGHT.paper, stroke=LIGHT.ink, stroke_width=2.0, cls="tyre",
        )  # fmt: skip
    spacing = body_shapes.spring_half_spacing(axle) * scale
    for side in (-1, 1):
        yield _spring(axle, middle + side * spacing, y - 3, scale)
    low = y + radius + 10
    yield dimension(middle - half, low, middle + half, low, LIGHT.soft)
    words = f"track {say(float(axle.track), 'length', system)}"
    if axle.suspension == "solid" and axle.spring_spacing is not None:
        high = y - radius - 6
        yield dimension(middle - spacing, high, middle + spacing, high, LIGHT.soft)
        words += f", springs {say(float(axle.spring_spacing), 'length', system)} apart"
    yield text(words, middle, low + 17, LIGHT.ink, anchor="middle")
    yield text(name, MARGIN, y, LIGHT.ink, bold=True)
    yield text(axle.built or "", WIDTH - MARGIN, y + radius + 14, LIGHT.soft, anchor="end")


def _spring(axle: Axle, x: float, y: float, scale: float) -> str:
    """Return what carries an axle at one side: steel, a bag, or both beside each other."""
    steel = axle.bag is None or float(axle.steel_load) > 0
    parts = []
    if axle.bag is not None:
        size = float(axle.bag.fitted_height) * scale
        parts.append(bellows(x, y, size, body_shapes.bag_radius(axle) * scale))
    if steel and (axle.suspension == "solid" and axle.built != "bag with coil"):
        parts.append(leaf_end(x, y + 14, scale))
    elif steel:
        parts.append(coil(x, y, 0.22 * scale, 0.07 * scale))
    return "".join(parts)


def _links(scene: Scene) -> tuple[list[str], float]:
    """Return the rear axle from behind: what stands on it, as long as nothing is known of its links."""
    name, axle = scene.axles[1]
    body = list(_axle_from_behind(name, axle, 4.0, scene.system))
    return body, 2 * float(axle.tyres.unloaded_radius) * _axle_scale(axle) + BELOW_AXLE - 10


def _bags(scene: Scene) -> tuple[list[str], float]:
    """Return a bag of each axle between its plates, at fitted height."""
    system = scene.system
    axles = [(name, axle) for name, axle in scene.axles if axle.bag]
    body: list[str] = []
    tallest = max((float(axle.bag.fitted_height) for _, axle in axles if axle.bag), default=0.15)
    scale = 84.0 / max(tallest, 0.1)
    floor = HEAD + 92.0
    for n, (name, axle) in enumerate(axles):
        assert axle.bag is not None
        x, height = WIDTH * (0.28 + 0.46 * n), float(axle.bag.fitted_height) * scale
        half = body_shapes.bag_radius(axle) * scale
        body.append(bellows(x, floor, height, half))
        body += [line(x - half - 10, y, x + half + 30, y, LIGHT.ink, 1.4) for y in (floor, floor - height)]
        body.append(dimension(x + half + 22, floor, x + half + 22, floor - height, LIGHT.soft))
        fitted = say(float(axle.bag.fitted_height), "length", system)
        body.append(text(fitted, x + half + 28, floor - height / 2 + 5, LIGHT.ink, halo=LIGHT.paper))
        body.append(text(f"{name}, plate to plate", x, 16, LIGHT.ink, anchor="middle"))
    return body, floor + 8


_DRAWN: Final[dict[str, tuple[str, str, Callable[[Scene], tuple[list[str], float]]]]] = {
    "label": ("The door label", "The truck from the left: the label is on the frame of the driver's door.", _label),
    "tyres": ("The tyres", "Front and rear tyre: the size stands on the sidewall.", _tyres),
    "slip": ("On the scale", "The truck from the left, each axle on the scale.", _slip),
    "build": ("How it is built", "Both axles from behind: what carries each of them.", _build),
    "bags": ("The bags", "A bag of each axle: fitted height is from plate to plate.", _bags),
    "tape": ("By the tape", "The truck from the left: ride height is from wheel centre to arch lip.", _tape),
    "hitch": (
        "The hitches",
        "The truck from the left: each coupling's height and distance from the rear axle.",
        _hitch,
    ),
    "air": (
        "The air",
        "The truck from the left: tank, valve block and the line from it to the bags of each axle.",
        _air,
    ),
    "links": ("The rear axle", "The rear axle from behind.", _links),
}
