"""What may well be a slip in a truck that otherwise makes sense: asked about, never refused."""

from collections.abc import Iterator
from typing import Final

from planner.errors import Problem
from planner.records.truck import Axle, Truck
from planner.units.quantity import in_unit_of

# A tyre of a pair carries about 9 % less than one alone: LT235/85R16 E 2778 lb against 3042; 8.25-20 3550 against 4050
# (NHTSA interpretation aiam0583). From here up a rating is taken for that of a single tyre.
LOOKS_SINGLE: Final = 0.97
DUAL_OF_SINGLE: Final = 0.91
HIGHEST_LIP: Final = 0.4  # [m] of an arch lip over the tyre's top: who measures from the ground is past it
LONGEST_OVERHANG: Final = 0.6  # [-] of the wheelbase, hitch behind the rear axle
SIDES: Final = (0.4, 0.6)  # [-] between which the left wheels' share of an empty truck lies
SAME_TYRE: Final = 0.01  # [-] two radii, or pressures, nearer than this are of one size
HAIR: Final = 1e-6  # [-] of rounding


def truck_cautions(truck: Truck, file: str = "") -> tuple[Problem, ...]:
    """Return what to look at again on a truck, each with field, value, what is odd and the remedy.

    Examples
    --------
    >>> from planner import read_truck
    >>> truck_cautions(read_truck("profiles/trucks/ridge-truck.toml"))
    ()
    """
    found = []
    for name, axle, other in (("front", truck.front, truck.rear), ("rear", truck.rear, truck.front)):
        for field, value, rule, remedy in (*_arch(axle), *_twins(axle, other), *_tyres(axle)):
            found.append(Problem(file, f"{name}.{field}", f'"{value}"', rule, remedy))
    for field, value, rule, remedy in (*_sides(truck), *_overhangs(truck)):
        found.append(Problem(file, field, value, rule, remedy))
    return tuple(found)


Odd = tuple[str, str, str, str]  # field, value, what is odd, remedy


def _arch(axle: Axle) -> Iterator[Odd]:
    """Yield an arch lip under the tyre's top, or far over it: ride height is from wheel centre to lip."""
    under = axle.tyres.unloaded_radius - axle.ride_height
    if under > HAIR:
        rule = f"the arch lip would be {in_unit_of(under, axle.ride_height)} under the tyre's top"
        remedy = (
            f'measure from wheel centre to arch lip, and check unloaded_radius ("{axle.tyres.unloaded_radius.text}")'
        )
        yield "ride_height", axle.ride_height.text, rule, remedy
    elif under < -HIGHEST_LIP:
        rule = f"the arch lip would be {in_unit_of(-under, axle.ride_height)} over the tyre's top"
        yield "ride_height", axle.ride_height.text, rule, "measure from wheel centre to arch lip, not from the ground"


def _sides(truck: Truck) -> Iterator[Odd]:
    """Yield an empty truck that stands nearly all on one side."""
    share = truck.kerb.left_share
    if not SIDES[0] <= share <= SIDES[1]:
        rule = f"the left wheels of an empty truck carry about half: {SIDES[0]} to {SIDES[1]}"
        yield "kerb.left_share", f"{share:g}", rule, "check it on a scale, or write 0.5"


def _overhangs(truck: Truck) -> Iterator[Odd]:
    """Yield a hitch further behind the rear axle than trucks reach."""
    for i, hitch in enumerate(truck.hitches):
        if -hitch.x > LONGEST_OVERHANG * truck.wheelbase:
            most = in_unit_of(LONGEST_OVERHANG * truck.wheelbase, hitch.x)
            rule = f"that is more than {LONGEST_OVERHANG} of the wheelbase ({most}) behind the rear axle"
            yield f"hitches[{i}].x", f'"{hitch.x.text}"', rule, "measure from the centre of the rear axle to the ball"


def _twins(axle: Axle, other: Axle) -> Iterator[Odd]:
    """Yield twin tyres whose rating is that of the same tyre alone, as the other axle has it."""
    own, single = axle.tyres, other.tyres
    if not (own.per_side == 2 and single.per_side == 1):
        return
    same_size = abs(own.unloaded_radius / single.unloaded_radius - 1) < SAME_TYRE
    if same_size and own.load_rating >= LOOKS_SINGLE * single.load_rating:
        dual = in_unit_of(DUAL_OF_SINGLE * single.load_rating, own.load_rating)
        rule = f'looks like the rating of a single tyre: those on the other axle have "{single.load_rating.text}"'
        yield "tyres.load_rating", own.load_rating.text, rule, f"give the sidewall's dual load of one, about {dual}"


def _tyres(axle: Axle) -> Iterator[Odd]:
    """Yield tyres that carry less than their axle may: 49 CFR 571.110 S4.2.2 asks for at least as much."""
    tyres = axle.tyres
    together = 2 * tyres.per_side * tyres.load_rating
    if together < axle.gawr * (1 - HAIR):
        rule = f'{2 * tyres.per_side} such tyres carry {in_unit_of(together, axle.gawr)}, gawr is "{axle.gawr.text}"'
        yield (
            "tyres.load_rating",
            tyres.load_rating.text,
            rule,
            "check the load of one tyre, and gawr on the door label",
        )
