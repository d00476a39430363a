"""planner weigh: what slips tell, as text and as an object; what is refused."""

import json
from pathlib import Path

import pytest

from planner.cli import main

READINGS = """resolution = "20 lb"
[alone]
front_axle = "4300 lb"
rear_axle = "3000 lb"
[hitched]
front_axle = "4020 lb"
rear_axle = "4140 lb"
trailer_axles = "6340 lb"
[hitched_with_bars]
front_axle = "4160 lb"
rear_axle = "3868 lb"
trailer_axles = "6472 lb"
"""
G_LB = 9.80665 * 0.45359237


def run(capsys, *arguments):
    with pytest.raises(SystemExit) as left:
        main([*map(str, arguments)])
    out, err = capsys.readouterr()
    return left.value.code, out, err


@pytest.fixture
def slip(tmp_path: Path) -> Path:
    path = tmp_path / "slip.toml"
    path.write_text(READINGS)
    return path


def test_a_file_of_readings_is_told(capsys, slip, folder):
    code, out, _ = run(capsys, "weigh", slip)
    assert code == 0
    assert "On the ball, bars slack             860 lb  ± " in out
    assert "Tongue ratio                        11.9 %  ± 0.6 %  (usual 10 to 15 %)" in out
    assert "Put back by the bars                  50 %" in out


def test_as_an_object_in_newtons(capsys, slip, folder):
    code, out, _ = run(capsys, "weigh", slip, "--json")
    found = json.loads(out)
    assert code == 0
    assert found["tongue_load"] == pytest.approx(860 * G_LB)
    assert found["gross_load"] == pytest.approx(7200 * G_LB)
    assert found["tongue_ratio"] == pytest.approx(860 / 7200)
    assert found["front_axle_restoration"] == pytest.approx(0.5)
    low, high = found["tongue_load_band"]
    assert low < 860 * G_LB < high
    assert 0 < found["tongue_load_uncertainty"] < (high - low) / 2


def test_the_demos_slip_with_its_truck(capsys, folder):
    code, out, _ = run(capsys, "weigh", folder / "slips" / "band-mill-at-the-quarry.toml", "--units", "metric")
    assert code == 0
    assert "Ridge truck, Band mill, receiver" in out
    assert "Still unknown: what bars put back. Weigh the same with the bars set." in out


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("4140 lb", "3140 lb"), "hitched: the truck must not weigh less hitched than alone"),
        (("rear_axle", "rear_axel"), "did you mean rear_axle?"),
        (('"4300 lb"', '"4300 psi"'), "alone.front_axle"),
        (("resolution", 'truck = "no-such"\nresolution'), "truck: no truck has that name"),
    ],
)
def test_what_cannot_be_is_refused_in_a_line(capsys, slip, folder, change, words):
    slip.write_text(READINGS.replace(*change))
    code, _, err = run(capsys, "weigh", slip)
    assert code == 2
    assert words in err
    assert str(slip) in err
    assert "Traceback" not in err


def test_nothing_weighed_and_no_file_are_refused(capsys, tmp_path, folder):
    empty = tmp_path / "empty.toml"
    empty.write_text('resolution = "20 lb"\n')
    assert run(capsys, "weigh", empty)[0] == 2
    assert "is not there" in run(capsys, "weigh", tmp_path / "none.toml")[2]


def test_check_looks_at_slips_too(capsys, slip, folder):
    assert run(capsys, "check", slip)[0] == 0
    assert run(capsys, "check")[0] == 0
    slip.write_text(READINGS.replace("4140 lb", "3140 lb"))
    assert "not weigh less hitched than alone" in run(capsys, "check", slip)[2]


BAGS = """profile = "mill-bed-empty"
[before]
at = 2026-05-04T07:30:00
front_left = { pressure = "36 psi", ride_height = "20 in" }
front_right = { pressure = "35 psi", ride_height = "20 in" }
rear_left = { pressure = "24 psi", ride_height = "20 in" }
rear_right = { pressure = "24 psi", ride_height = "20 in" }
[after]
at = 2026-05-04T07:50:00
front_left = { pressure = "36 psi", ride_height = "20.3 in" }
front_right = { pressure = "34 psi", ride_height = "20.2 in" }
rear_left = { pressure = "37 psi", ride_height = "20.2 in" }
rear_right = { pressure = "36 psi", ride_height = "20.2 in" }
"""


def test_bags_read_before_and_after_are_a_scale(capsys, tmp_path, folder):
    file = tmp_path / "bags.toml"
    file.write_text(BAGS)
    code, out, _ = run(capsys, "weigh", file)
    assert code == 0
    assert "on the hitch" in out
    assert "Within ± 19 times in 20." in out
    _, out, _ = run(capsys, "weigh", file, "--json")
    found = json.loads(out)
    assert found["tongue_load"] == pytest.approx(864 * G_LB, abs=3 * found["tongue_load_uncertainty"])
    file.write_text(BAGS.replace("mill-bed-empty", "slabs-on-friday"))
    code, _, err = run(capsys, "weigh", file)
    assert code == 2
    assert "the front axle has no bag" in err


def test_bags_say_what_steel_and_a_shared_line_hide(capsys, tmp_path, folder):
    file = tmp_path / "bags.toml"
    rear = 'rear_left = { pressure = "60 psi", ride_height = "20.5 in" }'
    file.write_text(f'profile = "slabs-on-friday"\nhooked = false\n[after]\nat = 2026-05-04T07:50:00\n{rear}\n')
    code, out, _ = run(capsys, "weigh", file)
    assert code == 0
    assert "came on" in out
    assert "Steel carries the front axle" in out
    assert "share one line" in out
