"""From records to arrays: the truck as a rig, and everything on it as a load."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any, Self

import numpy as np

from planner.physics import statics
from planner.physics.air_spring import Bag
from planner.physics.constants import STANDARD_GRAVITY as G
from planner.physics.truck_model import Rig
from planner.physics.validation import Array
from planner.plans.linkage import link_roll_centre
from planner.records import (
    Axle,
    BadInput,
    Cargo,
    Hitch,
    Hitching,
    PlacedCargo,
    PointMass,
    Problem,
    Profile,
    Trailer,
    Truck,
    aboard_change_of,
    check_together,
    placed,
    read_record,
    record_from,
)
from planner.records import Bag as BagRecord
from planner.records import Stance as WantedStance

if TYPE_CHECKING:
    from planner.plans.load_case import LoadCase


@dataclass(frozen=True)
class Setup:
    """One truck as it stands: what it tows, what it carries, where its owner wants it."""

    truck: Truck
    trailer: Trailer | None = None
    hitch: Hitch | None = None
    cargo: tuple[PlacedCargo, ...] = ()
    stance: WantedStance = field(default_factory=WantedStance)
    left_share: float = 0.5
    hitching: Hitching = field(default_factory=Hitching)
    raised: tuple[float, float] = (0.0, 0.0)  # front and rear beyond the wanted stance, as in a stage of hitching [m]
    aboard: tuple[PointMass, ...] = ()  # who is aboard now less who was at the weighing

    def __post_init__(self) -> None:
        """Look up where cargo lies that is at a place by its name; UnknownName where the truck has no such place."""
        object.__setattr__(self, "cargo", tuple(placed(item, self.truck) for item in self.cargo))

    @classmethod
    def of(cls, profile: Profile, truck: Truck, trailer: Trailer | None = None) -> Self:
        """Return the setup a profile names; BadInput if its parts do not fit each other."""
        check_together(profile, truck, trailer)
        hitch = truck.hitch(profile.hitch) if profile.hitch and trailer else None
        cargo = tuple(placed(item, truck) for item in profile.cargo)
        aboard = aboard_change_of(profile, truck)
        stance, left_share, hitching = profile.stance, profile.left_share, profile.hitching
        return cls(truck, trailer, hitch, cargo, stance, left_share, hitching, aboard=aboard)

    @classmethod
    def from_parts(
        cls,
        truck: Truck,
        trailer: Trailer | None,
        hitch: str | None,
        cargo: Sequence[Cargo | Mapping[str, Any]],
        stance: WantedStance | Mapping[str, Any] | None,
        left_share: float,
    ) -> Self:
        """Return the setup of records given one by one; a truck with one fitting hitch need not name it."""
        truck, trailer = record_from(Truck, truck, "truck"), trailer and record_from(Trailer, trailer, "trailer")
        stance = WantedStance() if stance is None else record_from(WantedStance, stance, "stance")
        cargo = [record_from(Cargo, item, f"cargo[{place}]") for place, item in enumerate(cargo)]
        if trailer is not None and hitch is None:
            fitting = [h.name for h in truck.hitches if h.coupling == trailer.coupling]
            hitch = fitting[0] if len(fitting) == 1 else None
        named = {"trailer": "trailer", "hitch": hitch} if trailer is not None else {}
        parts = {"cargo": tuple(cargo), "stance": stance, "left_share": left_share}
        profile = read_record(Profile, {"schema": 1, "name": "setup", "truck": "truck"} | named | parts, "setup")
        return cls.of(profile, truck, trailer)

    def without_trailer(self) -> Self:
        """Return the setup unhitched; the hitch stays on the truck."""
        return replace(self, trailer=None)

    def without_cargo(self) -> Self:
        """Return the setup with no cargo; who is aboard stays."""
        return replace(self, cargo=())

    @cached_property
    def wanted(self) -> Array:
        """Wanted rise front and rear [m] and roll [rad], shape (3,): lean over the rear track is an angle."""
        front, rear = self.raised
        roll = self.stance.lean / self.truck.rear.track
        wanted = np.array([self.stance.front + front, self.stance.rear + rear, roll])
        wanted.setflags(write=False)
        return wanted

    def hitched(self) -> statics.Hitched:
        """Return hitch load, bars' moment and load on the trailer's axles; zeros with no trailer. [N, N·m]"""
        return self._load_case.hitched

    def load(self, rig: Rig) -> statics.Load:
        """Return all that the suspension carries, on the rig of its own truck or on another."""
        from planner.plans.load_case import load_case

        return self._load_case.load if rig is rig_of(self.truck) else load_case(self, rig).load

    @cached_property
    def _load_case(self) -> LoadCase:
        from planner.plans.load_case import load_case

        return load_case(self, rig_of(self.truck))

    @property
    def hitch_arm(self) -> float:
        """Side arm of the hitch load [m]: the hitch's own offset, and what a rigid coupling passes of a lopsided load.

        A load with left share s on track t acts at (s - 1/2) t; a ball swivels and passes none of it.
        """
        return float(self.hitch_arm_at(np.asarray(self.left_share)))

    def hitch_arm_at(self, left_share: Array) -> Array:
        """Return the same for other left shares of the hitch load, shape (...). [m]"""
        if self.hitch is None:
            return np.zeros(())
        passed: Array = self.hitch.roll_coupling * (left_share - 0.5) * float(self.truck.rear.track)
        return float(self.hitch.y) + passed


def links_give_roll_axis(truck: Truck) -> bool:
    """Tell whether the height of the rear's roll axis is that of its links: there are some, and the file has none."""
    return truck.rear.linkage is not None and truck.rear.roll_axis_height is None


def roll_axis_heights(truck: Truck) -> Array:
    """Return the height of the roll axis above ground at both axles, shape (2,). [m]

    As the truck's file gives it, else as its links have it at design height, else typical.

    Examples
    --------
    >>> from planner import read_truck
    >>> roll_axis_heights(read_truck("profiles/trucks/ridge-truck.toml")).shape
    (2,)
    """
    rear = link_roll_centre(truck) if links_give_roll_axis(truck) else truck.rear.roll_axis
    return np.array([truck.front.roll_axis, rear])


@lru_cache(maxsize=32)
def rig_of(truck: Truck) -> Rig:
    """Return a truck's numbers as arrays [front, rear]; kept, as a page asks for one truck again and again.

    Examples
    --------
    >>> from planner import read_truck
    >>> rig_of(read_truck("profiles/trucks/ridge-truck.toml")).has_bag
    array([ True,  True])
    """
    axles = (truck.front, truck.rear)

    def both(name: str) -> Array:
        return np.array([float(getattr(axle, name)) for axle in axles])

    weight = np.array([float(truck.kerb.front_axle), float(truck.kerb.rear_axle)]) * G
    unsprung, swings = both("unsprung_weight") * G, truck.mass_height - roll_axis_heights(truck)
    return Rig(
        wheelbase=np.asarray(float(truck.wheelbase)),
        kerb=statics.kerb_load(weight, weight - unsprung, truck.kerb.left_share, both("track"), swings),
        unsprung_load=unsprung,
        half_spacing=both("half_spacing"),
        track=both("track"),
        motion_ratio=both("motion_ratio"),
        tyre_rate=np.array([axle.tyres.per_side * float(axle.tyres.rate) for axle in axles]),
        anti_roll_rate=both("anti_roll_rate"),
        steel_rate=both("steel_rate"),
        steel_load=both("steel_load"),
        bags=(_bag("front", truck.front, weight[0] / G), _bag("rear", truck.rear, weight[1] / G)),
        joined=(_joined(truck.front), _joined(truck.rear)),
        tape_error=float(truck.instruments.tape_error),
    )


def _joined(axle: Axle) -> bool:
    """Tell whether the axle has two bags that share a line."""
    return axle.bag is not None and axle.plumbing == "joined"


def _bag(name: str, axle: Axle, kerb_axle: float) -> Bag | None:
    """Return the axle's bag as arrays; its gas follows from the row nearest to its pressure at kerb weight and level.

    kerb_axle : weight on the axle at kerb [kg]
    """
    bag = axle.bag
    if bag is None:
        return None
    if not bag.whole:
        remedy = "read the truck from its folder (open_folder), or give the chart in the truck"
        rule = "names a chart of its own that was not read with the truck"
        raise BadInput([Problem("truck", f"{name}.bag.chart", bag.chart or "", rule, remedy)])
    found = _charted(bag)
    if found.pressures is None:
        return found
    at_kerb = (kerb_axle - axle.unsprung_weight) * G / (2.0 * axle.motion_ratio) - axle.steel_load
    fitted = float(found.pressure(found.fitted_height, at_kerb))
    return _charted(bag, int(np.abs(found.pressures - fitted).argmin()))


@lru_cache(maxsize=64)
def _charted(bag: BagRecord, gas_row: int = 0) -> Bag:
    """Return a bag as arrays, the same for all trucks that have it: what is made of its chart is made once."""
    rows = np.array(bag.area_rows, float)
    several = len(bag.pressures) > 1
    return Bag(
        heights=np.array(bag.heights, float),
        areas=rows if several else rows[0],
        fitted_height=float(bag.fitted_height),
        volume=bag.gas_volume,
        least_pressure=float(bag.least_pressure),
        greatest_pressure=float(bag.greatest_pressure),
        load_rating=np.inf if bag.load_rating is None else float(bag.load_rating),
        pressures=np.array(bag.pressures) if several else None,
        volumes=np.array(bag.volumes, float) if bag.volumes and not bag.has_one_height else None,
        slope=bag.slope,
        slope_about=float(bag.height[0]) if bag.has_one_height else 0.0,
        gas_row=gas_row,
    )
