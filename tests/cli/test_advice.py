"""Advice as the command line tells it: followed to the letter, it ends the stop."""

import json
import re
import shutil
from pathlib import Path

import pytest

from planner import cli

DEMO = Path(__file__).parents[2] / "profiles"
NAME = "rocks on the bed"


@pytest.fixture
def folder(tmp_path):
    """The demo with a ridge truck whose bags alone are in the way, and with what lies on its bed."""
    folder = Path(shutil.copytree(DEMO, tmp_path / "profiles"))
    truck = folder / "trucks" / "ridge-truck.toml"
    text = truck.read_text("utf-8").replace('load_rating = "3195 lb"', 'load_rating = "20000 lb"')
    for label in ("gvwr", "gcwr", "gawr"):
        text = re.sub(rf'^{label} = ".*"', f'{label} = "90000 lb"', text, flags=re.MULTILINE)
    truck.write_text(text, "utf-8")
    return folder


def level(folder, capsys, rocks, *more):
    """Return exit code and output of levelling with rocks over the rear axle. [lb]"""
    lines = ("schema = 1", f'name = "{NAME}"', 'truck = "ridge-truck"', "[[cargo]]", 'name = "Rocks"', 'x = "0 in"')
    text = "\n".join((*lines, 'y = "0 in"', f'weight = "{rocks} lb"', ""))
    (folder / "rocks-on-the-bed.toml").write_text(text, "utf-8")
    with pytest.raises(SystemExit) as end:
        cli.main(["--profiles", str(folder), "level", "rocks-on-the-bed", *more])
    return end.value.code, " ".join(capsys.readouterr().out.split())


def test_a_rear_on_its_stops_at_its_greatest_pressure_stops_and_what_is_asked_off_ends_it(folder, capsys):
    """The rear stays some 3 in low at the most air: that was cautions only, "Raise it", and exit 0."""
    rocks = 9480
    code, told = level(folder, capsys, rocks)
    assert code == 1
    assert "Raise it" not in told
    off = re.search(r"Take ([\d,]+) lb off the bed, evenly, to bring it back\. Air raises no rating\.", told)
    _, found = level(folder, capsys, rocks, "--json")
    found = json.loads(found)
    assert [one["code"] for one in found["findings"] if one["level"] == "stop"] == ["sits-low-rear"]
    assert found["stance"]["rear"] < -0.05
    code, told = level(folder, capsys, rocks - int(off[1].replace(",", "")))
    assert code == 0
    assert "Take" not in told
    code, told = level(folder, capsys, rocks - int(off[1].replace(",", "")) + 200)
    assert code == 1
