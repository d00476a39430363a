"""Ride heights as people measure them: hub to arch, ground to arch, or "3/4 in low" of where it should be."""

from __future__ import annotations

import re
from typing import Final, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from planner.forms.parse import read_quantity
from planner.plans.answer import Answer
from planner.plans.hub_height import hub_heights
from planner.plans.setup import Setup, rig_of
from planner.units.quantity import Quantity, Refusal, System, in_unit_of, read, shown, spell_fractions

Way = Literal["hub", "ground"]  # from where the tape is held, up to the arch lip
WAYS: Final[dict[Way, str]] = {"hub": "Hub to arch", "ground": "Ground to arch"}
HIGHEST: Final = 3.0  # [m] as the record of a reading has it

_OFF: Final = re.compile(r"(?P<amount>.*?)\s*\b(?P<way>low|high)", re.IGNORECASE | re.DOTALL)


class Bases(NamedTuple):
    """What tapes are counted from at each corner, arrays of shape (2, 2).

    wanted : hub to arch where the truck stands as wanted under its planned load [m]
    hub : height of the wheel's centre above ground under that load [m]
    """

    wanted: NDArray[np.float64]
    hub: NDArray[np.float64]


class TypedHeight(NamedTuple):
    """A height as typed: the amount, and -1 or 1 where it is so much low or high, else 0."""

    amount: Quantity
    side: int

    @property
    def text(self) -> str:
        """The height with the unit it was typed in."""
        return self.amount.text + {-1: " low", 0: "", 1: " high"}[self.side]


def read_height(text: str, system: System) -> TypedHeight:
    """Return what a text says of a height; Refusal if it cannot be read, or is so much low with a sign before it.

    Examples
    --------
    >>> read_height("¾ in low", "us").side
    -1
    """
    plain = spell_fractions(text.strip())
    found = _OFF.fullmatch(plain)
    if found is None:
        amount = read_quantity(plain, "length", system)
        if not 0 < amount <= HIGHEST:
            raise Refusal("must be > 0 in and <= 118 in", shown(text), 'write one such as "20.1 in", or "3/4 in low"')
        return TypedHeight(amount, 0)
    if found["amount"].lstrip().startswith(("-", "−", "+")):
        raise Refusal("low or high says which way", shown(text), 'write it without the sign, such as "1/2 in low"')
    return TypedHeight(read_quantity(found["amount"], "length", system), -1 if found["way"].lower() == "low" else 1)


def ride_height(typed: TypedHeight, way: Way, bases: Bases, place: int) -> Quantity:
    """Return a height as hub to arch, in the unit in which it was typed; Refusal if that is none.

    Ground to arch less the height of the hub, which is that of the planned load on the tyre's rate.
    """
    wanted, hub = (float(part.ravel()[place]) for part in bases)
    if typed.side:
        height = wanted + typed.side * typed.amount
    elif way == "ground":
        height = typed.amount - hub
    else:
        return typed.amount
    if not 0 < height <= HIGHEST:
        got = in_unit_of(height, typed.amount)
        raise Refusal("must leave a height of the arch above the hub", got, "check from where it was measured")
    return read(in_unit_of(height, typed.amount), "length")


def bases_of(setup: Setup, planned: Answer) -> Bases:
    """Return what heights of a setup are counted from, at its planned load."""
    rig = rig_of(setup.truck)
    load = setup.load(rig)
    axles = (setup.truck.front, setup.truck.rear)
    design = np.array([[float(axle.ride_height)] for axle in axles])
    wanted = np.append(setup.wanted, load.least_twist_at(setup.wanted[2]))
    return Bases(design + rig.ride_heights(load, wanted), hub_heights(setup.truck, planned.tyre_load))
