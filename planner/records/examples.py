"""A right example of each field, for messages and empty fields: made for the field, and for the file at hand."""

from collections.abc import Mapping
from typing import Any, Final

from pydantic import BaseModel

from planner.records.field_paths import Loc, Model, dimension_of, field_at, nested
from planner.units.quantity import Dimension, Quantity, Refusal, System, example, in_unit_of, read
from planner.units.written_numbers import system_of_quantity

# By record and field: in US units, in metric ones. What is not here has the example of its dimension.
_WEIGHED: Final = {
    "front_axle": ("4300 lb", "1950 kg"),
    "rear_axle": ("3000 lb", "1360 kg"),
    "truck": ("7300 lb", "3310 kg"),
    "front_left": ("2150 lb", "975 kg"),
    "front_right": ("2150 lb", "975 kg"),
    "rear_left": ("1500 lb", "680 kg"),
    "rear_right": ("1500 lb", "680 kg"),
}
EXAMPLES: Final[dict[str, dict[str, tuple[str, str]]]] = {
    "Truck": {
        "wheelbase": ("158 in", "4000 mm"),
        "gvwr": ("11500 lb", "5200 kg"),
        "gcwr": ("26000 lb", "11800 kg"),
    },
    "Kerb": {
        "front_axle": ("4300 lb", "1950 kg"),
        "rear_axle": ("3000 lb", "1360 kg"),
        "left_share": ("0.5", "0.5"),
        "mass_height": ("28 in", "720 mm"),
    },
    "Aboard": {"weight": ("180 lb", "80 kg"), "share": ("0.5", "0.5")},
    "Axle": {
        "track": ("68 in", "1730 mm"),
        "spring_spacing": ("40 in", "1000 mm"),
        "motion_ratio": ("1.0", "1.0"),
        "unsprung_weight": ("620 lb", "280 kg"),
        "ride_height": ("20 in", "510 mm"),
        "gawr": ("6000 lb", "2700 kg"),
        "anti_roll_rate": ("890 lbf*ft/deg", "1200 N*m/deg"),
        "steel_rate": ("280 lbf/in", "49 N/mm"),
        "steel_load": ("800 lbf", "3600 N"),
        "roll_axis_height": ("16 in", "400 mm"),
    },
    "Tyres": {
        "per_side": ("1", "1"),
        "rate": ("2000 lbf/in", "350 N/mm"),
        "unloaded_radius": ("16.6 in", "422 mm"),
        "load_rating": ("3195 lb", "1450 kg"),
        "cold_pressure": ("80 psi", "5.5 bar"),
    },
    "Bag": {
        "fitted_height": ("6 in", "150 mm"),
        "height": ("6 in", "150 mm"),
        "area": ("48 in**2", "310 cm**2"),
        "load": ("4800 lbf", "21 kN"),
        "load_at": ("100 psi", "7 bar"),
        "volume": ("310 in**3", "5 L"),
        "volumes": ("310 in**3", "5 L"),
        "least_pressure": ("10 psi", "0.7 bar"),
        "greatest_pressure": ("100 psi", "7 bar"),
        "load_rating": ("5000 lbf", "22 kN"),
    },
    "Point": {"x": ("28 in", "710 mm"), "y": ("16 in", "410 mm"), "z": ("15 in", "380 mm")},
    "Driveshaft": {
        "output_angle": ("3 deg", "3 deg"),
        "pinion_angle": ("3 deg", "3 deg"),
        "joint_limit": ("20 deg", "20 deg"),
    },
    "Shock": {"shortest": ("15 in", "380 mm"), "longest": ("24 in", "610 mm")},
    "BrakeHose": {"length": ("18 in", "460 mm")},
    "Linkage": {
        "bump_travel": ("3 in", "75 mm"),
        "droop_travel": ("4 in", "100 mm"),
        "joint_limit": ("25 deg", "25 deg"),
    },
    "Hitch": {
        "x": ("-52 in", "-1320 mm"),
        "y": ("0 in", "0 mm"),
        "height": ("19 in", "480 mm"),
        "ball_diameter": ("2.3125 in", "58.7 mm"),
        "tongue_rating": ("1200 lb", "540 kg"),
        "trailer_rating": ("12000 lb", "5400 kg"),
        "roll_coupling": ("0.0", "0.0"),
        "lowest_height": ("12 in", "300 mm"),
        "d_value": ("18 kN", "18 kN"),
        "v_value": ("12 kN", "12 kN"),
    },
    "NamedPlace": {
        "x": ("95 in", "2400 mm"),
        "y": ("15 in", "380 mm"),
        "z": ("24 in", "610 mm"),
        "full": ("240 lb", "109 kg"),
    },
    "Bed": {
        "front": ("47 in", "1200 mm"),
        "rear": ("-46 in", "-1170 mm"),
        "end": ("-46 in", "-1170 mm"),
        "width": ("65 in", "1640 mm"),
        "rail_height": ("58 in", "1470 mm"),
    },
    "Instruments": {
        "gauge_step": ("1 psi", "0.1 bar"),
        "gauge_error": ("2 psi", "0.1 bar"),
        "tape_error": ("0.125 in", "3 mm"),
    },
    "Air": {
        "tank_volume": ("5 gal", "19 L"),
        "cut_in": ("110 psi", "7.6 bar"),
        "cut_out": ("145 psi", "10 bar"),
        "delivery_pressure": ("100 psi", "7 bar"),
        "delivery": ("1.1 ft**3/min", "31 L/min"),
        "duty": ("1.0", "1.0"),
        "line_bore": ("0.25 in", "6 mm"),
        "valve_conductance": ("1.2 L/(s*bar)", "1.2 L/(s*bar)"),
        "valve_critical_ratio": ("0.3", "0.3"),
    },
    "AirDemand": {"flow": ("4 ft**3/min", "110 L/min"), "time": ("30 s", "30 s")},
    "LineLengths": dict.fromkeys(("front_left", "front_right"), ("14 ft", "4.3 m"))
    | dict.fromkeys(("rear_left", "rear_right"), ("8 ft", "2.4 m")),
    "Trailer": {
        "gross_weight": ("7200 lb", "3270 kg"),
        "tongue_ratio": ("0.12", "0.12"),
        "coupling_height": ("19 in", "480 mm"),
        "parked_height": ("21 in", "530 mm"),
        "axle_distance": ("168 in", "4270 mm"),
        "axle_count": ("2", "2"),
        "gvwr": ("9990 lb", "4530 kg"),
        "axle_rating": ("5200 lb", "2360 kg"),
        "tyre_load_rating": ("2540 lb", "1150 kg"),
        "track": ("80 in", "2030 mm"),
        "left_share": ("0.5", "0.5"),
        "underside": ("24 in", "610 mm"),
        "axle_spacing": ("34 in", "860 mm"),
        "axle_rate": ("900 lbf/in", "160 N/mm"),
        "deck_length": ("20 ft", "6 m"),
        "centre_height": ("40 in", "1000 mm"),
    },
    "DeckItem": {"weight": ("1200 lb", "540 kg"), "ahead": ("20 in", "500 mm"), "left": ("0 in", "0 mm")},
    "Profile": {"left_share": ("0.5", "0.5")},
    "Stance": dict.fromkeys(("front", "rear", "lean"), ("0 in", "0 mm")),
    "Cargo": {
        "weight": ("420 lb", "190 kg"),
        "x": ("12 in", "300 mm"),
        "y": ("15 in", "380 mm"),
        "z": ("45 in", "1150 mm"),
    },
    "Hitching": dict.fromkeys(("gap", "stow_lift"), ("1 in", "25 mm")),
    "Pressures": dict.fromkeys(("front_left", "front_right", "rear_left", "rear_right"), ("42 psi", "2.9 bar")),
    "Slip": {"resolution": ("20 lb", "10 kg"), "tolerance": ("40 lb", "20 kg")},
    "TruckWeights": _WEIGHED,
    "HitchedWeights": _WEIGHED
    | {
        "trailer_axles": ("6300 lb", "2860 kg"),
        "trailer_left": ("3200 lb", "1450 kg"),
        "trailer_right": ("3100 lb", "1410 kg"),
    },
    "TrailerWeights": {
        "gross": ("7200 lb", "3270 kg"),
        "jack": ("860 lb", "390 kg"),
        "axles": ("6300 lb", "2860 kg"),
    },
    "Lever": {
        "reading": ("250 lb", "110 kg"),
        "beam": ("20 lb", "9 kg"),
        "tongue_arm": ("12 in", "300 mm"),
        "scale_arm": ("48 in", "1200 mm"),
        "resolution": ("1 lb", "0.5 kg"),
    },
    "CornerReading": {"pressure": ("42 psi", "2.9 bar"), "ride_height": ("20.1 in", "511 mm")},
}
# What a field is of another of the same record, on trucks and trailers as they are: the demo's ratios.
RELATED: Final[dict[str, dict[str, tuple[str, float]]]] = {
    "Truck": {"gcwr": ("gvwr", 2.26), "gvwr": ("gcwr", 0.44)},
    "Kerb": {"front_axle": ("rear_axle", 1.43), "rear_axle": ("front_axle", 0.70)},
    "Axle": {"spring_spacing": ("track", 0.58)},
    "Hitch": {"tongue_rating": ("trailer_rating", 0.10), "trailer_rating": ("tongue_rating", 10.0)},
    "Bag": {"height": ("fitted_height", 1.0), "fitted_height": ("height", 1.0)},
    "Trailer": {"gvwr": ("gross_weight", 1.4), "parked_height": ("coupling_height", 1.1)},
}


def example_of(cls: Model, name: str, system: System = "us") -> str | None:
    """Return a right example of a field of a record, as a file holds it; None for a field that is no number.

    Examples
    --------
    >>> from planner.records import Hitch
    >>> example_of(Hitch, "x"), example_of(Hitch, "x", "metric")
    ('-52 in', '-1320 mm')
    """
    own = EXAMPLES.get(cls.__name__, {}).get(name)
    if own is not None:
        return own[0 if system == "us" else 1]
    info = next((one for key, one in cls.model_fields.items() if name in (key, one.alias)), None)
    dimension = dimension_of(info) if info is not None else None
    if dimension is not None:
        return example(dimension)
    return {float: "0.5", int: "1"}.get(getattr(info, "annotation", None))  # type: ignore[arg-type]  # of None: none


def example_at(cls: Model, loc: Loc, beside: object = None) -> str | None:
    """Return a right example of the field at a place, fit for what stands beside it.

    Parameters
    ----------
    cls : the record that the place is seen from
    loc : the place, its last part a field; positions in a list are looked past
    beside : the table the field belongs to, as its file has it, or what was typed there: tells the system of units
    """
    owner, name = _owner(cls, loc)
    if owner is None:
        return None
    if isinstance(beside, Mapping) and (told := _related(owner, name, beside)):
        return told
    return example_of(owner, name, _system_at_hand(beside))


def with_example(refusal: Refusal, dimension: Dimension, own: str) -> Refusal:
    """Return a refusal of a text that is no quantity with the field's own example in place of its dimension's."""
    usual = f'such as "{example(dimension)}"'
    if usual not in refusal.rule:
        return refusal
    return Refusal(refusal.rule.replace(usual, f'such as "{own}"'), refusal.got, refusal.remedy)


def _owner(cls: Model, loc: Loc) -> tuple[Model | None, str]:
    """Return the record that has the field at a place, and the field's name."""
    names = [part for part in loc if isinstance(part, str)]
    if not names:
        return None, ""
    parent = field_at(cls, tuple(names[:-1])) if names[:-1] else None
    owner = cls if not names[:-1] else nested(parent.annotation)[0] if parent is not None else None
    return owner, names[-1]


def _related(owner: type[BaseModel], name: str, beside: Mapping[Any, Any]) -> str | None:
    """Return an example in the ratio it usually has to another field of the record, if that one can be read."""
    other, ratio = RELATED.get(owner.__name__, {}).get(name, ("", 0.0))
    typed = beside.get(other)
    info = field_at(owner, (other,)) if other else None
    dimension = dimension_of(info) if info is not None else None
    if dimension is None or not isinstance(typed, str | Quantity):
        return None
    try:
        value = read(typed, dimension) if not isinstance(typed, Quantity) else typed
        number, _, unit = in_unit_of(ratio * value, value).partition(" ")
    except Refusal:
        return None
    return f"{float(f'{float(number):.2g}'):.10g} {unit}"


def _system_at_hand(beside: object) -> System:
    """Return the system that a table, or what was typed, is written in; US where nothing tells."""
    texts = [one for one in (beside.values() if isinstance(beside, Mapping) else [beside]) if isinstance(one, str)]
    told = {system_of_quantity(text) for text in texts}
    return "metric" if "metric" in told and "us" not in told else "us"
