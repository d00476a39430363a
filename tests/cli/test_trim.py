"""planner trim, as a user runs it."""

import json
import shutil
from pathlib import Path

import pytest

from planner import cli

DEMO = Path(__file__).parents[2] / "profiles"
CORNERS = {"front_left", "front_right", "rear_left", "rear_right"}
READING = """
front_left = { pressure = "38 psi", ride_height = "20.4 in" }
front_right = { pressure = "36 psi", ride_height = "20.2 in" }
rear_left = { pressure = "40 psi", ride_height = "19.6 in" }
rear_right = { pressure = "38 psi", ride_height = "20.3 in" }
"""


@pytest.fixture
def run(tmp_path, capsys):
    """Return a function from the text of a reading's file to exit code, output and errors."""
    folder = Path(shutil.copytree(DEMO, tmp_path / "profiles"))

    def trim(text, *more, name="mill-on-the-hill-road"):
        file = tmp_path / "reading.toml"
        if text is not None:
            file.write_text(text, "utf-8")
        with pytest.raises(SystemExit) as end:
            cli.main(["--profiles", str(folder), "trim", name, str(file), *more])
        said = capsys.readouterr()
        return end.value.code, said.out, said.err

    return trim


def test_the_object_has_its_keys(run):
    code, out, _ = run(READING, "--json")
    found = json.loads(out)
    assert code == 0
    assert set(found["pressure"]) == set(found["set"]) == set(found["uncertainty"]) == CORNERS
    assert set(found["inferred"]) >= {"axle_load", "side_moment", "hitch_load"}
    assert found["leave"] is False
    assert found["off_now"]["rear_left"] < 0 < found["off_now"]["front_left"]
    assert found["set"]["rear_left"] > 40 * 6894.757
    assert all(0 < width < 0.05 for width in found["uncertainty"].values())


def test_text_has_what_to_set_first_then_how_sure(run):
    code, out, _ = run(READING)
    lines = out.splitlines()
    assert code == 0
    assert lines[3] == "Set these, then tape once more."
    assert lines[6].split()[:3] == ["rear", "45", "psi"]
    assert any(line.strip().startswith("rear left   0.6 in low") and "±" in line for line in lines)


def test_metric_is_the_same_in_other_units(run):
    _, out, _ = run(READING, "--units", "metric")
    assert "mm low" in out
    assert "bar" in out


def test_a_schema_and_a_time_may_stand_in_the_file(run):
    assert run("schema = 1\nat = 2026-05-04T07:30:00\n" + READING)[0] == 0


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        (None, ["reading.toml", "is not there"]),
        ("", ["reading.toml", "needs at least one corner"]),
        ('front_left = { pressure = "40 psi" }', ["ride_height", "needs the ride height of at least one corner"]),
        ('front_left = { pressure = "40 in" }', ["front_left.pressure", "pressure"]),
        ('front_lft = { pressure = "40 psi" }', ["front_lft", "front_left"]),
        ("front_left = [", ["is not valid TOML"]),
    ],
)
def test_a_bad_file_is_refused_in_words(run, text, parts):
    code, out, err = run(text)
    assert (code, out) == (2, "")
    assert all(part in err for part in parts)
    assert "Traceback" not in err


def test_an_axle_without_bags_takes_no_pressure(run):
    code, _, err = run(READING, name="slabs-on-friday")
    assert code == 2
    assert "the front axle has no bag" in err
    assert 'both bags share one line, got "40 psi" and "38 psi"' in err


def test_a_load_over_its_label_leaves_with_one(run):
    heavy = READING.replace('"40 psi"', '"85 psi"').replace(
        'rear_right = { pressure = "38 psi"', 'rear_right = { pressure = "85 psi"'
    )
    code, out, _ = run(heavy)
    assert code == 1
    assert "Stop" in out
