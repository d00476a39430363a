"""Imports and renames killed at random moments: how many left a part. Prints one JSON object.

Run: nice python -m tests.bench.kills [kills of each]
"""

import json
import os
import shutil
import sys
import tempfile
import time
from pathlib import Path

from planner.store import Store
from planner.store.journal import JOURNAL
from planner.store.transfer.zip_safety import open_zip
from tests.store import conftest
from tests.store.children import contents
from tests.store.doomed import Doomed, bring_back, check_import, check_rename, fill, mail, put_back, records

PROFILES = 40


def folder_in(place):
    """Return a profiles folder as the tests have it."""
    home = Path(place, "profiles")
    for path, text in (
        ("trucks/flatbed.toml", conftest.TRUCK),
        ("trailers/log-arch.toml", conftest.TRAILER),
        ("wood-lot.toml", conftest.PROFILE),
    ):
        (home / path).parent.mkdir(parents=True, exist_ok=True)
        (home / path).write_text(text, "utf-8")
    return home


def where(home):
    """Return how far the killed one was, by what it left; litter is taken away."""
    found = "in the moves" if os.path.lexists(home / JOURNAL) else "between"
    for name in os.listdir(home):
        if name.startswith(".staged"):
            found = "laying ready" if found == "between" else found
            shutil.rmtree(home / name)
    return found


def tally(kills, what, within, check):
    """Kill so often; return how far each was, and how many left a part."""
    found = {"kills": 0, "left a part": 0, "between": 0, "laying ready": 0, "in the moves": 0}
    with tempfile.TemporaryDirectory() as place:
        home = folder_in(place)
        store = Store(home)
        checked = check(store)
        with Doomed(what, home, within=within, seed=11) as doomed:
            for number in range(kills):  # two of three as soon as the moves begin, which are over soon
                doomed.killed(0, 1, None if number % 3 == 0 else lambda: os.path.lexists(home / JOURNAL))
                found["kills"] += 1
                found[where(home)] += 1
                try:
                    checked()
                except AssertionError as exc:
                    found["left a part"] += 1
                    sys.stderr.write(f"{exc}\n")
        found["files in all"] = len(contents(home))
    return found


def imports(store):
    """Return what checks the folder after a kill in an import, and makes it as it was."""
    data = mail(store, PROFILES)
    (store.folder.parent / "mail.zip").write_bytes(data)
    before = records(store.folder)
    after = before | open_zip(data)

    def check():
        try:
            check_import(store, before, after)
        finally:
            bring_back(store, before)

    return check


def renames(store):
    """Return what checks the folder after a kill in a renaming, and makes it as it was."""
    fill(store, PROFILES)

    def check():
        put_back(store, check_rename(store))

    return check


def main():
    """Kill imports, then renames."""
    kills, start = int(sys.argv[1]) if len(sys.argv) > 1 else 200, time.perf_counter()
    found = {"imports": tally(kills, "imports", 0.15, imports), "renames": tally(kills, "renames", 0.15, renames)}
    print(json.dumps(found | {"seconds": round(time.perf_counter() - start)}))


if __name__ == "__main__":
    main()
