"""planner air."""

import json

import pytest

from planner.cli import main


def run(capsys, *arguments):
    with pytest.raises(SystemExit) as left:
        main(["air", "--profiles", "profiles", *arguments])
    said = capsys.readouterr()
    return left.value.code, said.out, said.err


def test_the_budget_of_a_profile(capsys):
    code, out, _ = run(capsys, "mill-on-the-hill-road")
    assert code == 0
    assert "hitching cycles before the compressor must run" in out


def test_as_an_object_higher_up_and_from_another_profile(capsys):
    options = (
        "--json",
        "--altitude",
        "2400 m",
        "--temperature",
        "30 degC",
        "--humidity",
        "0.9",
        "--from",
        "mill-bed-empty",
    )
    code, out, _ = run(capsys, "mill-on-the-hill-road", *options)
    found = json.loads(out)
    assert code == 0
    assert found["change_over"]["name"] == "change over"
    assert found["pump_up_time"] > 0


def test_a_truck_without_air_says_what_it_needs(capsys):
    code, _, err = run(capsys, "slabs-on-friday")
    assert code == 2
    assert "truck: air: is needed to reckon with air: add [air] with tank_volume" in err
