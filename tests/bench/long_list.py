"""What one change on the Level page costs the server with many things on the truck. One JSON object.

Run: python tests/bench/long_list.py [things …]

Seconds of processor time of a run without a browser, the middle of nine changes; time on the clock beside it.
"""

import json
import logging
import os
import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path

from page import MILL
from streamlit.testing.v1 import AppTest

from planner.front.shell import environment, places
from planner.store import Store
from planner.store.folder import demo_folder


def measured(folder, count):
    """Return the processor's and the clock's seconds of a change with so many things on the truck."""
    store = Store(folder)
    cargo = [{"name": f"Thing {n}", "weight": "3 lb", "x": f"{n % 40} in", "y": "0 in"} for n in range(count)]
    store.write(store.read_profile(MILL).replaced(cargo=cargo), MILL)
    page = AppTest.from_file(str(places.ENTRY), default_timeout=120)
    page.switch_page(os.path.relpath(places.pages() / "level.py", places.ENTRY.parent))
    page.query_params["profile"] = MILL
    page.run()
    times = []
    for n in range(10):
        (field,) = [one for one in page.text_input if (one.key or "").startswith("weight-")]
        field.set_value(f"{7200 + n} lb")
        clock, processor = time.perf_counter(), time.process_time()
        page.run()
        times.append((time.process_time() - processor, time.perf_counter() - clock))
        assert not page.exception
    return [round(statistics.median(each), 3) for each in zip(*times[1:], strict=True)]


def main():
    """Measure, and print."""
    logging.getLogger("streamlit").setLevel(logging.ERROR)
    found = {}
    for count in map(int, sys.argv[1:] or ("0", "100", "300")):
        with tempfile.TemporaryDirectory() as home:
            folder = Path(shutil.copytree(demo_folder(), Path(home) / "profiles"))
            os.environ[environment.PROFILES] = str(folder)
            found[count] = dict(zip(("processor_s", "clock_s"), measured(folder, count), strict=True))
    print(json.dumps(found))


if __name__ == "__main__":
    main()
