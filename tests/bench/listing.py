"""How long a folder of many profiles takes to list, beside reading the same bytes raw. Prints one JSON object.

Run: python tests/bench/listing.py [profiles] [rounds]
"""

import json
import os
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).parents[2]
SETTLED = 2.5  # seconds; files that have just been written are not kept yet
EXTRA = """
[pressures]
front_left = "42 psi"
front_right = "41 psi"
rear_left = "63 psi"
rear_right = "61 psi"

[[readings]]
at = 2026-05-04T07:30:00
front_left = { pressure = "42 psi", ride_height = "20.1 in" }
rear_left = { pressure = "63 psi", ride_height = "21.0 in" }
"""
LIST = """
import json, sys, time
started = time.perf_counter()
from pathlib import Path
from planner.store import PROFILE, Store
loaded = time.perf_counter()
store = Store(Path(sys.argv[1]))
entries = store.entries(PROFILE)
listed = time.perf_counter()
again = store.entries(PROFILE)
done = time.perf_counter()
assert len(entries) == len(again) == int(sys.argv[2]) and all(entry.brief for entry in entries)
print(json.dumps({"load": loaded - started, "list": listed - loaded, "again": done - listed}))
"""
RAW = """
import json, os, sys, time
started = time.perf_counter()
size = 0
for name in os.listdir(sys.argv[1]):
    if name.endswith(".toml"):
        with open(os.path.join(sys.argv[1], name), "rb") as file:
            size += len(file.read())
print(json.dumps({"list": time.perf_counter() - started, "size": size}))
"""


def fill(folder, count):
    """Make a folder of profiles like those of the demo, saved and read once."""
    shutil.copytree(ROOT / "profiles", folder, ignore=shutil.ignore_patterns("bin", "drafts", "*.lock"))
    for path in folder.glob("*.toml"):
        path.unlink()
    text = (ROOT / "profiles/mill-on-the-hill-road.toml").read_text("utf-8")
    text = "\n".join(line for line in text.split("\n") if line.strip())
    for number in range(count):
        named = text.replace("Mill on the hill road", f"Mill on the hill road {number}")
        (folder / f"mill-on-the-hill-road-{number}.toml").write_text(named + "\n" + EXTRA, "utf-8")


def run(script, folder, count, cache):
    """Return what a process of its own found, and how long it took from start to end."""
    start = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "-c", script, str(folder), str(count)],
        cwd=ROOT,
        env={**os.environ, "XDG_CACHE_HOME": str(cache)},
        check=True,
        capture_output=True,
    )
    return json.loads(done.stdout) | {"process": time.perf_counter() - start}


def main():
    """Time a first listing, one with what was kept, and raw reading in turn, so that a busy machine slows all alike."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    rounds = int(sys.argv[2]) if len(sys.argv) > 2 else 5
    with tempfile.TemporaryDirectory() as place:
        folder, cache = Path(place, "profiles"), Path(place, "cache")
        fill(folder, count)
        time.sleep(SETTLED)
        found = {"raw": [], "first": [], "kept": []}
        for _ in range(rounds):
            shutil.rmtree(cache, ignore_errors=True)
            found["raw"].append(run(RAW, folder, count, cache))
            found["first"].append(run(LIST, folder, count, cache))
            found["kept"].append(run(LIST, folder, count, cache))
        kept_bytes = sum(path.stat().st_size for path in cache.rglob("*.json"))

    def median(name, part):
        return statistics.median(one[part] for one in found[name])

    seconds = {
        "raw": median("raw", "list"),
        "first": median("first", "list"),
        "later": median("kept", "again"),
        "new_process": median("kept", "list"),
    }
    print(
        json.dumps(
            {
                "profiles": count,
                "rounds": rounds,
                "bytes": found["raw"][0]["size"],
                "kept_bytes": kept_bytes,
                "seconds": {name: round(value, 4) for name, value in seconds.items()},
                "whole_new_process_seconds": round(median("kept", "process"), 3),
                "of_that_loading_the_store": round(median("kept", "load"), 3),
                "over_raw": {name: round(value / seconds["raw"], 2) for name, value in seconds.items()},
            }
        )
    )


main()
