"""The fleet command, as typed: the file it writes, how far it is, a stop, what it refuses."""

import io
import json
import shutil
import signal
from pathlib import Path

import pandas
import pytest

from planner import cli
from tests.plans.any_fleet import DEMO, LIKE, write_yard


@pytest.fixture
def run(tmp_path, capsys):
    """Return a function that runs the fleet command on two trucks of the demo; it gives exit code, output, errors."""
    folder = tmp_path / "profiles"
    for kind, names in LIKE.items():
        (folder / kind).mkdir(parents=True)
        for name in names:
            shutil.copy(DEMO / kind / f"{name}.toml", folder / kind)

    def command(*arguments):
        with pytest.raises(SystemExit) as end:
            cli.main(["--profiles", str(folder), "fleet", *arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in err
        return end.value.code, out, err

    command.folder = folder
    return command


@pytest.mark.parametrize("name", ["yard.csv", "yard.html", "yard.parquet"])
def test_it_writes_the_file_it_names_and_leaves_with_one_where_no_truck_takes_a_trailer(run, tmp_path, name):
    out = tmp_path / name
    code, said, err = run("--out", str(out))
    assert code == 1
    assert said == f"{out}: 2 trucks with 3 trailers: 3 of 6 pairs can be towed\n"
    assert err.splitlines()[-1] == "2 of 2 trucks"
    data = out.read_bytes()
    assert data.startswith(
        {".csv": b"\xef\xbb\xbfTruck,", ".html": b"<!doctype html>", ".parquet": b"PAR1"}[out.suffix]
    )
    if out.suffix == ".parquet":
        found = pandas.read_parquet(out)
        assert (len(found), int(found["takes"].sum())) == (6, 3)


def test_it_leaves_with_nought_where_every_trailer_has_its_truck(run):
    (run.folder / "trailers" / "slab-hauler.toml").unlink()
    code, said, _ = run("--json", "--no-heaviest")
    assert code == 0
    assert {one["heaviest"] for one in json.loads(said)["pairs"]} == {None}


def test_what_cannot_be_read_is_told_and_the_others_are_judged(run, tmp_path):
    (run.folder / "trucks" / "yard-truck.toml").write_text("schema = 1\n", "utf-8")
    _, said, err = run("--out", str(tmp_path / "yard.csv"))
    assert "1 truck with 3 trailers" in said
    assert "left out: trucks/yard-truck.toml" in err


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ((), "give --out FILE or --json"),
        (("--out", "yard.xls"), "must end in .csv, .parquet or .html"),
        (("--out", str(Path(__file__) / "yard.csv"), "--no-heaviest"), "make the folder"),
        (("--json", "--scheduler", "nonsense://nowhere"), "address of a Dask scheduler"),
    ],
)
def test_what_cannot_be_is_refused(run, arguments, words):
    code, said, err = run(*arguments)
    assert (code, said) == (2, "")
    assert words in err


def test_it_tells_each_tenth_of_its_way_however_many_trucks_are_judged_together(run, tmp_path):
    write_yard(run.folder, 24, 2)
    _, _, err = run("--out", str(tmp_path / "yard.csv"), "--no-heaviest")
    told = [int(line.split()[0]) for line in err.splitlines() if line.endswith(" of 24 trucks")]
    assert len(told) == 10
    assert told[-1] == 24


class Interrupts(io.StringIO):
    """A console at which somebody presses Ctrl-C when the second truck is told of."""

    def write(self, text):
        if text.startswith("2 of"):
            signal.raise_signal(signal.SIGINT)
        return super().write(text)


def test_a_stop_writes_what_is_done(run, tmp_path, monkeypatch):
    write_yard(run.folder, 6, 3)
    out, console = tmp_path / "yard.csv", Interrupts()
    signal.signal(signal.SIGINT, signal.default_int_handler)  # a run in the background begins with it ignored
    monkeypatch.setattr("sys.stderr", console)
    code, said, _ = run("--out", str(out), "--no-heaviest")
    assert (code, said) == (2, "")
    assert console.getvalue().splitlines()[-1] == f"planner: stopped: 2 of 6 trucks are in {out}"
    assert len(out.read_text("utf-8-sig").splitlines()) == 1 + 2 * 3
