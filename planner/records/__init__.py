"""What a person writes down: trucks, trailers, profiles and readings, checked against themselves and each other."""

from typing import TYPE_CHECKING

from planner.late import late

if TYPE_CHECKING:
    from planner.records.bag import Bag
    from planner.records.base import Record
    from planner.records.brief import Brief
    from planner.records.corners import CORNERS
    from planner.records.couplings import Coupling
    from planner.records.faults import BadInput, Problem
    from planner.records.paths import nearest
    from planner.records.problems import problems_of, read_record
    from planner.records.profile import Cargo, Hitching, Pressures, Profile, Stance, check_together
    from planner.records.reading import CornerReading, Reading
    from planner.records.trailer import DeckItem, Trailer
    from planner.records.truck import (
        Air,
        Axle,
        Hitch,
        Instruments,
        Kerb,
        LineLengths,
        Plumbing,
        Suspension,
        Truck,
        Tyres,
    )

_HOMES = {
    "Bag": "planner.records.bag",
    "Record": "planner.records.base",
    "Brief": "planner.records.brief",
    "CORNERS": "planner.records.corners",
    "Coupling": "planner.records.couplings",
    "nearest": "planner.records.paths",
    **dict.fromkeys(("BadInput", "Problem"), "planner.records.faults"),
    **dict.fromkeys(("problems_of", "read_record"), "planner.records.problems"),
    **dict.fromkeys(
        ("Cargo", "Hitching", "Pressures", "Profile", "Stance", "check_together"), "planner.records.profile"
    ),
    **dict.fromkeys(("CornerReading", "Reading"), "planner.records.reading"),
    **dict.fromkeys(("DeckItem", "Trailer"), "planner.records.trailer"),
    **dict.fromkeys(
        ("Air", "Axle", "Hitch", "Instruments", "Kerb", "LineLengths", "Plumbing", "Suspension", "Truck", "Tyres"),
        "planner.records.truck",
    ),
}
__all__ = [
    "CORNERS",
    "Air",
    "Axle",
    "BadInput",
    "Bag",
    "Brief",
    "Cargo",
    "CornerReading",
    "Coupling",
    "DeckItem",
    "Hitch",
    "Hitching",
    "Instruments",
    "Kerb",
    "LineLengths",
    "Plumbing",
    "Pressures",
    "Problem",
    "Profile",
    "Reading",
    "Record",
    "Stance",
    "Suspension",
    "Trailer",
    "Truck",
    "Tyres",
    "check_together",
    "nearest",
    "problems_of",
    "read_record",
]

__getattr__ = late(__name__, _HOMES)  # the app is listening before pydantic is loaded
