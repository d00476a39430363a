"""What stands on the truck beyond its kerb weight, as point masses: cargo, and who is aboard now but was not then."""

from dataclasses import dataclass

from planner.records.fields import Length, Place
from planner.records.places import NamedPlace, weights_at
from planner.records.profile import Cargo, Profile
from planner.records.truck import Truck
from planner.units.quantity import Quantity


@dataclass(frozen=True)
class PointMass:
    """A weight on the truck, in its axes: x forward of the rear axle, y left, z above ground.

    Attributes
    ----------
    name : of the place
    weight : [kg]; below nought where less is aboard than when the truck was weighed
    x, y, z : its middle, the truck level at kerb weight [m]
    """

    name: str
    weight: float
    x: float
    y: float
    z: float


class PlacedCargo(Cargo):
    """A cargo item of which it is known where it lies: x, y and z in numbers, no place by name."""

    x: Place
    y: Place
    z: Length


PlacedLoad = PlacedCargo | PointMass


def placed(item: Cargo, truck: Truck) -> PlacedCargo:
    """Return a cargo item where it lies on a truck: a named place looked up, a height left out made typical.

    Raises
    ------
    UnknownName
        If the truck has no such place; `check_together` says where in the file.
    """
    if isinstance(item, PlacedCargo):
        return item
    place = None if item.at is None else truck.place(item.at)
    x, y = (item.x, _metres(0.0) if item.y is None else item.y) if place is None else (place.x, place.y)
    own = (item.z, None if place is None else place.z, _metres(truck.mass_height))
    z = next(one for one in own if one is not None)
    assert x is not None  # the item's rule: a place by name, or x
    return PlacedCargo.model_construct(name=item.name, weight=item.weight, x=x, y=y, z=z)  # each is checked already


def aboard_change_of(profile: Profile, truck: Truck) -> tuple[PointMass, ...]:
    """Return who is aboard now less who was at the weighing: one point mass per place that the profile names.

    A place that the profile does not name is as it was weighed. Raises UnknownName as `placed` does.
    """
    if not profile.aboard:
        return ()
    places = truck.every_place
    by_name = {one.name: one for one in places}
    now, then = weights_at(profile.aboard, places), weights_at(truck.kerb_aboard, places)
    return tuple(_at(by_name[name], name, weight - then.get(name, 0.0), truck) for name, weight in now.items())


def _metres(value: float) -> Quantity:
    """Return a length as a quantity."""
    return Quantity(value, f"{value:.10g} m", "length")


def _at(place: NamedPlace, name: str, weight: float, truck: Truck) -> PointMass:
    """Return a weight at a place; as high as the place is, else as the truck's own middle."""
    z = truck.mass_height if place.z is None else float(place.z)
    return PointMass(name, weight, float(place.x), float(place.y), z)
