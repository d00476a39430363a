"""The truck: axles with their springs, bags and tyres, hitches, gauges and air supply."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Annotated, Final, Literal, TypeVar

from pydantic import Field

from planner.errors import UnknownName
from planner.records.air_supply import Air
from planner.records.bag import Bag, BagChart, area_at_fitted_height, pressure_at_fitted_height
from planner.records.base import Broken, Record, rule
from planner.records.couplings import Coupling
from planner.records.fields import (
    PRESSURE_SLACK,
    Bare,
    Count,
    Day,
    Length,
    Name,
    Place,
    Pressure,
    Rate,
    Ratio,
    Share,
    Weight,
    default,
)
from planner.records.file_header import Described
from planner.records.linkage import Linkage
from planner.records.places import (
    Aboard,
    Bed,
    BedLimits,
    NamedPlace,
    bed_limits,
    every_place,
    kerb_aboard,
    misplaced,
    weights_at,
)
from planner.records.problems import read_record
from planner.units.quantity import (
    STANDARD_GRAVITY,
    Metre,
    Newton,
    NewtonMetrePerRadian,
    Quantity,
    Refusal,
    in_unit_of,
)

Suspension = Literal["solid", "independent"]
Plumbing = Literal["separate", "joined"]
Built = Literal["bag alone", "bag over leaf", "bag with coil", "steel only"]

WIDEST_SPACING: Final = 1.1  # spring spacing over track: outboard bags reach a little past the tyres' centres
TYPICAL_MASS_HEIGHT: Final = 0.72  # m; MASH asks >= 710 mm of its 2270P test pickup (AASHTO MASH table 4, from memory)
CHART_SLACK: Final = 0.02  # [-] by which a straight line between two points of a maker's chart may be off its curve
BEHIND: Final = ("ball", "pintle")  # couplings that sit behind the rear axle; the others may be over the bed
GREATEST_SAG: Final = 0.1524  # m (6 in), from design ride height to where the steel alone carries the kerb weight


Named = TypeVar("Named", "Hitch", NamedPlace)


class Kerb(Record):
    """The truck as weighed: driver, fuel, tools that never leave; no trailer, no cargo."""

    front_axle: Annotated[Weight, Field(title="Front axle, as weighed")]
    rear_axle: Annotated[Weight, Field(title="Rear axle, as weighed")]
    left_share: Annotated[Share, Field(title="Left wheels' share")]
    # of the centre of mass above ground; typical if left out
    mass_height: Annotated[Annotated[Length, Field(le=3)] | None, Field(title="Height of the centre of mass")] = None
    aboard: tuple[Aboard, ...] | None = None  # who stood there at the weighing; left out: a driver and a full tank


class Tyres(Record):
    """The tyres of one axle."""

    size: Annotated[Name | None, Field(title="Tyre size")] = None  # as printed on the sidewall
    per_side: Annotated[Count, Field(ge=1, le=2, title="Tyres on each end")]
    # one tyre; a tyre softer than 10 N/mm carries no truck
    rate: Annotated[Rate, Field(ge=10_000, title="Tyre rate, one tyre")]
    unloaded_radius: Annotated[Length, Field(title="Tyre radius, unloaded")]
    load_rating: Annotated[Weight, Field(title="Tyre load rating, each")]  # one tyre, at the cold pressure
    cold_pressure: Annotated[Pressure, Field(title="Cold pressure")]


class Axle(Record):
    """One axle: its geometry, its tyres, the steel that stays and the bags, if any."""

    suspension: Annotated[Suspension, Field(title="Axle")]
    track: Annotated[Length, Field(ge=0.3, title="Track, wheel to wheel")]
    spring_spacing: Annotated[
        Annotated[Length, Field(ge=0.05)] | None, Field(title="Springs apart, centre to centre")
    ] = None  # of a solid axle
    motion_ratio: Annotated[Ratio, Field(ge=0.1, le=3, title="Motion ratio"), Bare()]  # spring travel / wheel travel
    unsprung_weight: Annotated[Weight, Field(title="Unsprung weight")]
    ride_height: Annotated[Length, Field(title="Ride height, wheel centre to arch lip")]  # design
    gawr: Annotated[Weight, Field(title="GAWR")]
    built: Annotated[Built | None, Field(title="Built of")] = None  # what is typical of the steel goes by it
    anti_roll_rate: Annotated[NewtonMetrePerRadian, Field(ge=0, le=1e9, title="Anti-roll bar's rate")] = default(
        "0 N*m/deg", "roll rate"
    )
    steel_rate: Annotated[Rate, Field(title="Steel's rate, one side")] = default("0 lbf/in", "spring rate")
    # one side, at the spring, at design ride height
    steel_load: Annotated[Newton, Field(ge=0, le=1_000_000, title="Steel's load, one side")] = default("0 lbf", "load")
    plumbing: Annotated[Plumbing, Field(title="Air lines")] = "separate"
    # above ground; left out: typical
    roll_axis_height: Annotated[
        Annotated[Place, Field(ge=-0.5, le=2)] | None, Field(title="Height of the roll axis")
    ] = None
    tyres: Tyres
    bag: Bag | None = None
    linkage: Linkage | None = None  # of a solid rear axle

    @property
    def half_spacing(self) -> float:
        """Half the distance between the springs that resist roll [m]: spring spacing, or track if independent."""
        if self.suspension == "solid" and self.spring_spacing is not None:
            return self.spring_spacing / 2
        return self.track / 2

    @property
    def roll_axis(self) -> float:
        """Height of the roll axis above ground at this axle [m]: as given, else that of a solid axle's wheel centre.

        Independent suspensions have it near the ground, so nought is typical there (from memory).
        """
        if self.roll_axis_height is not None:
            return float(self.roll_axis_height)
        return float(self.tyres.unloaded_radius) if self.suspension == "solid" else 0.0

    @rule
    def _solid_axle_needs_spring_spacing(self) -> Iterator[Broken]:
        """Require the spacing that a solid axle leans on."""
        if self.suspension == "solid" and self.spring_spacing is None:
            remedy = 'add spring_spacing = "40 in", centre to centre'
            yield ("spring_spacing",), Refusal("a solid axle needs spring_spacing", "nothing", remedy)

    @rule
    def _springs_sit_within_the_track(self) -> Iterator[Broken]:
        """Require springs that sit within the wheels, or nearly."""
        spacing, track = self.spring_spacing, self.track
        if spacing is not None and spacing > WIDEST_SPACING * track:
            limit = in_unit_of(WIDEST_SPACING * track, spacing)
            why = f"must be <= {WIDEST_SPACING} of the track ({limit})"
            yield ("spring_spacing",), Refusal(why, f'"{spacing.text}"', "measure from spring centre to spring centre")

    @rule
    def _without_bags_the_steel_carries(self) -> Iterator[Broken]:
        """Require steel where there is no bag: an axle stands on something."""
        if self.bag is None:
            for name, value in (("steel_rate", self.steel_rate), ("steel_load", self.steel_load)):
                if not value > 0:
                    remedy = f"give {name}, or add the axle's bag table"
                    yield (name,), Refusal("must be > 0 on an axle without bags", f'"{value.text}"', remedy)

    @rule
    def _links_hold_a_solid_axle(self) -> Iterator[Broken]:
        """Require a solid axle where links are given."""
        if self.linkage is not None and self.suspension != "solid":
            remedy = 'take the table out, or set suspension = "solid"'
            yield ("linkage",), Refusal("is for a solid axle only", f'suspension "{self.suspension}"', remedy)


class Hitch(Record):
    """A place where a trailer couples to the truck."""

    name: Annotated[Name, Field(title="Name of the hitch")]
    coupling: Annotated[Coupling, Field(title="Coupling")]
    x: Annotated[Place, Field(title="Ahead of the rear axle")]  # a receiver is < 0
    y: Annotated[Place, Field(title="Left of the centre line")] = default("0 in", "length")
    height: Annotated[Length, Field(title="Coupling height")]  # at kerb weight, level
    # of a ball or a gooseneck
    ball_diameter: Annotated[Annotated[Length, Field(le=0.2)] | None, Field(title="Ball diameter")] = None
    tongue_rating: Annotated[Weight, Field(title="Tongue rating")]
    trailer_rating: Annotated[Weight, Field(title="Trailer rating")]
    # a ball or a head that tilts sideways passes nothing, one that does not tilt all of it
    roll_coupling: Annotated[Share, Field(title="Side bias it passes on: 0 % if its head tilts sideways")] = 0.0
    # the coupling may not go lower: the hitch would touch the ground
    lowest_height: Annotated[Length | None, Field(title="Lowest height it may go to")] = None
    d_value: Annotated[Newton, Field(gt=0, le=1_000_000)] | None = None  # on the label of a tested coupling, UN R55
    v_value: Annotated[Newton, Field(gt=0, le=1_000_000)] | None = None  # beside it, for centre-axle trailers

    @rule
    def _ball_has_a_diameter(self) -> Iterator[Broken]:
        """Require the diameter that says how low the ball must duck."""
        if self.coupling in ("ball", "gooseneck") and self.ball_diameter is None:
            remedy = 'add ball_diameter = "2.3125 in"; it is stamped on the ball'
            yield ("ball_diameter",), Refusal(f"a {self.coupling} coupling needs ball_diameter", "nothing", remedy)


class Instruments(Record):
    """How finely the owner can set and measure."""

    gauge_step: Annotated[Pressure, Field(gt=0)] = default("1 psi", "pressure")  # what the gauge can be set to
    gauge_error: Pressure = default("2 psi", "pressure")  # one standard deviation
    tape_error: Annotated[Metre, Field(ge=0, le=0.1)] = default("0.125 in", "length")  # one standard deviation


class Check(Record):
    """Something that was looked at when the truck was put together, or later: what, when, by whom."""

    name: Name
    on: Day
    by: Name | None = None
    note: Name | None = None


class Truck(Described):
    """The truck, as its owner knows it."""

    wheelbase: Annotated[Length, Field(ge=0.5, title="Wheelbase")]
    gvwr: Annotated[Weight, Field(title="GVWR")]
    gcwr: Annotated[Weight, Field(title="GCWR")]
    kerb: Kerb
    front: Axle
    rear: Axle
    hitches: tuple[Hitch, ...] = ()
    places: tuple[NamedPlace, ...] = ()  # these stand in for the typical ones of the same name
    bed: Bed | None = None
    instruments: Instruments = Field(default_factory=Instruments)
    air: Air | None = None
    checks: tuple[Check, ...] = ()  # of the commissioning list, newest last

    @property
    def charts(self) -> dict[str, str]:
        """The charts of bags that lie in files of their own: the file's name by the axle that names it."""
        axles = {"front": self.front, "rear": self.rear}
        return {name: axle.bag.chart for name, axle in axles.items() if axle.bag is not None and axle.bag.chart}

    def with_charts(self, charts: Mapping[str, BagChart], file: str = "truck") -> "Truck":
        """Return the truck with its bags filled in from charts, by axle; in a file it says no more than before.

        Raises
        ------
        BadInput
            If a bag makes no sense with its chart, by the name of the truck's file.
        """
        given = {name: getattr(self, name) for name in self.model_fields_set} | {"schema": self.schema_version}
        given.pop("schema_version", None)
        for name, chart in charts.items():
            axle: Axle = getattr(self, name)
            fields = {part: getattr(axle, part) for part in axle.model_fields_set}
            given[name] = fields if axle.bag is None else fields | {"bag": axle.bag.filled(chart)}
        whole = read_record(Truck, given, file)
        axles = {name: _written_as(getattr(whole, name), getattr(self, name)) for name in charts}
        return whole.model_copy(update=axles)

    @property
    def kerb_weight(self) -> float:
        """The truck as weighed, both axles [kg]."""
        return self.kerb.front_axle + self.kerb.rear_axle

    @property
    def mass_height(self) -> float:
        """Height of the kerb's centre of mass above ground [m]: as given, else typical."""
        return TYPICAL_MASS_HEIGHT if self.kerb.mass_height is None else float(self.kerb.mass_height)

    @property
    def every_place(self) -> tuple[NamedPlace, ...]:
        """The places on the truck: its own, then the typical ones it has not named."""
        return every_place(self.places, float(self.wheelbase), float(self.front.track))

    @property
    def kerb_aboard(self) -> tuple[Aboard, ...]:
        """Who was aboard when the truck was weighed: as given, else a driver and a full tank."""
        return kerb_aboard() if self.kerb.aboard is None else self.kerb.aboard

    @property
    def bed_limits(self) -> BedLimits:
        """Where the bed lies [m]: as given, else typical of wheelbase and rear track."""
        return bed_limits(self.bed, float(self.wheelbase), float(self.rear.track))

    def place(self, name: str) -> NamedPlace:
        """Return the place of that name; UnknownName if there is none."""
        return _named("place", name, self.every_place)

    def hitch(self, name: str) -> Hitch:
        """Return the hitch of that name; UnknownName if there is none."""
        return _named("hitch", name, self.hitches)

    @rule
    def _front_kerb_is_above_unsprung(self) -> Iterator[Broken]:
        """Require an axle that weighs less than what stands on its wheels."""
        yield from _unsprung("front", self.kerb.front_axle, self.front.unsprung_weight)

    @rule
    def _rear_kerb_is_above_unsprung(self) -> Iterator[Broken]:
        """Require an axle that weighs less than what stands on its wheels."""
        yield from _unsprung("rear", self.kerb.rear_axle, self.rear.unsprung_weight)

    @rule
    def _front_steel_carries_the_kerb(self) -> Iterator[Broken]:
        """Require an axle without bags to stand near its design height at kerb weight."""
        yield from _steel("front", self.kerb.front_axle, self.front)

    @rule
    def _rear_steel_carries_the_kerb(self) -> Iterator[Broken]:
        """Require an axle without bags to stand near its design height at kerb weight."""
        yield from _steel("rear", self.kerb.rear_axle, self.rear)

    @rule
    def _front_bags_hold_the_kerb(self) -> Iterator[Broken]:
        """Require bags that can hold the truck at kerb weight and design ride height."""
        yield from _bags("front", self.kerb.front_axle, self.front)

    @rule
    def _rear_bags_hold_the_kerb(self) -> Iterator[Broken]:
        """Require bags that can hold the truck at kerb weight and design ride height."""
        yield from _bags("rear", self.kerb.rear_axle, self.rear)

    @rule
    def _links_are_at_the_rear(self) -> Iterator[Broken]:
        """Require links at the rear axle only: at the front they also carry the steering, which is not known here."""
        if self.front.linkage is not None:
            yield ("front", "linkage"), Refusal("is for the rear axle only", "a linkage", "take the table out")

    @rule
    def _front_kerb_is_within_gawr(self) -> Iterator[Broken]:
        """Require an empty axle within its rating: otherwise a number is wrong."""
        yield from _gawr("front", self.kerb.front_axle, self.front.gawr)

    @rule
    def _rear_kerb_is_within_gawr(self) -> Iterator[Broken]:
        """Require an empty axle within its rating: otherwise a number is wrong."""
        yield from _gawr("rear", self.kerb.rear_axle, self.rear.gawr)

    @rule
    def _gvwr_is_within_both_axles(self) -> Iterator[Broken]:
        """Require a truck that may weigh no more than its axles may carry."""
        both = self.front.gawr + self.rear.gawr
        if self.gvwr > both * (1 + 1e-9):
            why = f"must be <= front and rear gawr added ({in_unit_of(both, self.gvwr)})"
            yield ("gvwr",), Refusal(why, f'"{self.gvwr.text}"', "check all three on the door label")

    @rule
    def _kerb_is_within_gvwr(self) -> Iterator[Broken]:
        """Require an empty truck within its rating: otherwise a number is wrong."""
        if self.kerb_weight > self.gvwr:
            got = f"{in_unit_of(self.kerb_weight, self.gvwr)} together"
            why = f'kerb axles together must be <= gvwr ("{self.gvwr.text}")'
            yield ("kerb",), Refusal(why, got, "check the scale slip and the door label")

    @rule
    def _gvwr_is_within_gcwr(self) -> Iterator[Broken]:
        """Require a combination that may weigh what the truck alone may."""
        if self.gvwr > self.gcwr:
            why = f'must be >= gvwr ("{self.gvwr.text}")'
            yield ("gcwr",), Refusal(why, f'"{self.gcwr.text}"', "check both on the labels")

    @rule
    def _hitches_are_told_apart(self) -> Iterator[Broken]:
        """Require names that tell hitches apart: a profile calls its hitch by name."""
        yield from _told_apart("hitches", "hitch", self.hitches)

    @rule
    def _places_are_told_apart(self) -> Iterator[Broken]:
        """Require names that tell places apart: cargo and who is aboard are put there by name."""
        yield from _told_apart("places", "place", self.places)

    @rule
    def _aboard_is_at_places(self) -> Iterator[Broken]:
        """Require those aboard at the weighing to be somewhere on the truck."""
        for loc, refusal in misplaced(self.kerb.aboard or (), self.every_place, self.name):
            yield ("kerb", "aboard", *loc), refusal

    @rule
    def _aboard_is_part_of_the_kerb(self) -> Iterator[Broken]:
        """Require a truck that weighs more than who was aboard."""
        if any(True for _ in misplaced(self.kerb.aboard or (), self.every_place, self.name)):
            return
        aboard = sum(weights_at(self.kerb.aboard or (), self.every_place).values())
        own = self.kerb_weight - self.front.unsprung_weight - self.rear.unsprung_weight
        if aboard and aboard >= own > 0:
            why = f"must be < the truck's own weight above its axles ({in_unit_of(own, self.kerb.rear_axle)})"
            got = in_unit_of(aboard, self.kerb.rear_axle)
            yield ("kerb", "aboard"), Refusal(why, got, "the kerb axles were weighed with all this aboard; check it")

    @rule
    def _bed_has_a_length(self) -> Iterator[Broken]:
        """Require a bed whose front is ahead of its rear, where one of them may be typical."""
        if self.bed is None:
            return
        limits = self.bed_limits
        if not limits.front > limits.rear:
            typed = next(one for one in (self.bed.front, self.bed.rear, self.bed.end) if one is not None)
            why = f"must be ahead of the bed's rear ({in_unit_of(limits.rear, typed)})"
            yield (
                ("bed", "front"),
                Refusal(why, in_unit_of(limits.front, typed), "measure both forward from the rear axle"),
            )

    @rule
    def _hitches_sit_behind_the_front_axle(self) -> Iterator[Broken]:
        """Require couplings behind the front axle, receivers behind the rear one: else it is a sign slip."""
        for i, one in enumerate(self.hitches):
            if not one.x < self.wheelbase:
                why = f'must be < wheelbase ("{self.wheelbase.text}"), from the rear axle forward'
                yield (
                    ("hitches", i, "x"),
                    Refusal(why, f'"{one.x.text}"', "write a minus for a receiver behind the axle"),
                )
            elif one.coupling in BEHIND and one.x > 0:
                why = f"a {one.coupling} coupling must be behind the rear axle, <= 0 from it forward"
                remedy = f'write "-{one.x.text.lstrip("+")}", or coupling = "gooseneck" if it is in the bed'
                yield ("hitches", i, "x"), Refusal(why, f'"{one.x.text}"', remedy)


def _written_as(axle: Axle, typed: Axle) -> Axle:
    """Return an axle that a file holds as it was typed, whatever its bag has from a chart."""
    if axle.bag is None or typed.bag is None:
        return axle
    return axle.model_copy(update={"bag": Bag.model_construct(typed.bag.model_fields_set, **dict(axle.bag))})


def _named(what: str, name: str, those: Sequence[Named]) -> Named:
    """Return the one of a name."""
    found = {one.name: one for one in those}
    if name not in found:
        raise UnknownName(what, name, found)
    return found[name]


def _told_apart(field: str, what: str, named: Sequence[Hitch | NamedPlace]) -> Iterator[Broken]:
    """Yield the fault of each name that another has already."""
    seen: set[str] = set()
    for i, one in enumerate(named):
        if one.name in seen:
            why = f"each {what} needs its own name"
            yield (field, i, "name"), Refusal(why, f'"{one.name}" again', "rename one of them")
        seen.add(one.name)


def _unsprung(axle: str, kerb: Quantity, unsprung: Quantity) -> Iterator[Broken]:
    """Yield the fault of an axle whose own weight is all there is."""
    if not kerb > unsprung:
        why = f'must be < the kerb weight on that axle ("{kerb.text}")'
        remedy = "count wheels, tyres, brakes and axle only"
        yield (axle, "unsprung_weight"), Refusal(why, f'"{unsprung.text}"', remedy)


def _steel(name: str, kerb: Quantity, axle: Axle) -> Iterator[Broken]:
    """Yield the fault of steel that would let an axle without bags sag, or lift it, out of its travel."""
    if axle.bag is not None or not axle.steel_rate > 0:
        return
    carried = (kerb - axle.unsprung_weight) * STANDARD_GRAVITY / (2 * axle.motion_ratio)
    sag = (carried - axle.steel_load) / axle.steel_rate
    if abs(sag) > GREATEST_SAG:
        way = "sags" if sag > 0 else "stands up"
        got = f'"{axle.steel_load.text}", with which it {way} {in_unit_of(abs(sag), axle.ride_height)}'
        wanted = in_unit_of(carried, axle.steel_load)
        why = f"must hold the kerb weight within {in_unit_of(GREATEST_SAG, axle.ride_height)} of design ride height"
        yield (
            (name, "steel_load"),
            Refusal(why, got, f"each spring there carries {wanted} at kerb; check load and rate"),
        )


def _gawr(axle: str, kerb: Quantity, gawr: Quantity) -> Iterator[Broken]:
    """Yield the fault of an axle that may not carry the empty truck."""
    if kerb > gawr:
        why = f'must be >= the kerb weight on that axle ("{kerb.text}")'
        remedy = "check the scale slip and the door label; what comes off again, such as a plow, is cargo"
        yield (axle, "gawr"), Refusal(why, f'"{gawr.text}"', remedy)


def _bags(name: str, kerb: Quantity, axle: Axle) -> Iterator[Broken]:
    """Yield the fault of bags that cannot hold the truck, empty and at design ride height, within their limits.

    Each spring carries (kerb - unsprung)/2 over the motion ratio, the steel its steel_load of that, the bag the rest.
    """
    bag = axle.bag
    if bag is None or not bag.whole or not kerb > axle.unsprung_weight:
        return  # what is wrong with the unsprung weight is told by its own rule; the rest is in a chart's own file
    carried = (kerb - axle.unsprung_weight) * STANDARD_GRAVITY / (2 * axle.motion_ratio)
    load = carried - axle.steel_load
    pressure, area = pressure_at_fitted_height(bag, load), area_at_fitted_height(bag)
    if pressure is None or area is None:
        return  # so is what is wrong with the chart
    least, most = bag.least_pressure, bag.greatest_pressure
    needs = f"the {name} bags would need {in_unit_of(pressure, least)}"
    why = "the truck must be able to stand at kerb weight and design ride height"
    if pressure < least * (1 - CHART_SLACK) - PRESSURE_SLACK:
        remedy = "check area, fitted_height, motion_ratio and the kerb weight"
        if axle.steel_load > 0:
            leaves = in_unit_of(max(carried - least * area, 0.0), axle.steel_load)
            remedy = f'steel_load ("{axle.steel_load.text}") is too high, {leaves} would be right; or {remedy}'
        loc = (name, "steel_load") if axle.steel_load > 0 else (name, "bag", "least_pressure")
        yield loc, Refusal(why, f'{needs}, least is "{least.text}"', remedy)
    elif pressure > most * (1 + CHART_SLACK) + PRESSURE_SLACK:
        remedy = "check area, fitted_height and motion_ratio, and whether the steel carries more (steel_load)"
        yield (name, "bag", "greatest_pressure"), Refusal(why, f'{needs}, greatest is "{most.text}"', remedy)
    elif bag.load_rating is not None and load > bag.load_rating * (1 + CHART_SLACK):
        got = f'{in_unit_of(load, bag.load_rating)} on each of the {name} bags, rated "{bag.load_rating.text}"'
        yield (name, "bag", "load_rating"), Refusal(why, got, "check the rating, steel_load and motion_ratio")
