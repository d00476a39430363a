"""What levelling aims at, and in which order it gives way at a limit.

Of a stance: the lean, the larger departure of the two rises, the other rise, which else were anywhere up to that, the
frame twist. Of a coupling, as in hitching: its height, the lean, the front's rise, the twist.

Where no axle has a line for each of its bags the rises come first. What such a truck leans by follows from its heights,
as far as its bags' areas do: put first, the lean would be bought with height where no limit is near. Of 135 random
trucks with one line an axle, all inside their limits, it took 2.4 mm of 31 mm of lean for 15 mm off the wanted rises on
average, 62 mm in the worst tenth; with the rises first all of them stand at their heights.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final, NamedTuple

import numpy as np

from planner.physics.array_layout import empty_arrays
from planner.physics.statics import Load
from planner.physics.truck_model import Rig
from planner.physics.validation import Array, Flags

MOMENT_SCALE: Final = 1e5  # [N·m/m] weighs a frame twist beside a rise
FRONT, REAR, ROLL, SPLIT = range(4)  # places in a state
Moves = tuple[tuple[tuple[int, float], ...], ...]


class Coupling(NamedTuple):
    """Where a coupling sits, if its height comes first: place over the wheelbase x / L [-], left of centre [m]."""

    arm: float
    left: float


@dataclass(frozen=True, eq=False)
class Goal:
    """What is aimed at, as coordinates that are nought where it is met, first things dearest.

    Attributes
    ----------
    names : of the coordinates: lean [m over the rear track], front, rear [m], twist [MOMENT_SCALE N·m], larger: of both
        rises [m]; coupling [m] in the place of rear
    weights : cost of each, so far apart that the dearest comes first, shape (c,)
    relaxed : the same once the lean is bound to what was reached and what a tape can tell; empty where that is not done
    moves : of each coordinate, how a unit of it moves the state: (place in the state, by how much)
    """

    names: tuple[str, ...]
    weights: Array
    moves: Moves
    relaxed: Array = field(default_factory=lambda: np.zeros(0))

    @property
    def lasting(self) -> Flags:
        """Which coordinates move the state, shape (c,)."""
        return np.array([name != "larger" for name in self.names])

    def state(self, target: Array, load: Load, coordinates: Array) -> Array:
        """Return the state at coordinates (c, n) off a target (n, 4), shape (n, 4)."""
        state = empty_arrays((4,), len(target))
        state[:] = target
        for move, coordinate in zip(self.moves, coordinates, strict=True):
            for place, share in move:
                state[:, place] += share * coordinate
        state[:, SPLIT] -= load.overturning_front * (state[:, ROLL] - target[:, ROLL])
        return state

    def coordinates(self, state: Array, target: Array, load: Load) -> Array:
        """Return the coordinates (c, n) of states (n, 4) off a target (n, 4)."""
        off = state - target
        split = off[:, SPLIT] + load.overturning_front * off[:, ROLL]
        moves = np.zeros((4, len(self.names)))
        for column, move in enumerate(self.moves):
            for place, share in move:
                moves[place, column] += share
        lasting = self.lasting
        found = np.zeros((len(self.names), len(off)))
        found[lasting] = np.linalg.solve(moves[:, lasting], np.stack([*off.T[:3], split]))
        if not lasting.all():
            found[~lasting] = np.abs(off[:, :2]).max(axis=-1)
        return found

    def rows(self, slopes: Array, load: Load) -> Array:
        """Return slopes by the state, (m, 4, n), as slopes by the coordinates, (m, c, n)."""
        rows = np.empty((len(slopes), len(self.names), slopes.shape[-1]))
        with_roll = slopes[:, ROLL] - load.overturning_front * slopes[:, SPLIT]  # the split goes with the roll
        by_state = (slopes[:, FRONT], slopes[:, REAR], with_roll, slopes[:, SPLIT])
        for place, move in enumerate(self.moves):
            (first, part), *others = move or ((FRONT, 0.0),)
            np.multiply(by_state[first], part, out=rows[:, place])
            for at, share in others:
                rows[:, place] += share * by_state[at]
        return rows


def goal_of(rig: Rig, coupling: Coupling | None = None) -> Goal:
    """Return what a rig aims at: a stance, or the height of its coupling first.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> rig = rig_of(read_truck("profiles/trucks/ridge-truck.toml"))
    >>> goal_of(rig).names  # what gives way, each by its weight
    ('lean', 'front', 'rear', 'twist', 'larger')
    """
    lean = ((ROLL, 1.0 / float(rig.track[1])),)
    front, rear, twist = ((FRONT, 1.0),), ((REAR, 1.0),), ((SPLIT, MOMENT_SCALE),)
    steered = any(has and not joined for has, joined in zip(rig.has_bag, rig.joined, strict=True))
    if coupling is None:
        names, moves = ("lean", "front", "rear", "twist", "larger"), (lean, front, rear, twist, ())
        if not steered:
            return Goal(names, np.array([1e-7, 1e-4, 1e-4, 1e-10, 1.0]), moves)
        return Goal(names, np.array([1.0, 1e-7, 1e-7, 1e-10, 1e-4]), moves, np.array([1e-4, 1e-7, 1e-7, 1e-10, 1.0]))
    back = 1.0 / (1.0 - coupling.arm)  # the rear's rise keeps the coupling's height while front and roll move
    back_moves: Moves = (
        (*lean, (REAR, -coupling.left * back * lean[0][1])),
        (*front, (REAR, -coupling.arm * back)),
        ((REAR, back),),
        twist,
    )
    weights = np.array([1e-3, 1e-6, 1.0, 1e-9] if steered else [1e-6, 1e-3, 1.0, 1e-9])
    return Goal(("lean", "front", "coupling", "twist"), weights, back_moves)
