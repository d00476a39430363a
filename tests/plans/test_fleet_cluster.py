"""A fleet on a Dask cluster of two worker processes: the same to the last bit, and nothing is lost with a worker."""

import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from planner.errors import Refusal
from planner.plans.fleet import Fleet, judge_fleet
from planner.plans.fleet_cluster import judged_on

from .any_fleet import some_trailers, some_trucks

ROOT = Path(__file__).parents[2]
distributed = pytest.importorskip("distributed", reason="the extra planner[fleet] is not installed")


@pytest.fixture(scope="module")
def cluster():
    """Start a scheduler and two workers on this machine, as the README says it; give its address and them."""
    with distributed.LocalCluster(
        n_workers=0, processes=False, protocol="tcp://", host="127.0.0.1", dashboard_address=None
    ) as found:
        command = [sys.executable, "-m", "distributed.cli.dask_worker", found.scheduler_address]
        command += ["--nthreads", "1", "--no-nanny", "--no-dashboard"]
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL, "cwd": ROOT}
        workers = [subprocess.Popen(command, **quiet) for _ in range(2)]
        try:
            with distributed.Client(found) as client:
                client.wait_for_workers(2, timeout=300)
            yield found.scheduler_address, workers
        finally:
            for worker in workers:
                worker.kill()
                worker.wait()


def same(one, other):
    """Tell whether two fleets say the same, to the last bit."""
    arrays = ("code", "hitch", "levels", "pressure", "heaviest")
    return one.stops == other.stops and all(
        np.array_equal(getattr(one, name), getattr(other, name), equal_nan=name in arrays[3:]) for name in arrays
    )


def test_two_workers_and_one_that_is_killed_say_the_same_as_one_machine(cluster):
    trucks, trailers = some_trucks(6), some_trailers(6)
    here, there = judge_fleet(trucks, trailers), Fleet(tuple(trucks), tuple(trailers))
    address, workers = cluster
    work = judged_on(address, there)  # a truck a block
    assert next(work) == 1
    workers[0].kill()
    assert list(work) == list(range(2, 7))
    assert same(here, there)


def test_no_scheduler_at_an_address_is_told():
    with pytest.raises(Refusal, match="address of a Dask scheduler that answers"):
        next(judged_on("nonsense://nowhere", Fleet((), ())))
