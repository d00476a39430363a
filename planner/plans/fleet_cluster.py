"""A fleet judged on a Dask cluster: the same blocks, only elsewhere; needs the extra `planner[fleet]`.

A block's task holds all that it needs, so one whose worker is lost is done again by another, and nothing else is lost.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import closing
from importlib import import_module
from typing import Any

from planner.errors import Refusal
from planner.plans.fleet import PAIRS, Block, Fleet, Judge, Task, judged


def judged_on(address: str, fleet: Fleet, *, heaviest: bool = True, pairs: int = PAIRS) -> Iterator[int]:
    """Judge a fleet on the workers of a Dask scheduler; yield how many trucks are done, as `judged` does.

    Parameters
    ----------
    address : str
        Of the scheduler, such as "tcp://host:8786". Its workers have the planner installed, in the same version.
    fleet, heaviest, pairs
        As in `judged`. On workers with the same processor and libraries the numbers are those of one machine to the
        last bit, as the blocks are the same.

    Raises
    ------
    Refusal
        If dask.distributed is not installed, or no scheduler answers at the address.
    """
    client = _client(address)
    with closing(client):

        def run(judge: Judge, tasks: Sequence[Task]) -> Iterator[Block]:
            waiting = client.map(judge, tasks, pure=False)
            while waiting:
                yield waiting.pop(0).result()

        yield from judged(fleet, heaviest=heaviest, pairs=pairs, run=run)


def _client(address: str) -> Any:
    """Return a client of a scheduler. dask.distributed has no types of its own, and only this needs it."""
    try:
        distributed: Any = import_module("distributed")
    except ModuleNotFoundError as error:
        remedy = 'pip install "trailer-setup-planner[fleet]"'
        raise Refusal("a scheduler needs dask.distributed", "not installed", remedy) from error
    try:
        return distributed.Client(address)
    except (OSError, ValueError) as error:  # a timeout is an OSError
        remedy = "start dask scheduler there, or look at the address"
        raise Refusal("--scheduler must be the address of a Dask scheduler that answers", address, remedy) from error
