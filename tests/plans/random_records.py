"""Random valid records, as files would hold them: any layout, sane to absurd loads."""

import numpy as np

from planner.plans.setup import Setup
from planner.records import BadInput, Profile, Trailer, Truck, read_record

PLACES = ["driver", "passenger", "rear bench", "fuel tank", "tool box", "jump seat"]
LAYOUTS = [(front, rear) for front in ("separate", "joined", "none") for rear in ("separate", "joined", "none")]


def _axle(rng, kerb, plumbing):
    """Return an axle's table; kerb in kg."""
    solid = rng.random() < 0.7
    track = rng.uniform(1.4, 2.0)
    unsprung = kerb * rng.uniform(0.1, 0.35)
    ratio = rng.uniform(0.6, 1.2)
    sprung = (kerb - unsprung) * 9.80665
    axle = {
        "suspension": "solid" if solid else "independent",
        "track": f"{track} m",
        "motion_ratio": ratio,
        "unsprung_weight": f"{unsprung} kg",
        "ride_height": f"{rng.uniform(0.4, 0.6)} m",
        "gawr": f"{kerb * rng.uniform(1.0, 2.5)} kg",
        "anti_roll_rate": f"{rng.choice([0.0, rng.uniform(0, 2000)])} N*m/deg",
        "plumbing": plumbing if plumbing != "none" else "separate",
        "tyres": {
            "per_side": int(rng.integers(1, 3)),
            "rate": f"{rng.uniform(150, 600)} kN/m",
            "unloaded_radius": "420 mm",
            "load_rating": f"{rng.uniform(900, 1700)} kg",
            "cold_pressure": "80 psi",
        },
    }
    if solid:
        axle["spring_spacing"] = f"{track * rng.uniform(0.5, 1.0)} m"
    if plumbing == "none":
        rate = rng.uniform(20e3, 120e3)
        load = sprung / 2 / ratio + rate * rng.uniform(-0.1, 0.1)
        return axle | {"steel_rate": f"{rate} N/m", "steel_load": f"{max(load, 100.0)} N"}
    if rng.random() < 0.4:
        axle |= {
            "steel_rate": f"{rng.uniform(0, 80e3)} N/m",
            "steel_load": f"{sprung / 2 / ratio * rng.uniform(0, 0.95)} N",
        }
    steel = float(axle.get("steel_load", "0 N").split()[0])
    return axle | {"bag": _bag(rng, sprung / 2 / ratio - steel)}


def _bag(rng, kerb_load):
    """Return a bag's table: area flat, falling, or with a hump; its limits let it hold its load at kerb [N]."""
    points = int(rng.integers(2, 8))
    heights = np.cumsum(rng.uniform(0.01, 0.05, points)) + rng.uniform(0.03, 0.12)
    area = rng.uniform(0.012, 0.045)
    shape = rng.choice(["flat", "falling", "hump"])
    change = {
        "flat": np.ones(points),
        "falling": np.linspace(1.0, rng.uniform(0.5, 0.95), points),
        "hump": rng.uniform(0.8, 1.2, points),
    }[shape]
    fitted = rng.uniform(heights[0], heights[-1])
    needed = kerb_load / np.interp(fitted, heights, area * change) / 1e5
    least = min(rng.uniform(0, 1.0), 0.9 * needed)
    bag = {
        "fitted_height": f"{fitted} m",
        "height": [f"{h} m" for h in heights],
        "area": [f"{a} m**2" for a in area * change],
        "volume": f"{area * fitted * rng.uniform(1.2, 2.0)} m**3",
        "least_pressure": f"{least} bar",
        "greatest_pressure": f"{max(rng.uniform(5, 12), 1.1 * needed)} bar",
    }
    rating = max(rng.uniform(1e4, 4e4), 1.1 * kerb_load) if rng.random() < 0.5 else None
    return bag | ({"load_rating": f"{rating} N"} if rating else {})


def _hitch(rng, wheelbase):
    coupling = str(rng.choice(["ball", "pintle", "gooseneck", "fifth_wheel"]))
    behind = coupling in ("ball", "pintle")
    return {
        "name": "hitch",
        "coupling": coupling,
        "x": f"{-rng.uniform(0.6, 1.8) if behind else rng.uniform(-0.1, 0.3 * wheelbase)} m",
        "y": f"{rng.choice([0.0, rng.uniform(-0.1, 0.1)])} m",
        "height": f"{rng.uniform(0.35, 1.2)} m",
        "ball_diameter": "58.7 mm",
        "tongue_rating": f"{rng.uniform(300, 2000)} kg",
        "trailer_rating": f"{rng.uniform(3000, 9000)} kg",
        "roll_coupling": float(rng.choice([0.0, 1.0, rng.random()])),
    }


def _aboard(rng):
    """Who or what is at some of the places; a tank is filled, all else has a weight."""
    there = [str(place) for place in rng.permutation(PLACES)[: rng.integers(0, len(PLACES))]]
    return [
        {"place": place}
        | ({"share": rng.random()} if place == "fuel tank" else {"weight": f"{rng.uniform(0, 120)} kg"})
        for place in there
    ]


def random_setup(seed):
    """Return a random setup, or None where the draw breaks a rule of the records."""
    rng, more = np.random.default_rng(seed), np.random.default_rng((seed, 1))
    kerb_front, kerb_rear = rng.uniform(900, 2500, 2)
    wheelbase = rng.uniform(2.8, 4.8)
    front, rear = LAYOUTS[seed % len(LAYOUTS)]
    hitch = _hitch(rng, wheelbase)
    most = (kerb_front + kerb_rear) * rng.uniform(1.0, 2.0)
    truck = {
        "schema": 1,
        "name": "Any truck",
        "wheelbase": f"{wheelbase} m",
        "gcwr": f"{(kerb_front + kerb_rear) * rng.uniform(2.0, 5.0)} kg",
        "kerb": {
            "front_axle": f"{kerb_front} kg",
            "rear_axle": f"{kerb_rear} kg",
            "left_share": rng.uniform(0.45, 0.55),
            **({"mass_height": f"{rng.uniform(0.5, 1.2)} m"} if more.random() < 0.5 else {}),
            **({"aboard": _aboard(more)} if more.random() < 0.5 else {}),
        },
        "front": _axle(rng, kerb_front, front),
        "rear": _axle(rng, kerb_rear, rear),
        "hitches": [hitch],
        "places": [{"name": "jump seat", "x": f"{more.uniform(0, wheelbase)} m", "y": f"{more.uniform(-0.6, 0.6)} m"}],
    }
    axles = sum(float(truck[axle]["gawr"].split()[0]) for axle in ("front", "rear"))
    truck["gvwr"] = f"{min(most, axles)} kg"
    for axle in ("front", "rear"):
        truck[axle] |= {"roll_axis_height": f"{more.uniform(0, 0.6)} m"} if more.random() < 0.5 else {}
    gross = rng.uniform(200, 12000)
    trailer = {
        "schema": 1,
        "name": "Any trailer",
        "coupling": hitch["coupling"],
        "gross_weight": f"{gross} kg",
        "tongue_ratio": rng.uniform(0, 0.4),
        "coupling_height": "0.5 m",
        "parked_height": "0.5 m",
        "axle_distance": f"{rng.uniform(2, 9)} m",
        "axle_count": int(rng.integers(1, 4)),
        "gvwr": f"{gross * rng.uniform(0.7, 1.5)} kg",
        "axle_rating": f"{rng.uniform(800, 4000)} kg",
        "track": "2 m",
        "left_share": rng.uniform(0.3, 0.7),
        "bars": float(rng.choice([0.0, rng.uniform(0, 1.2)])) if float(hitch["x"].split()[0]) < 0 else 0.0,
    }
    hitched = bool(rng.random() < 0.8)
    profile = _profile(rng, more, wheelbase, hitched)
    try:
        return Setup.of(
            read_record(Profile, profile, "profile"),
            read_record(Truck, truck, "truck"),
            read_record(Trailer, trailer, "trailer") if hitched else None,
        )
    except BadInput:
        return None


def other_loads(setup, seed, count):
    """Return the truck and trailer of a setup with other loads, stances and shares."""
    rng, more = np.random.default_rng((seed, 2)), np.random.default_rng((seed, 3))
    wheelbase, hitched = float(setup.truck.wheelbase), setup.trailer is not None
    profiles = (read_record(Profile, _profile(rng, more, wheelbase, hitched), "profile") for _ in range(count))
    return [Setup.of(profile, setup.truck, setup.trailer) for profile in profiles]


def _profile(rng, more, wheelbase, hitched):
    """Return a profile's table: what lies on the truck, who is aboard, and the stance wanted."""
    profile = {
        "schema": 1,
        "name": "Any load",
        "truck": "truck",
        **({"trailer": "trailer", "hitch": "hitch"} if hitched else {}),
        "left_share": rng.uniform(0.2, 0.8),
        "stance": {
            "front": f"{rng.normal(0, 0.03):.4f} m",
            "rear": f"{rng.normal(0, 0.03):.4f} m",
            "lean": f"{rng.normal(0, 0.01):.4f} m",
        },
        "cargo": [
            {
                "name": f"item {i}",
                "weight": f"{rng.uniform(5, 1500)} kg",
                "x": f"{rng.uniform(-1.5, wheelbase)} m",
                "y": f"{rng.uniform(-1, 1)} m",
            }
            for i in range(int(rng.integers(0, 5)))
        ],
        "aboard": _aboard(more),
    }
    if more.random() < 0.5:
        crate = {"name": "crate", "weight": f"{more.uniform(5, 300)} kg", "at": str(more.choice(PLACES))}
        profile["cargo"].append(crate | ({"z": f"{more.uniform(0.3, 2)} m"} if more.random() < 0.5 else {}))
    return profile
