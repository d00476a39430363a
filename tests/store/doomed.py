"""Children that are killed at a random moment, and what must hold of a folder whatever that was."""

import json
import os
import random
import signal
import subprocess
import sys
import time
from contextlib import suppress
from pathlib import Path

from planner.store import TRUCK
from planner.store.transfer.export import export_all
from planner.store.transfer.zip_safety import open_zip, pack_files
from tests.store.children import contents

ROOT = Path(__file__).parents[2]


def start(*arguments, before=()):
    """Start one of the children."""
    command = [*before, sys.executable, "-m", "tests.store.children", *map(str, arguments)]
    pipes = dict.fromkeys(("stdin", "stdout", "stderr"), subprocess.PIPE)
    return subprocess.Popen(command, cwd=ROOT, text=True, start_new_session=True, **pipes)


class Doomed:
    """Processes that do something without end, one after the other, each killed in the middle of it."""

    def __init__(self, what, folder, within=0.006, seed=5):
        """Begin; `within` is about how long one time takes. [s]"""
        self.child = start("over_and_over", what, folder)
        self.draw = random.Random(seed)  # noqa: S311  # the same draws every time
        self.within = within
        self.waiting = self._heard()

    def killed(self, least, most, until=None):
        """Let the process that waits do it some times, kill it somewhere in the next, and return the last it told.

        `until` is what has to hold before it is killed, if it comes to hold within some seconds.
        """
        self.child.stdin.write("!")
        self.child.stdin.flush()
        told = [self._heard() for _ in range(self.draw.randint(least, most))]
        if until is None:
            time.sleep(self.draw.random() * self.within)
        else:
            end = time.monotonic() + 5
            while not until() and time.monotonic() < end:
                pass
            time.sleep(self.draw.random() * 0.002)
        os.kill(self.waiting["process"], signal.SIGKILL)
        while not isinstance(line := self._heard(), dict):
            told.append(line)
        self.waiting = line
        assert not any(isinstance(one, dict) for one in told)  # else one ended by itself
        return told[-1] if told else None

    def _heard(self):
        line = self.child.stdout.readline()
        assert line, self.child.stderr.read()
        return json.loads(line)

    def __enter__(self):
        return self

    def __exit__(self, *args):
        self.child.stdin.close()  # which ends the one that waits
        with suppress(ProcessLookupError):
            os.killpg(self.child.pid, signal.SIGKILL)  # one that is at work would go on, and hold the pipes
        self.child.stdin = None
        _, errors = self.child.communicate()
        assert errors == ""


# What is either done or not


def fill(store, profiles):
    """Let some more profiles name the truck of the folder."""
    lot = store.read_profile("wood-lot")
    for number in range(profiles):
        (store.folder / f"lot-{number}.toml").write_text(
            (store.folder / "wood-lot.toml").read_text("utf-8").replace('"Wood lot"', f'"Lot {number}"'), "utf-8"
        )
    return lot


def mail(store, profiles):
    """Return a zip that makes some profiles and a trailer, and replaces the truck and a profile that are here."""
    inside = open_zip(export_all(store).data)
    lot = inside["wood-lot.toml"]
    with_pressures = lot + b'\n[pressures]\nrear_left = "42 psi"\nrear_right = "42 psi"\n'
    made = {f"new-{n}.toml": with_pressures.replace(b'"Wood lot"', b'"New %d"' % n) for n in range(profiles)}
    trailer = inside["trailers/log-arch.toml"].replace(b'"Log arch"', b'"Other arch"')
    truck = inside["trucks/flatbed.toml"].replace(b'gvwr = "5200 kg"', b'gvwr = "5100 kg"')
    return pack_files(
        {"wood-lot.toml": with_pressures, "trucks/flatbed.toml": truck, "trailers/other-arch.toml": trailer} | made
    )


def records(folder):
    """Return the trucks, trailers and profiles that lie in a folder, by path."""
    return {
        path: raw
        for path, raw in contents(folder).items()
        if path.endswith(".toml") and not path.startswith((".", "bin", "backups"))
    }


def check_import(store, before, after):
    """Check that all of an import is there or nothing, once anybody looks; return whether it is there."""
    found = store.profiles()
    now = records(store.folder)
    assert now in (before, after), f"a part of it: {sorted(now.keys() ^ before.keys())[:5]} {len(found)} profiles"
    assert store.check() == []
    histories = {path for path in contents(store.folder) if path.startswith("history/")}
    assert not any(path.startswith("history/new-") for path in histories) or now == after
    return now == after


def bring_back(store, before):
    """Make the records those that were there before an import, as a person would with files."""
    for path in records(store.folder).keys() - before.keys():
        (store.folder / path).unlink()
    for path, raw in before.items():
        (store.folder / path).write_bytes(raw)
    for path in [*(store.folder / "history").glob("*"), *(store.folder / "bin").glob("*")]:
        path.unlink()


def check_rename(store):
    """Check that there is one truck, which all profiles name; return its slug."""
    (truck,) = store.trucks()
    assert {store.read_profile(slug).truck for slug in store.profiles()} == {truck}
    assert store.check() == []
    return truck


def put_back(store, truck):
    """Give the truck its first name, whatever the killed one was at."""
    if truck != "flatbed":
        store.rename(truck, "Flatbed", TRUCK)
