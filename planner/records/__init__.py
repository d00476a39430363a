"""What a person writes down: trucks, trailers, profiles and readings, checked against themselves and each other."""

from planner.records.bag import Bag
from planner.records.base import Record
from planner.records.brief import Brief
from planner.records.corners import CORNERS
from planner.records.couplings import Coupling
from planner.records.paths import nearest
from planner.records.problems import BadInput, Problem, problems_of, read_record
from planner.records.profile import Cargo, Hitching, Pressures, Profile, Stance, check_together
from planner.records.reading import CornerReading, Reading
from planner.records.trailer import DeckItem, Trailer
from planner.records.truck import Air, Axle, Hitch, Instruments, Kerb, LineLengths, Plumbing, Suspension, Truck, Tyres

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
