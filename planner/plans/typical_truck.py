"""A typical pickup on air springs: what each number of a truck is likely to be, from those that are known of it.

All proportions are from memory of such trucks; no standard gives them. Each stands in for a number that its owner has
not given yet, is marked so in the truck's file, and is as unsure as `uncertainty.spreads` says.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final, Literal

from planner.plans.typical import (
    BAR_RATE,
    MOTION_RATIO,
    UNSPRUNG_OF_GAWR,
    Estimate,
    KnownAxle,
    typical_axle,
    typical_kerb,
)
from planner.records import Suspension
from planner.units.quantity import STANDARD_GRAVITY as G
from planner.units.quantity import read

Known = Mapping[str, Any]  # by path as a file has it: numbers in SI, words
AxleName = Literal["front", "rear"]
AXLES: Final[tuple[AxleName, AxleName]] = ("front", "rear")

LB: Final = 0.45359237  # kg
INCH: Final = 0.0254  # m
PSI: Final = 6894.757293168361  # Pa

GVWR: Final = 10_000 * LB
GVWR_OF_AXLES: Final = 0.86  # of both axle ratings together
AXLES_OF_GVWR: Final = {"front": 0.52, "rear": 0.65}
KERB_OF_AXLE: Final = {"front": 0.70, "rear": 0.46}  # of the axle's rating
GCWR_OF_GVWR: Final = 2.3
RECEIVER_OF_WHEELBASE: Final = 0.33  # behind the rear axle
BED_BALL: Final = 4 * INCH  # ahead of the rear axle
RATED_AT: Final = 85 * PSI  # of a typical bag, when its axle is at its rating
FITTED: Final = 6  # in
LEAST: Final = 10 * PSI
FITTED_AREA: Final = "fitted_area"  # of an axle whose bag's chart is known: effective area at fitted height [m²]
ASIDE: Final = 0.05  # over what the axle's rating asks of a tyre
TONGUE: Final = 1200 * LB
TOWED: Final = 12_000 * LB


def typical_truck(known: Known) -> dict[str, Any]:
    """Return what is typical of every field of a truck that has to be there, by path, as a file has it.

    Parameters
    ----------
    known : mapping of path to value
        The fields that are the owner's own: quantities in SI, words as they are.

    Returns
    -------
    dict of path to text or number
        Of an axle without bags none of a bag; of one that is not solid no spacing of springs.

    Examples
    --------
    >>> typical_truck({"front.gawr": 2700.0, "rear.gawr": 3000.0})["gvwr"]
    '10900 lb'
    """
    axles = [float(known.get(f"{axle}.gawr", 0.0)) for axle in ("front", "rear")]
    gvwr = float(known.get("gvwr", GVWR_OF_AXLES * sum(axles) if all(axles) else GVWR))
    wheelbase = known.get("wheelbase") or 158 * INCH
    found: dict[str, Any] = {
        "wheelbase": _inches(wheelbase),
        "gvwr": _pounds(gvwr, 100),
        "gcwr": _pounds(GCWR_OF_GVWR * gvwr, 500),
    }
    gawr = _axle_ratings(known, gvwr)
    kerb = {axle: known.get(f"kerb.{axle}_axle") or KERB_OF_AXLE[axle] * gawr[axle] for axle in gawr}
    if (too_much := sum(kerb.values()) / (0.9 * gvwr)) > 1:
        kerb = {axle: known.get(f"kerb.{axle}_axle") or kerb[axle] / too_much for axle in kerb}
    found |= {f"kerb.{axle}_axle": _pounds(weight, 20) for axle, weight in kerb.items()} | {"kerb.left_share": 0.5}
    for axle in AXLES:
        own = {path.removeprefix(f"{axle}."): value for path, value in known.items() if path.startswith(f"{axle}.")}
        found |= {f"{axle}.{name}": value for name, value in _axle(axle, own, gawr[axle], kerb[axle]).items()}
    return found


def typical_bar(suspension: Suspension) -> str:
    """Return the roll rate that an anti-roll bar typically adds at an axle, as a file has it.

    Examples
    --------
    >>> typical_bar("solid")
    '1200 N*m/deg'
    """
    return f"{BAR_RATE[suspension]:.4g} N*m/deg"


def typical_estimates(known: Known) -> dict[str, Estimate]:
    """Return the typical values that have a spread and a reason of their own, by path, SI.

    Parameters
    ----------
    known : mapping of path to value
        As of `typical_truck`.

    Examples
    --------
    >>> typical_estimates({})["front.unsprung_weight"].standing
    'from memory'
    """
    whole = typical_truck(known)
    found = {f"kerb.{name}": one for name, one in typical_kerb().items()}
    for axle in AXLES:
        own = {path.removeprefix(f"{axle}."): value for path, value in known.items() if path.startswith(f"{axle}.")}
        gawr, kerb = (float(read(whole[path], "weight")) for path in (f"{axle}.gawr", f"kerb.{axle}_axle"))
        found |= {f"{axle}.{path}": one for path, one in typical_axle(_known_axle(axle, own, gawr, kerb)).items()}
    return found


def typical_hitch(coupling: str, wheelbase: float) -> dict[str, Any]:
    """Return what is typical of a hitch for a coupling, as a file has it.

    Examples
    --------
    >>> typical_hitch("ball", 4.0)["x"]
    '-52 in'
    """
    bed = coupling in ("gooseneck", "fifth_wheel")
    hitch: dict[str, Any] = {
        "name": {"ball": "receiver", "pintle": "pintle hook", "gooseneck": "bed ball"}.get(coupling, "fifth wheel"),
        "coupling": coupling,
        "x": _inches(BED_BALL if bed else -RECEIVER_OF_WHEELBASE * wheelbase),
        "height": {"gooseneck": "42 in", "fifth_wheel": "48 in"}.get(coupling, "19 in"),
        "tongue_rating": _pounds(3 * TONGUE if bed else TONGUE, 100),
        "trailer_rating": _pounds(TOWED, 500),
    }
    return hitch | ({"ball_diameter": "2.3125 in"} if coupling in ("ball", "gooseneck") else {})


def _axle_ratings(known: Known, gvwr: float) -> dict[str, float]:
    """Return both axle ratings [kg], as given, else such that they carry the gross rating."""
    given = {axle: float(known.get(f"{axle}.gawr", 0.0)) for axle in ("front", "rear")}
    found = {}
    for axle, other in (("front", "rear"), ("rear", "front")):
        least = gvwr - given[other] if given[other] else 0.0
        found[axle] = given[axle] or max(AXLES_OF_GVWR[axle] * gvwr, least)
    return found


def _axle(name: AxleName, own: Known, gawr: float, kerb: float) -> dict[str, Any]:
    """Return what is typical of one axle, by path from its table."""
    known = _known_axle(name, own, gawr, kerb)
    estimates = typical_axle(known)
    radius = known.tyre_radius
    found: dict[str, Any] = {
        "built": known.built,
        "suspension": known.suspension,
        "track": _inches(known.track or 68 * INCH),
        "ride_height": _inches(max(20 * INCH, radius + 3.5 * INCH)),
        "gawr": _pounds(gawr, 50),
        "plumbing": "separate",
        "tyres.per_side": known.tyres_per_side,
        "tyres.unloaded_radius": _inches(radius),
        "tyres.load_rating": _pounds(known.tyre_load / G, 5),
        "tyres.cold_pressure": "80 psi" if gawr / known.tyres_per_side > 2200 else "60 psi",
    }
    left_out = ("roll_axis_height", "track", "bag.volume")  # a record without them takes what is typical itself
    found |= {path: one.in_file("us") for path, one in estimates.items() if path not in left_out}
    if known.built != "steel only":
        found |= {f"bag.{path}": value for path, value in _bag(known.bag_area or 0.0).items()}
    return found


def _known_axle(name: AxleName, own: Known, gawr: float, kerb: float) -> KnownAxle:
    """Return what is known of an axle, with what is typical where that is nothing."""
    suspension: Suspension = own.get("suspension") or "solid"
    per_side = own.get("tyres.per_side") or 1
    rated = own.get("tyres.load_rating") or (1 + ASIDE) * gawr / (2 * per_side)
    unsprung = own.get("unsprung_weight")
    ratio = own.get("motion_ratio") or MOTION_RATIO[suspension]
    sprung = gawr - (UNSPRUNG_OF_GAWR[suspension] * gawr if unsprung is None else unsprung)
    area = max(sprung * G / (2 * ratio), 1000.0) / RATED_AT
    return KnownAxle(
        name,
        suspension,
        own.get("built") or "bag alone",
        kerb,
        gawr,
        rated * G,
        own.get("tyres.unloaded_radius") or 16 * INCH,
        per_side,
        own.get("track"),
        bag_area=own.get(FITTED_AREA) or area,
        least_pressure=float(own.get("bag.least_pressure") or LEAST),
        anti_roll_bar=bool(own.get("anti_roll_rate")),
        motion_ratio=own.get("motion_ratio"),
        unsprung_weight=unsprung,
    )


def _bag(area: float) -> dict[str, Any]:
    """Return what is typical of a bag with an effective area [m²] at fitted height: a chart of that height alone."""
    return {
        "fitted_height": f"{FITTED} in",
        "height": [f"{FITTED} in"],
        "area": [f"{area / INCH**2:.3g} in**2"],
        "least_pressure": "10 psi",
        "greatest_pressure": "100 psi",
    }


def _pounds(weight: float, step: int) -> str:
    """Return a weight [kg] in whole steps of pounds."""
    return f"{max(1, math.ceil(weight / LB / step - 1e-6)) * step} lb"


def _inches(length: float) -> str:
    """Return a length [m] in half inches."""
    return f"{round(2 * length / INCH) / 2:g} in"
