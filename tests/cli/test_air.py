"""planner air."""

import json
import re

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
    assert found["moves"][-1]["name"] == "change over"
    assert found["pump_up_time"] > 0


def test_a_truck_without_air_is_reckoned_with_a_typical_supply_and_that_is_said(capsys):
    code, out, _ = run(capsys, "slabs-on-friday")
    assert code == 0
    assert re.search(r"lift \d+(\.\d)?–\d+(\.\d)? s", out)
    assert "Typical, not yet your own: tank volume, cut-in" in " ".join(out.split())
    found = json.loads(run(capsys, "slabs-on-friday", "--json")[1])
    assert "air-typical" in {one["code"] for one in found["findings"]}


def test_the_object_has_the_keys_of_the_contract_and_no_others(capsys):
    found = json.loads(run(capsys, "mill-on-the-hill-road", "--json")[1])
    assert set(found) == {"moves", "cycles", "pump_up_time", "water_per_week", "findings"}
    assert [one["name"] for one in found["moves"]] == ["clear", "meet", "lift", "tow", "unhitch"]
    assert set(found["moves"][0]) == {"name", "free_air", "vented", "time", "tank_pressure", "compressor_time"}
