"""A typical pickup on air springs: what each number of a truck is likely to be, from those that are known of it.

All proportions are from memory of such trucks; no standard gives them. Each stands in for a number that its owner has
not given yet, is marked so in the truck's file, and is as unsure as `uncertainty.spreads` says.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

from planner.units.quantity import STANDARD_GRAVITY as G

Known = Mapping[str, Any]  # by path as a file has it: numbers in SI, words

LB: Final = 0.45359237  # kg
INCH: Final = 0.0254  # m
PSI: Final = 6894.757293168361  # Pa

GVWR: Final = 10_000 * LB
GVWR_OF_AXLES: Final = 0.86  # of both axle ratings together
AXLES_OF_GVWR: Final = {"front": 0.52, "rear": 0.65}
KERB_OF_AXLE: Final = {"front": 0.70, "rear": 0.46}  # of the axle's rating
GCWR_OF_GVWR: Final = 2.3
SPACING_OF_TRACK: Final = 0.6
RECEIVER_OF_WHEELBASE: Final = 0.33  # behind the rear axle
BED_BALL: Final = 4 * INCH  # ahead of the rear axle
RATED_AT: Final = 85 * PSI  # of a typical bag, when its axle is at its rating
CHART: Final = {3: 1.17, 4: 1.14, 5: 1.08, 6: 1.0, 7: 0.92, 8: 0.81}  # height [in], part of the area at fitted height
FITTED: Final = 6  # in
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
    '10800 lb'
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
    for axle in ("front", "rear"):
        own = {path.removeprefix(f"{axle}."): value for path, value in known.items() if path.startswith(f"{axle}.")}
        found |= {f"{axle}.{name}": value for name, value in _axle(own, gawr[axle], kerb[axle]).items()}
    return found


def typical_bar(axle: str) -> str:
    """Return the roll rate that an anti-roll bar typically adds at an axle, as a file has it.

    Examples
    --------
    >>> typical_bar("front")
    '1200 N*m/deg'
    """
    return "1200 N*m/deg" if axle == "front" else "800 N*m/deg"


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


def _axle(own: Known, gawr: float, kerb: float) -> dict[str, Any]:
    """Return what is typical of one axle, by path from its table."""
    built, suspension = own.get("built") or "bag alone", own.get("suspension") or "solid"
    per_side, track = own.get("tyres.per_side") or 1, own.get("track") or 68 * INCH
    unsprung = own.get("unsprung_weight") or min(0.11 * gawr, 0.4 * kerb)
    ratio = own.get("motion_ratio") or (1.0 if suspension == "solid" else 0.6)
    per_tyre = gawr / (2 * per_side)
    rated = own.get("tyres.load_rating") or (1 + ASIDE) * per_tyre
    radius = own.get("tyres.unloaded_radius") or 16 * INCH
    at_kerb, at_rating = ((weight - unsprung) * G / (2 * ratio) for weight in (kerb, gawr))  # [N], at the spring
    found: dict[str, Any] = {
        "built": built,
        "suspension": suspension,
        "track": _inches(track),
        "motion_ratio": ratio,
        "unsprung_weight": _pounds(unsprung, 10),
        "ride_height": _inches(max(20 * INCH, radius + 3.5 * INCH)),
        "gawr": _pounds(gawr, 50),
        "anti_roll_rate": "0 N*m/deg",
        "plumbing": "separate",
        "tyres.per_side": per_side,
        "tyres.rate": f"{_three(rated * G / (1.6 * INCH) / 175.126835)} lbf/in",
        "tyres.unloaded_radius": _inches(radius),
        "tyres.load_rating": _pounds(rated, 5),
        "tyres.cold_pressure": "80 psi" if per_tyre > 1100 else "60 psi",
    }
    if suspension == "solid":
        found["spring_spacing"] = _inches(SPACING_OF_TRACK * track)
    share, travel = {
        "bag alone": (0.0, math.inf),
        "bag over leaf": (0.6, 5 * INCH),
        "bag with coil": (0.6, 6 * INCH),
        "steel only": (1.0, 5 * INCH),
    }[built]
    load = own.get("steel_load", share * at_kerb)
    rate = own.get("steel_rate", at_kerb / travel)
    found |= {"steel_load": f"{_three(load / 4.4482216)} lbf", "steel_rate": f"{_three(rate / 175.126835)} lbf/in"}
    if built != "steel only":
        found |= {f"bag.{name}": value for name, value in _bag(at_rating - load).items()}
    return found


def _bag(load: float) -> dict[str, Any]:
    """Return what is typical of a bag that carries a load [N] when its axle is at its rating."""
    area = max(load, 1000.0) / RATED_AT / INCH**2  # [in²]
    return {
        "fitted_height": f"{FITTED} in",
        "height": [f"{height} in" for height in CHART],
        "area": [f"{_three(area * part)} in**2" for part in CHART.values()],
        "volume": f"{_three(area * FITTED * 1.1)} in**3",
        "least_pressure": "10 psi",
        "greatest_pressure": "100 psi",
    }


def _pounds(weight: float, step: int) -> str:
    """Return a weight [kg] in whole steps of pounds."""
    return f"{max(1, math.ceil(weight / LB / step - 1e-6)) * step} lb"


def _inches(length: float) -> str:
    """Return a length [m] in half inches."""
    return f"{round(2 * length / INCH) / 2:g} in"


def _three(number: float) -> str:
    """Return a number with three figures."""
    return f"{float(f'{number:.3g}'):g}"
