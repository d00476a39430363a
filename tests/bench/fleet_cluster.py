"""How the work of a fleet is shared by two Dask workers, in processor time: JSON.

Run: python tests/bench/fleet_cluster.py [trucks, default 1000] [trailers, default 1000] [rounds, default 3]

Other work on the machine moves wall clocks, so each worker's own processor time is read: one worker's alone, over that
of the busier of two, is by how much two are quicker where each has a core; beside it what client and scheduler take.
"""

import os

os.environ |= dict.fromkeys(("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"), "1")

import json
import statistics
import subprocess
import sys
import time
from pathlib import Path

import distributed

from planner.plans.fleet import Fleet
from planner.plans.fleet_cluster import judged_on
from tests.plans.any_fleet import some_trailers, some_trucks

START = 4  # trucks judged before anything is timed: imports and charts


def used(process):
    """Return the processor time that a process has taken. [s]"""
    numbers = Path(f"/proc/{process.pid}/stat").read_text("ascii").rsplit(")", 1)[1].split()
    return (int(numbers[11]) + int(numbers[12])) / os.sysconf("SC_CLK_TCK")


def shared(trucks, trailers, count):
    """Return the processor time of each of some workers, and that of client and scheduler. [s]"""
    local = {"n_workers": 0, "processes": False, "protocol": "tcp://", "host": "127.0.0.1", "dashboard_address": None}
    with distributed.LocalCluster(**local) as cluster:
        command = [sys.executable, "-m", "distributed.cli.dask_worker", cluster.scheduler_address]
        command += ["--nthreads", "1", "--no-nanny", "--no-dashboard"]
        quiet = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
        workers = [subprocess.Popen(command, **quiet) for _ in range(count)]
        try:
            with distributed.Client(cluster) as client:
                client.wait_for_workers(count)
            for some in (trucks[:START], trucks):
                before, own = [used(worker) for worker in workers], time.process_time()
                for _ in judged_on(cluster.scheduler_address, Fleet(tuple(some), tuple(trailers)), heaviest=False):
                    pass
            return [used(worker) - one for worker, one in zip(workers, before, strict=True)], time.process_time() - own
        finally:
            for worker in workers:
                worker.kill()
                worker.wait()


def main():
    """Measure, and print."""
    counts = [int(text) for text in sys.argv[1:4]]
    truck_count, trailer_count, rounds = [*counts, *(1000, 1000, 3)[len(counts) :]]
    trucks, trailers = some_trucks(truck_count), some_trailers(trailer_count)
    found = []
    for _ in range(rounds):
        (alone,), _ = shared(trucks, trailers, 1)
        both, beside = shared(trucks, trailers, 2)
        found.append(
            {
                "one_worker": round(alone, 2),
                "two_workers": [round(one, 2) for one in both],
                "client_and_scheduler": round(beside, 2),
                "quicker": round(alone / max(both), 2),
            }
        )
        print(json.dumps(found[-1]), file=sys.stderr, flush=True)
    print(json.dumps({"rounds": found, "quicker": statistics.median(one["quicker"] for one in found)}))


if __name__ == "__main__":
    main()
