"""A fleet on a Dask cluster of two worker processes: the same to the last bit, and nothing is lost with a worker."""

import os
import signal

import numpy as np
import pytest

from planner.errors import Refusal
from planner.plans.fleet import Fleet, judge_fleet
from planner.plans.fleet_cluster import judged_on

from .any_fleet import some_trailers, some_trucks

distributed = pytest.importorskip("distributed", reason="the extra planner[fleet] is not installed")


@pytest.fixture(scope="module")
def cluster():
    """Start a scheduler and two workers on this machine; end them after the tests."""
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as found:
        yield found


def same(one, other):
    """Tell whether two fleets say the same, to the last bit."""
    arrays = ("code", "hitch", "levels", "pressure", "heaviest")
    return one.stops == other.stops and all(
        np.array_equal(getattr(one, name), getattr(other, name), equal_nan=name in arrays[3:]) for name in arrays
    )


def test_two_workers_and_one_that_is_killed_say_the_same_as_one_machine(cluster):
    trucks, trailers = some_trucks(6), some_trailers(6)
    here, there = judge_fleet(trucks, trailers), Fleet(tuple(trucks), tuple(trailers))
    work = judged_on(cluster.scheduler_address, there)  # a truck a block
    assert next(work) == 1
    os.kill(next(iter(cluster.workers.values())).pid, signal.SIGKILL)
    assert list(work) == list(range(2, 7))
    assert same(here, there)


def test_no_scheduler_at_an_address_is_told():
    with pytest.raises(Refusal, match="address of a Dask scheduler that answers"):
        next(judged_on("nonsense://nowhere", Fleet((), ())))
