"""What a person writes down: trucks, trailers, profiles and readings, checked against themselves and each other."""

from typing import TYPE_CHECKING

from planner.late import late

if TYPE_CHECKING:
    from planner.errors import BadInput, Problem
    from planner.records.aboard import PlacedCargo, PlacedLoad, PointMass, aboard_change_of, placed
    from planner.records.air_supply import Air, AirDemand, LineLengths
    from planner.records.bag import Bag, BagChart
    from planner.records.base import Record
    from planner.records.corners import CORNERS
    from planner.records.couplings import Coupling
    from planner.records.field_paths import nearest
    from planner.records.file_header import Correlation, Weighing
    from planner.records.linkage import BrakeHose, Driveshaft, Ends, Linkage, Point, Shock
    from planner.records.places import Aboard, Bed, BedLimits, NamedPlace
    from planner.records.problems import problems_of, read_record, record_from
    from planner.records.profile import Cargo, Hitching, Pressures, Profile, Stance, check_together
    from planner.records.reading import CornerReading, Reading
    from planner.records.slip import HitchedWeights, Lever, Slip, TrailerWeights, TruckWeights
    from planner.records.summary import Brief
    from planner.records.trailer import DeckItem, Trailer
    from planner.records.truck import (
        Axle,
        Check,
        Hitch,
        Instruments,
        Kerb,
        Plumbing,
        Suspension,
        Truck,
        Tyres,
    )

_HOMES = {
    **dict.fromkeys(("PlacedCargo", "PointMass", "PlacedLoad", "aboard_change_of", "placed"), "planner.records.aboard"),
    **dict.fromkeys(("Bag", "BagChart"), "planner.records.bag"),
    **dict.fromkeys(("Air", "AirDemand", "LineLengths"), "planner.records.air_supply"),
    "Record": "planner.records.base",
    "Brief": "planner.records.summary",
    "CORNERS": "planner.records.corners",
    "Coupling": "planner.records.couplings",
    "nearest": "planner.records.field_paths",
    **dict.fromkeys(("Correlation", "Weighing"), "planner.records.file_header"),
    **dict.fromkeys(("BrakeHose", "Driveshaft", "Ends", "Linkage", "Point", "Shock"), "planner.records.linkage"),
    **dict.fromkeys(("Aboard", "Bed", "BedLimits", "NamedPlace"), "planner.records.places"),
    **dict.fromkeys(("BadInput", "Problem"), "planner.errors"),
    **dict.fromkeys(("problems_of", "read_record", "record_from"), "planner.records.problems"),
    **dict.fromkeys(
        ("Cargo", "Hitching", "Pressures", "Profile", "Stance", "check_together"), "planner.records.profile"
    ),
    **dict.fromkeys(("CornerReading", "Reading"), "planner.records.reading"),
    **dict.fromkeys(("HitchedWeights", "Lever", "Slip", "TrailerWeights", "TruckWeights"), "planner.records.slip"),
    **dict.fromkeys(("DeckItem", "Trailer"), "planner.records.trailer"),
    **dict.fromkeys(
        ("Axle", "Check", "Hitch", "Instruments", "Kerb", "Plumbing", "Suspension", "Truck", "Tyres"),
        "planner.records.truck",
    ),
}
__all__ = [
    "CORNERS",
    "Aboard",
    "Air",
    "AirDemand",
    "Axle",
    "BadInput",
    "Bag",
    "BagChart",
    "Bed",
    "BedLimits",
    "BrakeHose",
    "Brief",
    "Cargo",
    "Check",
    "CornerReading",
    "Correlation",
    "Coupling",
    "DeckItem",
    "Driveshaft",
    "Ends",
    "Hitch",
    "HitchedWeights",
    "Hitching",
    "Instruments",
    "Kerb",
    "Lever",
    "LineLengths",
    "Linkage",
    "NamedPlace",
    "PlacedCargo",
    "PlacedLoad",
    "Plumbing",
    "Point",
    "PointMass",
    "Pressures",
    "Problem",
    "Profile",
    "Reading",
    "Record",
    "Shock",
    "Slip",
    "Stance",
    "Suspension",
    "Trailer",
    "TrailerWeights",
    "Truck",
    "TruckWeights",
    "Tyres",
    "Weighing",
    "aboard_change_of",
    "check_together",
    "nearest",
    "placed",
    "problems_of",
    "read_record",
    "record_from",
]

__getattr__ = late(__name__, _HOMES)  # the app is listening before pydantic is loaded
