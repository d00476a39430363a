"""Saved pressures against the limits of the bags they are for."""

from planner.records import CORNERS, Problem, Profile, Truck
from planner.records.fields import PRESSURE_SLACK


def pressures_past_limits(file: str, profile: Profile, truck: Truck) -> list[Problem]:
    """Return which saved pressures are past a limit of their bag: they are shown as saved, and must not be set."""
    found = []
    for corner in CORNERS if profile.pressures is not None else ():
        name, saved = corner.split("_")[0], getattr(profile.pressures, corner)
        bag = (truck.front if name == "front" else truck.rear).bag
        if bag is None or saved is None:
            continue
        for limit, sign, called in ((bag.greatest_pressure, "<=", "greatest"), (bag.least_pressure, ">=", "least")):
            if (saved > limit + PRESSURE_SLACK) if sign == "<=" else (saved < limit - PRESSURE_SLACK):
                rule = f'must be {sign} {called}_pressure of the {name} bag ("{limit.text}")'
                remedy = "level it again and save, or correct the limit in the truck's file"
                found.append(Problem(file, f"pressures.{corner}", f'"{saved.text}"', rule, remedy))
    return found
