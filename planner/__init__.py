"""The trailer-setup planner: which pressure in which bag levels the truck, and what everything then carries.

>>> from planner import level, read_truck
>>> answer = level(read_truck("profiles/trucks/ridge-truck.toml"))
>>> answer.pressure.shape  # gauge, Pa: [front, rear][left, right]
(2, 2)
"""

from typing import TYPE_CHECKING

from planner.late import late

if TYPE_CHECKING:
    from planner.errors import BadInput as BadInput
    from planner.errors import ConflictError as ConflictError
    from planner.errors import Problem as Problem
    from planner.errors import StoreError as StoreError
    from planner.library import __version__ as __version__
    from planner.library import open_folder as open_folder
    from planner.library import read_profile as read_profile
    from planner.library import read_trailer as read_trailer
    from planner.library import read_truck as read_truck
    from planner.plans.answer import Answer as Answer
    from planner.plans.answer import Finding as Finding
    from planner.plans.level import Shut as Shut
    from planner.plans.level import level as level
    from planner.plans.level import settle as settle
    from planner.plans.many import Limit as Limit
    from planner.plans.many import Many as Many
    from planner.plans.many import level_many as level_many
    from planner.records import Aboard as Aboard
    from planner.records import Air as Air
    from planner.records import AirDemand as AirDemand
    from planner.records import Axle as Axle
    from planner.records import Bag as Bag
    from planner.records import BagChart as BagChart
    from planner.records import Bed as Bed
    from planner.records import Cargo as Cargo
    from planner.records import DeckItem as DeckItem
    from planner.records import Hitch as Hitch
    from planner.records import Hitching as Hitching
    from planner.records import Instruments as Instruments
    from planner.records import Kerb as Kerb
    from planner.records import LineLengths as LineLengths
    from planner.records import NamedPlace as NamedPlace
    from planner.records import Pressures as Pressures
    from planner.records import Profile as Profile
    from planner.records import Stance as Stance
    from planner.records import Trailer as Trailer
    from planner.records import Truck as Truck
    from planner.records import Tyres as Tyres
    from planner.store import Store as Store

_RECORDS = (
    "Aboard Air AirDemand Axle Bag BagChart Bed Cargo DeckItem Hitch Hitching Instruments Kerb LineLengths NamedPlace "
    "Pressures Profile Stance Trailer Truck Tyres"
)
_HOMES = {
    **dict.fromkeys(("BadInput", "ConflictError", "Problem", "StoreError"), "planner.errors"),
    **dict.fromkeys(("__version__", "open_folder", "read_profile", "read_trailer", "read_truck"), "planner.library"),
    **dict.fromkeys(("Answer", "Finding"), "planner.plans.answer"),
    **dict.fromkeys(("Shut", "level", "settle"), "planner.plans.level"),
    **dict.fromkeys(("Limit", "Many", "level_many"), "planner.plans.many"),
    **dict.fromkeys(_RECORDS.split(), "planner.records"),
    "Store": "planner.store",
}
__all__ = sorted(_HOMES)  # each name stands once

__getattr__ = late(__name__, _HOMES)  # the command line starts without the physics


def __dir__() -> list[str]:
    """Return what there is for a program to use."""
    return __all__
