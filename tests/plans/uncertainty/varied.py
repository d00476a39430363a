"""A setup with some of its inputs changed, through its records."""

from dataclasses import replace


def with_input(setup, key, value):
    """Return a setup with one input changed, through its records."""
    head, _, rest = key.partition(".")
    if key.endswith("weight"):
        value = max(value, 1e-9)  # no record weighs nothing
    if key == "weight":
        return with_trailer(setup, gross_weight=f"{value:.12f} kg")
    if key == "tongue":
        return with_trailer(setup, tongue_ratio=float(value))
    if key == "bars":
        return with_trailer(setup, bars=float(value))
    if key == "left":
        return replace(setup, left_share=float(value))
    if head == "stance":
        return replace(setup, stance=setup.stance.replaced(**{rest: f"{value:.12f} m"}))
    place, _, name = rest.partition(".")
    cargo = list(setup.cargo)
    unit = "kg" if name == "weight" else "m"
    cargo[int(place)] = cargo[int(place)].replaced(**{name: f"{value:.12f} {unit}"})
    return replace(setup, cargo=tuple(cargo))


def with_trailer(setup, **numbers):
    """Return a setup with numbers of its trailer changed; a deck gives way to what it comes to."""
    trailer = setup.trailer
    known = {"gross_weight": f"{trailer.weight:.12f} kg", "tongue_ratio": trailer.tongue_share, "deck": ()}
    share = {"left_share": trailer.side_share}
    return replace(setup, trailer=trailer.replaced(**{**known, **share, **numbers}))


def fine(setup):
    """Return a setup whose gauge can be set to anything: what a coarse one leaves over is not the load's."""
    instruments = setup.truck.instruments.replaced(gauge_step="0.001 psi")
    return replace(setup, truck=setup.truck.replaced(instruments=instruments))
