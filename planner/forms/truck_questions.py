"""The questions that a truck's form asks, in their order: what stands on paper, then what a tape and a look tell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from planner.forms.truck_links import link_keys
from planner.plans.answer import CORNERS
from planner.records import Hitch, Truck

AXLES: Final = ("front", "rear")
ABOARD: Final = "aboard"  # who was in it on the scale: aboard.driver, aboard.fuel tank
FUEL: Final = "fuel tank"
BEHIND: Final = "behind"  # of a hitch: how far behind the rear axle
SIZE: Final = "tyres.size"
TWINS: Final = "tyres.per_side"
BAR: Final = "bar"  # whether an axle has an anti-roll bar
CHART: Final = "bag.chart"  # the file that an axle's bag has its chart from
TABLE: Final = "bag.table"  # or the chart itself, as it is printed or pasted
BAG_KEYS: Final = (CHART, TABLE, "bag.fitted_height", "bag.least_pressure", "bag.greatest_pressure", "bag.load_rating")
AIR_CHART: Final = "air.chart"  # the compressor's, as its data sheet has it
AIR_DEMANDS: Final = "air.demands"  # the other users of the tank
AIR_KEYS: Final = (
    "air.tank_volume",
    "air.cut_in",
    "air.cut_out",
    AIR_CHART,
    "air.duty",
    *(f"air.line_length.{corner}" for corner in CORNERS),
    "air.line_bore",
    AIR_DEMANDS,
)
AIR_ASKED: Final = "What air is aboard? (optional)"
AIR_WHERE: Final = "Tank, pressure switch, compressor and lines: without them, times and cycles are typical ones."
LINKS_ASKED: Final = "What holds the rear axle? (optional)"
LINKS_WHERE: Final = (
    "On links it moves as the ride height does. On level ground at ride height, to the centres of bolts and joints: "
    "ahead of the rear axle; left of the centre line; above ground. The left side; the right is its mirror image. "
    "A driveshaft, shock or hose counts once its first end is given."
)


@dataclass(frozen=True)
class Question:
    """One question of the guided start.

    Attributes
    ----------
    name : how an address calls it
    heading : the question
    where : where the answer is read or measured
    keys : the fields it asks for, in their order
    """

    name: str
    heading: str
    where: str
    keys: tuple[str, ...]


def questions(truck: Truck) -> tuple[Question, ...]:
    """Return the questions to ask of a truck, in their order."""
    bags = [axle for axle in AXLES if getattr(truck, axle).bag is not None]
    hitches, links = range(len(truck.hitches)), link_keys(truck)
    found = (
        Question(
            "label",
            "What does the door label say?",
            "It is on the driver's door or its frame. GCWR is in the owner's manual: leave it if you have none.",
            ("gvwr", *_each("gawr"), *_each("tyres.cold_pressure"), "gcwr"),
        ),
        Question(
            "tyres",
            "Which tyres are on it?",
            "Copy the size from the sidewall, with the load index behind it if there is one.",
            (*_each(SIZE), *_each("tyres.per_side"), *_each("tyres.load_rating")),
        ),
        Question(
            "slip",
            "What does it weigh alone?",
            "From a scale, no trailer and no cargo, axle by axle. Say who and what was aboard.",
            ("kerb.front_axle", "kerb.rear_axle", f"{ABOARD}.driver", f"{ABOARD}.{FUEL}", "kerb.left_share"),
        ),
        Question(
            "build",
            "What is it built of?",
            "Look at each axle from behind: what carries it, and is each bag on a line of its own?",
            tuple(sorted((key for axle in AXLES for key in _build_keys(truck, axle)), key=_by_name)),
        ),
        Question(
            "bags",
            "Which bags are on it?",
            "From the maker's chart. Fitted height is from plate to plate when the truck stands at ride height.",
            tuple(f"{axle}.{name}" for name in BAG_KEYS for axle in bags),
        ),
        Question(
            "tape",
            "What does the tape say?",
            "On level ground, the truck as you want it to stand.",
            ("wheelbase", *_each("track"), *_each("ride_height")),
        ),
        Question(
            "hitch",
            "Where does a trailer couple?",
            "On level ground, at kerb weight. Ratings are on the plate of the hitch, and the lowest one counts.",
            tuple(f"hitches.{n}.{name}" for n in hitches for name in hitch_keys(truck.hitches[n])),
        ),
    )
    return (
        *found,
        *([Question("air", AIR_ASKED, AIR_WHERE, air_keys(truck))] if bags else []),
        *([Question("links", LINKS_ASKED, LINKS_WHERE, links)] if links else []),
    )


def hitch_keys(hitch: Hitch) -> tuple[str, ...]:
    """Return what is asked of a hitch."""
    ball = ("ball_diameter",) if hitch.coupling in ("ball", "gooseneck") else ()
    head = ("roll_coupling",) if hitch.coupling == "fifth_wheel" else ()  # not each of them tilts sideways
    return "name", "coupling", BEHIND, "height", *ball, *head, "tongue_rating", "trailer_rating"


def air_keys(truck: Truck) -> tuple[str, ...]:
    """Return what is asked of the air supply: the lines of axles with bags, and all the rest."""
    steel = [f"air.line_length.{axle}_" for axle in AXLES if getattr(truck, axle).bag is None]
    return tuple(key for key in AIR_KEYS if not key.startswith(tuple(steel)))


def _each(name: str) -> tuple[str, ...]:
    """Return the key of a field at the front and the rear axle."""
    return tuple(f"{axle}.{name}" for axle in AXLES)


def _by_name(key: str) -> int:
    """Return where a field of how an axle is built stands, the front one before the rear one."""
    return ("suspension", "built", "plumbing", BAR, "spring_spacing", "motion_ratio", "anti_roll_rate").index(
        key.rpartition(".")[2]
    )


def _build_keys(truck: Truck, name: str) -> tuple[str, ...]:
    """Return what is asked of how an axle is built."""
    axle = getattr(truck, name)
    keys = ["suspension", "built", *([] if axle.bag is None else ["plumbing"]), BAR]
    keys += ["spring_spacing"] if axle.suspension == "solid" else []
    keys += ["anti_roll_rate"] if axle.anti_roll_rate else []
    return tuple(f"{name}.{key}" for key in (*keys, "motion_ratio"))
