"""`planner calibrate`: what readings on a scale teach of a truck, printed and written into its file."""

import json
import shutil

import pytest
from click.testing import CliRunner

from planner.cli import planner
from planner.store import TRUCK, Store

READING = """
at = 2026-05-0{day}T07:30:00
front_axle = "{front} lb"
rear_axle = "{rear} lb"
front_left = {{ pressure = "{pf} psi", ride_height = "20 in" }}
front_right = {{ pressure = "{pf} psi", ride_height = "20 in" }}
rear_left = {{ pressure = "{pr} psi", ride_height = "20 in" }}
rear_right = {{ pressure = "{pr} psi", ride_height = "20 in" }}
"""
EMPTY = READING.format(day=4, front=4300, rear=3000, pf=39, pr=25)
LOADED = READING.format(day=5, front=4240, rear=3800, pf=38, pr=33)


@pytest.fixture
def folder(tmp_path):
    shutil.copytree("profiles", tmp_path / "profiles")
    truck = tmp_path / "profiles/trucks/ridge-truck.toml"
    text = truck.read_text("utf-8").replace("[spread] #", '[instruments]\ngauge_error = "0.5 psi"\n\n[spread] #')
    text = text.replace('"rear.unsprung_weight"]', '"rear.unsprung_weight", "rear.bag.area"]')
    truck.write_text(text, "utf-8")
    return tmp_path / "profiles"


@pytest.fixture
def run(folder, tmp_path):
    def run(*arguments, readings=(EMPTY, LOADED), truck="ridge-truck"):
        files = []
        for n, text in enumerate(readings):
            files.append(tmp_path / f"scale-{n}.toml")
            files[-1].write_text(text, "utf-8")
        given = ["calibrate", "--profiles", str(folder), truck, *map(str, files), *arguments]
        found = CliRunner().invoke(planner, given)
        if found.exception is not None and not isinstance(found.exception, SystemExit | ValueError):
            raise found.exception
        return found

    return run


def test_it_prints_each_number_before_and_after_and_what_to_read_next(run):
    text = run().output
    assert "From 2 readings on a scale" in text
    assert "rear bag area, over its chart's" in text
    assert "Reading 1 moved" in text
    assert "The reading that would help most: one with" in " ".join(text.split())


def test_the_object_has_the_keys_of_the_contract(run):
    found = json.loads(run("--json").output)
    area = found["parameters"]["front.bag.area_scale"]
    assert {"value", "sd", "prior_sd"} <= set(area)
    assert area["sd"] < area["prior_sd"] == 0.03
    assert len(found["residuals"]) == 2 * (4 + 4 + 2)  # heights, pressures, axle loads
    assert found["next_reading"].startswith("one with")
    assert found["doubts"] == []


def test_several_readings_in_one_file_are_the_same_as_in_several(run):
    both = "".join(f"[[readings]]{text}" for text in (EMPTY, LOADED))
    assert run("--json", readings=(both,)).output == run("--json").output


def test_a_truck_may_be_a_file_and_is_then_not_written(run, folder):
    path = str(folder / "trucks/ridge-truck.toml")
    assert run(truck=path).output == run().output
    assert "name it, not a file" in run("--write", truck=path).output + str(run("--write", truck=path).exception)


def test_write_puts_what_was_learnt_into_the_file_and_keeps_the_old_one(run, folder):
    old = (folder / "trucks/ridge-truck.toml").read_bytes()
    found = run("--write")
    assert found.exit_code == 0, found.output
    truck = Store(folder).read_truck("ridge-truck")
    learnt = json.loads(run("--json").output)["parameters"]["rear.bag.area_scale"]
    assert "rear.bag.area" in truck.spread
    assert "rear.bag.area" not in truck.typical
    assert "rear.tyres.rate" in truck.typical  # nothing was learnt of it
    assert float(truck.rear.bag.area[0]) != pytest.approx(56 * 0.0254**2, rel=1e-4)
    assert learnt["value"] == pytest.approx(1.0, abs=0.02)  # it is learnt already
    assert truck.weighings[-1].on.isoformat() == "2026-05-05"
    assert "# a generic double-convoluted bag" in (folder / "trucks/ridge-truck.toml").read_text("utf-8")
    (kept,) = (folder / "backups").iterdir()
    assert kept.read_bytes() == old
    assert Store(folder).check() == []


def test_nothing_is_written_while_a_reading_is_doubted(run, folder):
    old = (folder / "trucks/ridge-truck.toml").read_bytes()
    found = run(
        "--write", readings=(EMPTY, LOADED.replace('rear_left = { pressure = "33', 'rear_left = { pressure = "63'))
    )
    assert "a reading looks wrong" in str(found.exception)
    assert "rear left" in found.output
    assert (folder / "trucks/ridge-truck.toml").read_bytes() == old
    assert not (folder / "backups").exists()


def test_writing_twice_the_same_writes_once(run, folder):
    store = Store(folder)
    record = store.read(TRUCK, "ridge-truck")
    store.write(record, "ridge-truck", record, keep_old=True)
    assert not (folder / "backups").exists()


@pytest.mark.parametrize(
    ("was", "now", "told"),
    [
        ('front_axle = "4300 lb"', "", "front_axle: is required"),
        ("rear_axle", "rear_axel", "did you mean rear_axle?"),
        ("4300 lb", "4300 in", "front_axle"),
    ],
)
def test_what_is_wrong_with_a_reading_is_told_by_field(run, was, now, told):
    found = run(readings=(EMPTY.replace(was, now),))
    assert told in str(found.exception)
    assert "scale-0.toml" in str(found.exception)
