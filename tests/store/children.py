"""Programs that tests start, and stop at their worst moment: ``python -m tests.store.children WHAT FOLDER …``."""

import json
import os
import random
import resource
import shutil
import subprocess
import sys
import time
from datetime import timedelta
from pathlib import Path

import filelock  # noqa: F401  # what a save loads when it runs, here once for all processes
import tomlkit  # noqa: F401  # as above

from planner.records import BadInput
from planner.store import TRUCK, ConflictError, Store
from planner.store.transfer.import_zip import import_files, take_back
from planner.store.transfer.preview import preview_zip

LOTS = ("lot-0", "lot-1", "lot-2")


def say(thing):
    """Tell the test something, at once and in one piece."""
    sys.stdout.write(f"{json.dumps(thing)}\n")
    sys.stdout.flush()


def count_of(profile):
    """Return the number that a profile carries: the weight of its first cargo."""
    return int(profile.cargo[0].weight.text.removesuffix(" lb"))


def counted(profile, count):
    """Return a profile that carries a number."""
    return profile.replaced(cargo=(profile.cargo[0].replaced(weight=f"{count} lb"), *profile.cargo[1:]))


def spare_the_disk():
    """Wait a moment in place of waiting for the disk, which only matters where the machine stops."""
    os.fsync = lambda handle: time.sleep(0.0002)


def over_and_over(what, folder):
    """Do something without end in a process that is killed, then in the next; each waits for a byte to begin."""
    spare_the_disk()
    counted(Store(folder).read_profile("wood-lot"), 1)  # loads the units, once for all processes
    while (process := os.fork()) or not _run(what, folder):
        os.waitpid(process, 0)


def _run(what, folder):
    """Tell which process this is, wait for the word to begin, and never come back."""
    say({"process": os.getpid()})
    if os.read(0, 1):
        globals()[what](folder)
    os._exit(0)


def saves(folder):
    """Save a profile with the next number, again and again; tell each number that is saved."""
    store = Store(folder)
    profile = store.read_profile("wood-lot")
    while True:
        new = counted(profile, count_of(profile) + 1)
        store.write(new, "wood-lot", expected=profile)
        say(count_of(new))
        profile = new


def moves(folder):
    """Rename, rename back, delete and bring back a profile, again and again; tell each step."""
    store = Store(folder)
    while True:
        say(store.rename("wood-lot", "Other lot"))
        say(store.rename("other-lot", "Wood lot"))
        say(store.restore(store.delete("wood-lot")))


def imports(folder):
    """Bring in a zip that makes and replaces files, and take it back, again and again; tell each step."""
    store, data = Store(folder), (folder.parent / "mail.zip").read_bytes()
    while True:
        done = import_files(preview_zip(data, store), store, "theirs")
        say("in")
        take_back(done, store)
        store.purge(timedelta(0))
        say("out")


def renames(folder):
    """Rename a truck that many profiles name, and rename it back, again and again; tell each step."""
    store = Store(folder)
    while True:
        say(store.rename("flatbed", "Other truck", TRUCK))
        say(store.rename("other-truck", "Flatbed", TRUCK))


def contend(folder, writers, tries):
    """Let some processes save at the same time; each tells what became of its tries."""
    spare_the_disk()
    counted(Store(folder).read_profile(LOTS[0]), 1)  # loads the units, once for all processes
    running = []
    for seed in range(writers):
        if (process := os.fork()) == 0:
            say(_contender(folder, seed, tries))
            os._exit(0)
        running.append(process)
    if any(os.waitpid(process, 0)[1] for process in running):
        sys.exit("a writer failed")


def _contender(folder, seed, tries):
    """Save the next number of some profile from the copy at hand, stale or not; return how often it was let through."""
    store, draw = Store(folder), random.Random(seed)  # noqa: S311  # the same draws every time
    held = {lot: store.read_profile(lot) for lot in LOTS}
    saved, refused = dict.fromkeys(LOTS, 0), 0
    for _ in range(tries):
        lot = draw.choice(LOTS)
        new = counted(held[lot], count_of(held[lot]) + 1)
        try:
            store.write(new, lot, expected=held[lot])
        except ConflictError as exc:
            refused += 1
            held[lot] = exc.theirs
        else:
            saved[lot] += 1
            held[lot] = new
    return {"saved": saved, "refused": refused}


def contents(folder):
    """Return what lies in a folder."""
    files = [path for path in folder.rglob("*") if path.is_file()]
    return {str(path.relative_to(folder)): path.read_bytes() for path in files if path.name != ".lock"}


def refusals(folder):
    """Try all that writes; return what each is told, and whether everything is as it was."""
    store, before = Store(folder), contents(folder)
    profile = store.read_profile("wood-lot")
    grown = profile.replaced(readings=profile.readings * 300)
    calls = {
        "write": lambda: store.write(grown, "wood-lot"),
        "save_as": lambda: store.save_as(grown, "Another"),
        "new": lambda: store.write(grown.replaced(name="New")),
    }
    told = {}
    for name, call in calls.items():
        try:
            told[name] = call()
        except BadInput as exc:
            told[name] = str(exc)
    return {"told": told, "whole": contents(folder) == before and store.check() == []}


def short_files(source, folder):
    """Work where no file may become longer than 2 kB."""
    shutil.copytree(source, folder, dirs_exist_ok=True)
    resource.setrlimit(resource.RLIMIT_FSIZE, (2000, resource.RLIM_INFINITY))
    say(refusals(folder) | {"after": _after(folder, resource.RLIM_INFINITY)})


def _after(folder, limit):
    """Return whether a save works once the limit is gone."""
    resource.setrlimit(resource.RLIMIT_FSIZE, (limit, resource.RLIM_INFINITY))
    return _save(folder)


def _save(folder):
    """Return whether a save works."""
    store = Store(folder)
    store.write(store.read_profile("wood-lot").replaced(left_share=0.25))
    return store.read_profile("wood-lot").left_share == 0.25


def full_disk(source, folder):
    """Work on a disk that is full."""
    shutil.copytree(source, folder, dirs_exist_ok=True)
    filler = folder / "filler"
    with open(filler, "wb", buffering=0) as file:
        try:
            while file.write(bytes(4096)):
                pass
        except OSError:
            pass
    size = filler.stat().st_size
    found = refusals(folder)
    assert filler.stat().st_size == size
    filler.unlink()
    say(found | {"after": _save(folder)})


def read_only_disk(source, folder):
    """Work on a disk that can only be read."""
    shutil.copytree(source, folder, dirs_exist_ok=True)
    subprocess.run(["mount", "-o", "remount,ro", str(folder)], check=True)
    found = refusals(folder)
    subprocess.run(["mount", "-o", "remount,rw", str(folder)], check=True)
    say(found | {"after": _save(folder)})


if __name__ == "__main__":
    what, *given = sys.argv[1:]
    if what == "contend":
        contend(Path(given[0]), int(given[1]), int(given[2]))
    elif what == "over_and_over":
        over_and_over(given[0], Path(given[1]))
    else:
        globals()[what](*map(Path, given))
