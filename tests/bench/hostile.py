"""CPU that files made to cost much take in each command, beside a sound file as large. Prints a table.

What is counted before a text is read (`planner.store.reading`) is just below its limits here.

Run: nice python tests/bench/hostile.py
"""

import io
import resource
import shutil
import sys
import tempfile
import zipfile
from contextlib import redirect_stderr, redirect_stdout, suppress
from pathlib import Path

from planner import cli
from planner.store import Store, record_files
from planner.store.transfer.preview import preview_zip

ROOT = Path(__file__).parents[2]
PROFILE = (ROOT / "profiles/mill-on-the-hill-road.toml").read_text("utf-8").replace("Mill on the hill road", "Lot")
TRUCK = (ROOT / "profiles/trucks/ridge-truck.toml").read_text("utf-8")
ROOM = 990_000  # characters; a file may have a million
COMMANDS = (["list"], ["level", "lot"], ["hitch", "lot"], ["check"])


def filled(head, unit, most=4_990):
    """Return a text with as many units behind it as there is room for."""
    parts, room = [head], ROOM - len(head)
    for number in range(most):
        part = unit(number)
        if (room := room - len(part)) < 0:
            break
        parts.append(part)
    return "".join(parts)


PROFILES = {
    "sound cargo": filled(
        PROFILE, lambda n: f'[[cargo]]\nname = "c{n}"\nweight = "{n % 7 + 1} lb"\nx = "{n % 90} in"\n', 500
    ),
    "faulty cargo": filled(
        PROFILE, lambda n: f'[[cargo]]\nname = "c{n}"\nweight = "x lb"\nx = "y in"\ny = 3\nz = "4 parsec"\nwieght = 2\n'
    ),
    "cargo of unknown keys": filled(PROFILE, lambda n: "[[cargo]]\n" + "".join(f"k{n % 10}{m}=1\n" for m in range(13))),
    "empty cargo": filled(PROFILE, lambda n: "[[cargo]]\n"),
    "faulty readings": filled(
        PROFILE,
        lambda n: f'[[readings]]\nat=1\nfront_left={{presure="{n}"}}\nrear_left={{pressure="1 x"}}\n',
    ),
    "sound readings": filled(
        PROFILE,
        lambda n: (
            f"[[readings]]\nat={1970 + n // 99}-01-{n % 99 // 4 + 1:02}T{n % 4:02}:00:00\n"
            f'rear_left={{pressure="{n % 60}.5 psi"}}\n'
        ),
    ),
    "readings out of order": filled(
        PROFILE,
        lambda n: f'[[readings]]\nat=20{99 - n // 99}-01-01T00:00:00\nrear_left={{pressure="{n}.5 psi"}}\n',
    ),
    "unknown keys": filled("", lambda n: f"truckk{n} = 1\n") + PROFILE,
    "deep tables": filled(PROFILE, lambda n: "[" + ".".join(f"d{n}x{m}" for m in range(31)) + "]\n"),
    "tables of new names": filled(PROFILE, lambda n: f"[a{n}.b{n}.c{n}.d{n}]\n", 7_490),
    "dotted keys": filled("", lambda n: f"{'a.' * 9}k{n} = 1\n", 3_300) + PROFILE,
    "dotted keys of new names": filled("", lambda n: f"a{n}.b.c = 1\n", 14_990) + PROFILE,
    "tables in tables": filled("", lambda n: f"k{n}={{a={{b={{c={{d={{e=1}}}}}}}}}}\n", 12_400) + PROFILE,
    "many values": filled("x = [", lambda n: "1," * 4900) + "]\n" + PROFILE,
    "huge numbers": filled("", lambda n: f"i{n} = {'9' * 4200}\n") + PROFILE,
    "a long comment": PROFILE + "# " + "a." * 9 + " " * 900_000,
    "a long name": PROFILE.replace('"Lot"', f'"{"x" * 900_000}"'),
}
TRUCKS = {
    "wrong paths in typical": "typical = ["
    + ",".join(f'"front.tyres.rat{n}"' for n in range(4990))
    + "]\n"
    + TRUCK.replace("typical", "typicl"),
    "wrong paths in spread": filled(
        TRUCK.split("[spread]")[0] + "\n[spread]\n", lambda n: f'"front.tyres.rt{n}" = 1\n'
    ),
    "faulty hitches": filled(TRUCK, lambda n: f'\n[[hitches]]\nname="h{n}"\ncoupling="bal"\nx="1 x"\n'),
    "a long chart": TRUCK.replace("height = [", "height = [" + "".join(f'"{n / 1000:.3f} in",' for n in range(4900))),
}


def spent():
    """Return the CPU that this process has used. [s]"""
    used = resource.getrusage(resource.RUSAGE_SELF)
    return used.ru_utime + used.ru_stime


def cost(folder, command):
    """Return the CPU that a command takes, and how many lines it prints."""
    record_files._senseless.clear()  # each command is a program of its own
    start, printed = spent(), io.StringIO()
    with redirect_stdout(printed), redirect_stderr(printed), suppress(SystemExit):
        cli.main(["--profiles", str(folder), *command])
    return spent() - start, printed.getvalue().count("\n")


def main():
    """Print the cost of each file in each command, and of each as a zip that is looked at."""
    print("| file | " + " | ".join(command[0] for command in COMMANDS) + " | zip looked at | most lines |")
    print("|---" * (len(COMMANDS) + 3) + "|")
    with tempfile.TemporaryDirectory() as place:
        for number, (name, text) in enumerate((PROFILES | TRUCKS).items()):
            folder = Path(place, str(number))
            shutil.copytree(ROOT / "profiles", folder, ignore=shutil.ignore_patterns("bin", "drafts", ".*"))
            path = "trucks/ridge-truck.toml" if name in TRUCKS else "lot.toml"
            (folder / "lot.toml").write_text(PROFILE, "utf-8")
            (folder / path).write_text(text, "utf-8")
            costs = [cost(folder, command) for command in COMMANDS]
            made = io.BytesIO()
            with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
                archive.writestr(path, text)
            start = spent()
            with suppress(ValueError):
                preview_zip(made.getvalue(), Store(ROOT / "profiles"))
            row = [f"{seconds:.2f} s" for seconds, _ in costs] + [
                f"{spent() - start:.2f} s ({len(made.getvalue()) / 1e3:.0f} kB)"
            ]
            print(f"| {name} | {' | '.join(row)} | {max(lines for _, lines in costs)} |", flush=True)


if __name__ == "__main__":
    sys.exit(main())
