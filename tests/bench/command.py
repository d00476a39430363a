"""How long the commands take to start, beside the imports they cannot do without. Prints one JSON object.

Run: python tests/bench/command.py [rounds]
"""

import json
import statistics
import subprocess
import sys
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
LIBRARIES = "import numpy, scipy.interpolate, pint, pydantic; pint.UnitRegistry()"
COMMANDS = {
    "nothing": [sys.executable, "-c", "pass"],
    "libraries": [sys.executable, "-c", LIBRARIES],
    "help": [sys.executable, "-m", "planner", "--help"],
    "level": [sys.executable, "-m", "planner", "level", "mill-on-the-hill-road", "--json"],
}


def seconds(command):
    """Return how long a command takes."""
    start = time.perf_counter()
    subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def main():
    """Time the commands in turn, so that a busy machine slows all of them alike."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    times = {name: [] for name in COMMANDS}
    for _ in range(rounds):
        for name, command in COMMANDS.items():
            times[name].append(seconds(command))
    median = {name: statistics.median(values) for name, values in times.items()}
    print(
        json.dumps(
            {
                "rounds": rounds,
                "median_seconds": {name: round(value, 3) for name, value in median.items()},
                "level_over_libraries": round(median["level"] / median["libraries"], 2),
            }
        )
    )


main()
