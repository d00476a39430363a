"""Levelling of many trucks: those of one layout are levelled as one truck, whatever they weigh.

A truck that weighs more is the same truck on another load, wanted at another height. Springs feel a truck's sprung
load, W - u of an axle, and how far its tyres are squashed beyond its own kerb weight, (W - K) / 2κ. With the load
W - u + u' in place of W both are those of a truck of kerb weight K' and unsprung weight u', but for a height of
((K' - u') - (K - u)) / 2κ by which the body stands off; so that much is added to what is wanted, and taken off again.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import replace
from typing import Final, NamedTuple

import numpy as np

from planner.physics.levelling import Levelled, level
from planner.physics.statics import Load
from planner.physics.truck_model import Rig
from planner.physics.validation import Array

SHARED: Final = ("half_spacing", "track", "motion_ratio", "tyre_rate", "anti_roll_rate", "steel_rate", "steel_load")


def level_trucks(rigs: Sequence[Rig], loads: Sequence[Load], wanted: Sequence[Array]) -> list[Levelled]:
    """Return what `level` finds of each truck, in the shape of its load.

    Parameters
    ----------
    rigs : sequence of Rig, (t,)
        One truck each; those with the same bags, lines, rates and springs' places are levelled in one batch.
    loads : sequence of Load, (t,)
        Of each truck, any number of cases.
    wanted : sequence of array, (t,), each of shape (..., 3)
        As in `level`.

    Returns
    -------
    list of Levelled, (t,)
        To what the stops of a search leave, that of `level`; of a truck without its like, the same to the bit.

    Examples
    --------
    >>> from planner import read_truck
    >>> from planner.plans.setup import rig_of
    >>> light = read_truck("profiles/trucks/ridge-truck.toml")
    >>> heavy = light.replaced(kerb=light.kerb.replaced(rear_axle="3400 lb"))
    >>> rigs = [rig_of(light), rig_of(heavy)]
    >>> found = level_trucks(rigs, [rig.kerb for rig in rigs], [np.zeros(3)] * 2)
    >>> [one.pressure[1].round(-3).tolist() for one in found]  # the rear bags
    [[169000.0, 162000.0], [198000.0, 190000.0]]
    """
    groups: dict[Hashable, list[_Truck]] = {}
    for place, parts in enumerate(zip(rigs, loads, wanted, strict=True)):
        groups.setdefault(_layout(parts[0]), []).append(_Truck(place, *parts))
    found = dict[int, Levelled]()
    for trucks in groups.values():
        found |= zip((truck.place for truck in trucks), _level_alike(trucks), strict=True)
    return [found[place] for place in range(len(rigs))]


class _Truck(NamedTuple):
    """One of many trucks, and its load."""

    place: int
    rig: Rig
    load: Load
    wanted: Array

    @property
    def shape(self) -> tuple[int, ...]:
        """Of its cases."""
        return np.broadcast_shapes(self.load.side_moment.shape, self.wanted.shape[:-1])


def _layout(rig: Rig) -> Hashable:
    """Return what is the same of trucks that may be levelled as one."""
    numbers = (getattr(rig, name).tobytes() for name in (*SHARED, "bag_offset", "chart_tilt"))
    return rig.bags, rig.joined, rig.tape_error, *numbers


def _level_alike(trucks: Sequence[_Truck]) -> Iterator[Levelled]:
    """Yield what `level` finds of trucks of one layout, as loads of the first."""
    first, loads, stances, offs = trucks[0].rig, list[Load](), list[Array](), list[Array]()
    for truck in trucks:
        rig, load = truck.rig, truck.load.spread(truck.shape)
        sprung = (one.kerb.axle - one.unsprung_load for one in (first, rig))
        off = np.subtract(*sprung) / (2.0 * rig.tyre_rate)
        loads.append(replace(load, axle=load.axle + (first.unsprung_load - rig.unsprung_load)))
        stances.append(np.broadcast_to(truck.wanted, (*truck.shape, 3)).reshape(-1, 3))
        offs.append(np.broadcast_to(off, (len(load.side_moment), 2)))
    stance, off = np.concatenate(stances), np.concatenate(offs)
    stance[:, :2] += off
    whole, end = level(first, Load.joined(loads), stance), 0
    whole.state[:, :2] -= off
    for truck, load in zip(trucks, loads, strict=True):
        start, end = end, end + len(load.side_moment)
        yield whole.of(slice(start, end)).shaped(truck.shape)
