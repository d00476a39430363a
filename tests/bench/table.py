"""How long the table of all profiles takes, by the processor and by the clock. One JSON object.

Run: python tests/bench/table.py [profiles]

Each profile is one of the demo's with cargo of its own; every third has pressures saved. The list is read first, once
the disk has settled, as the page that has the button has read it.
"""

import json
import random
import re
import shutil
import sys
import tempfile
import time
from pathlib import Path

from planner import export_pages
from planner.store import PROFILE, Store, index
from planner.store.folder import demo_folder


def write_many(folder, count):
    """Write so many profiles into a copy of the demo."""
    texts = [(folder / f"{slug}.toml").read_text("utf-8") for slug in Store(folder).profiles()]
    drawn = random.Random(1)  # noqa: S311  # the same each time
    for n in range(count):
        text = re.sub(r'^name = "(.*?)"', rf'name = "\1 {n}"', texts[n % len(texts)], count=1, flags=re.MULTILINE)
        weight, x, y = drawn.randint(20, 400), drawn.randint(-20, 60), drawn.randint(-20, 20)
        text += f'\n[[cargo]]\nname = "Thing"\nweight = "{weight} lb"\nx = "{x} in"\ny = "{y} in"\n'
        if n % 3 == 0:
            text += '\n[pressures]\nrear_left = "40 psi"\nrear_right = "40 psi"\n'
        (folder / f"many-{n}.toml").write_text(text, "utf-8")


def main():
    """Measure, and print."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 5000
    with tempfile.TemporaryDirectory() as home:
        folder = Path(shutil.copytree(demo_folder(), Path(home) / "profiles"))
        write_many(folder, count)
        store = Store(folder)
        time.sleep(2.5 * index.SETTLED / 1e9)  # what was written just now is not believed, and read each time
        store.entries(PROFILE)
        clock, processor = time.perf_counter(), time.process_time()
        size = len(export_pages.table_of(store, "us"))
        took = {"processor_s": time.process_time() - processor, "clock_s": time.perf_counter() - clock}
    print(json.dumps({"profiles": count, "bytes": size} | {name: round(value, 2) for name, value in took.items()}))


if __name__ == "__main__":
    main()
