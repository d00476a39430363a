"""Invented linkages for tests: four bars whose upper ones meet, and four bars with a track bar."""

from typing import Any

Table = dict[str, Any]


def at(x: float, y: float, z: float) -> dict[str, str]:
    """Return a place in inches."""
    return {"x": f"{x} in", "y": f"{y} in", "z": f"{z} in"}


def make_linkage(**changes: Any) -> Table:
    """Return a triangulated four-link with all that hangs on it, of a truck with tyres of 16.6 in."""
    table: Table = {
        "lower": {"frame": at(28, 16, 15), "axle": at(0, 20, 13)},
        "upper": {"frame": at(21, 17, 22.5), "axle": at(-1, 4, 24)},
        "driveshaft": {
            "front": at(86, 1, 22),
            "output_angle": "2 deg",
            "pinion": at(11, 1, 17.5),
            "pinion_angle": "2 deg",
            "joint_limit": "20 deg",
        },
        "shock": {"frame": at(-9, 15, 31), "axle": at(-4, 19, 13), "shortest": "14 in", "longest": "24 in"},
        "hose": {"frame": at(9, 2, 26), "axle": at(1, 4, 20), "length": "16 in"},
        "joint_limit": "25 deg",
    }
    return table | changes


def make_track_bar(**changes: Any) -> Table:
    """Return four bars along the truck and a track bar: one more than the axle needs."""
    table: Table = {
        "lower": {"frame": at(28, 18, 15), "axle": at(0, 20, 13)},
        "upper": {"frame": at(22, 17, 22), "axle": at(-1, 17, 23)},
        "track_bar": {"frame": at(-5, -18, 19), "axle": at(-5, 18, 17)},
    }
    return make_linkage(**table | changes)
