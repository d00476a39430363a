"""`planner drift`: a leak test in a file, in words and as one object."""

import json

import pytest
from click.testing import CliRunner

from planner.cli import planner
from planner.plans.answer import CORNERS

NIGHT = """
[before]
at = 2026-01-10T18:00:00
temperature = "50 degF"
front_left = { pressure = "36 psi" }
front_right = { pressure = "34 psi" }
rear_left = { pressure = "37 psi" }
rear_right = { pressure = "36 psi" }
[after]
at = 2026-01-11T06:00:00
temperature = "20 degF"
front_left = { pressure = "38 psi" }
front_right = { pressure = "31 psi" }
rear_left = { pressure = "25 psi" }
rear_right = { pressure = "38 psi" }
"""


@pytest.fixture
def run(tmp_path):
    def run(text, *arguments):
        file = tmp_path / "night.toml"
        file.write_text(text, "utf-8")
        given = ["drift", "--profiles", "profiles", "mill-bed-empty", str(file), *arguments]
        found = CliRunner().invoke(planner, given)
        if found.exception is not None and not isinstance(found.exception, SystemExit | ValueError):
            raise found.exception
        return found

    return run


def test_it_says_what_cold_explains_and_where_the_rest_leaks(run):
    found = run(NIGHT)
    assert found.exit_code == 0, found.output
    text = " ".join(found.output.split())
    assert "Over 12 hours" in text
    assert (
        "Cold and altitude explain 0.9 psi of the 12.0 psi lost rear left; the rest is a leak of 22.3 psi a day" in text
    )
    assert "Soap the rear left bag's fitting" in text
    assert "49 CFR 393.207(f) lets a commercial vehicle lose 3 psi: this passes." in text
    assert "The leak rear left is like a sharp-edged hole of 0.0" in text


def test_the_object_has_the_keys_of_the_contract(run):
    found = json.loads(run(NIGHT, "--json").output)
    assert {"expected", "lost", "leak", "days_to_least", "findings"} <= set(found)
    assert set(found["expected"]) == set(CORNERS)
    assert found["lost"]["rear_left"] == pytest.approx(12 * 6894.757, rel=1e-6)
    assert found["leak"]["front_right"] is None
    assert found["leak"]["rear_left"] == pytest.approx(
        2 * (found["lost"]["rear_left"] - found["expected"]["rear_left"])
    )
    assert found["days_to_least"]["rear_left"] > 0
    assert all(one["level"] in ("stop", "caution", "note") for one in found["findings"])


def test_metric_words(run):
    assert "bar a day" in " ".join(run(NIGHT, "--units", "metric").output.split())


@pytest.mark.parametrize(
    ("was", "now", "told"),
    [
        ('temperature = "20 degF"', "", "after.temperature: is required"),
        ("2026-01-11T06", "2026-01-09T06", "after.at: must be later than before.at"),
        ('rear_left = { pressure = "25 psi" }', "", "after.rear_left: needs a pressure, as before has one"),
        ("temperature", "temprature", "did you mean temperature?"),
    ],
)
def test_what_is_wrong_with_the_file_is_told_by_field(run, was, now, told):
    found = run(NIGHT.replace(was, now))
    assert "night.toml" in str(found.exception)
    assert told in str(found.exception)
