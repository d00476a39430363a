"""The trailer-setup planner: which pressure in which bag levels the truck, and what everything then carries.

>>> from planner import Truck, level  # doctest: +SKIP
>>> level(truck, trailer=trailer, hitch="receiver").pressure[0, 0]  # doctest: +SKIP  front left, gauge, Pa
"""

from typing import TYPE_CHECKING

from planner.late import late

if TYPE_CHECKING:
    from planner.plans.level import Shut, level, settle
    from planner.plans.many import Limit, Many, level_many
    from planner.records import BadInput, Cargo, Profile, Stance, Trailer, Truck

_HOMES = {
    **dict.fromkeys(("BadInput", "Cargo", "Profile", "Stance", "Trailer", "Truck"), "planner.records"),
    **dict.fromkeys(("Shut", "level", "settle"), "planner.plans.level"),
    **dict.fromkeys(("Limit", "Many", "level_many"), "planner.plans.many"),
}
__all__ = [
    "BadInput",
    "Cargo",
    "Limit",
    "Many",
    "Profile",
    "Shut",
    "Stance",
    "Trailer",
    "Truck",
    "level",
    "level_many",
    "settle",
]

__getattr__ = late(__name__, _HOMES)  # the command line starts without the physics
