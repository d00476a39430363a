"""The library as a program meets it: from a file to an answer that shows itself, with units or without."""

import importlib
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pint
import pytest

import planner
from planner import BadInput, Kerb, StoreError, Truck, level, level_many, open_folder, read_trailer, read_truck, settle

PROFILES = Path(__file__).parents[1] / "profiles"
USER = """
from planner import Bag, Kerb, Trailer, level, read_truck, settle

kerb = Kerb(front_axle="2000 kg", rear_axle="1500 kg", left_share=0.5, mass_height="0.7 m")
bag = Bag(
    fitted_height="0.2 m", height=("0.1 m", "0.3 m"), area=("200 cm2", "190 cm2"), volume="4 L",
    least_pressure="5 psi", greatest_pressure="100 psi",
)
truck = read_truck("truck.toml").replaced(wheelbase="4 m")
trailer = Trailer(
    name="Any", coupling="ball", gross_weight="2 t", tongue_ratio=0.1, coupling_height="0.5 m", parked_height="0.6 m",
    axle_distance="4 m", axle_count=2, gvwr="3 t", axle_rating="1.5 t", track="1.8 m",
)
metres: float = truck.wheelbase
typed: str = trailer.axle_distance.text
answer = level(truck, trailer=trailer, cargo=[{"name": "saw", "weight": "60 lb", "x": 1.2}], stance={"rear": "1 in"})
settle(truck, {"rear_left": "40 psi", "rear_right": 2.7e5})
"""


@pytest.fixture(scope="module")
def truck():
    return read_truck(PROFILES / "trucks/ridge-truck.toml")


@pytest.fixture(scope="module")
def answer(truck):
    trailer = read_trailer(str(PROFILES / "trailers/band-mill.toml"))
    return level(truck, trailer=trailer, hitch="receiver")


def test_the_face_is_complete_and_has_nothing_private():
    assert dir(planner) == sorted(planner.__all__)
    assert all(getattr(planner, name) is not None for name in dir(planner))
    assert not [name for name in dir(planner) if name.startswith("_") and name != "__version__"]
    project = (PROFILES.parent / "pyproject.toml").read_text("utf-8")
    assert planner.__version__ == importlib.metadata.version("trailer-setup-planner")
    assert 'version = "' in project


def test_a_user_s_file_passes_strict_type_checking(tmp_path):
    file = tmp_path / "user.py"
    file.write_text(USER, "utf-8")
    own = "--cache-dir=.mypy_cache/of_a_user"  # the project's has other options: each would make the other begin anew
    command = [sys.executable, "-m", "mypy", "--strict", "--config-file=", "--follow-imports=silent", own, str(file)]
    run = subprocess.run(command, capture_output=True, text=True, cwd=PROFILES.parent, check=False)
    assert run.returncode == 0, run.stdout + run.stderr
    file.write_text(USER.replace("front_axle", "front_axel"), "utf-8")
    run = subprocess.run(command, capture_output=True, text=True, cwd=PROFILES.parent, check=False)
    assert 'Unexpected keyword argument "front_axel"' in run.stdout


def test_a_folder_opens_and_a_file_that_is_not_there_is_told_of():
    assert "mill-bed-empty" in open_folder(PROFILES).profiles()
    assert planner.read_profile(PROFILES / "mill-bed-empty.toml").truck == "ridge-truck"
    with pytest.raises(StoreError, match=r"none.toml: is not there: check the path"):
        read_truck("none.toml")


def test_a_record_written_as_a_file_reads_as_the_same(truck, tmp_path):
    (tmp_path / "again.toml").write_text(truck.to_toml(), "utf-8")
    assert read_truck(tmp_path / "again.toml") == truck


def test_a_record_made_in_a_program_is_refused_in_the_words_of_a_file():
    with pytest.raises(BadInput) as caught:
        Kerb(front_axle="2 m", rear_axle="1500 kg", left_share=0.5)
    assert str(caught.value).startswith('Kerb: front_axle: expected a weight such as "1950 kg", got "2 m" (a length)')
    with pytest.raises(BadInput, match=r"Truck: gvwr: is required"):
        Truck(wheelbase="4 m")


def test_what_is_no_record_is_refused_by_its_name(truck):
    with pytest.raises(BadInput, match="truck: must be a Truck"):
        level("ridge-truck")
    with pytest.raises(BadInput, match=r'cargo\[0\]: wight: unknown key "wight": did you mean weight'):
        level(truck, cargo=[{"name": "saw", "wight": 60, "x": "4 ft"}])


def test_numbers_texts_and_quantities_of_pint_s_are_one(truck):
    forms = [{"rear": 0.0254}, {"rear": "1 in"}, {"rear": pint.Quantity(1.0, "inch")}, planner.Stance(rear="1 in")]
    pressures = [level(truck, stance=one).pressure for one in forms]
    for one in pressures[1:]:
        np.testing.assert_allclose(one, pressures[0], rtol=1e-9)
    loads = [np.array([444.822161526]), ["100 lb"], pint.Quantity([100.0], "lbf")]
    many = [level_many(truck, hitch="receiver", hitch_load=one).pressure for one in loads]
    for one in many[1:]:
        np.testing.assert_allclose(one, many[0], rtol=1e-9)
    cold, same = (
        planner.Shut(temperature="-5 degC", altitude="1000 m"),
        planner.Shut(temperature=268.15, altitude=1000.0),
    )
    assert settle(truck, {}, shut=cold).stance == settle(truck, {}, shut=same).stance


def test_an_answer_shows_itself(answer):
    lines = repr(answer).splitlines()
    assert len(lines) == 3
    assert lines[0].startswith("<Answer: set front left ")
    assert " psi" in lines[0]
    assert answer._repr_svg_().startswith("<svg ")


def test_an_answer_is_handed_on_as_quantity_dictionary_and_frame(answer):
    shown = answer.quantity("set.pressure", "psi")
    assert isinstance(shown, pint.Quantity)
    np.testing.assert_allclose(shown.to("Pa").magnitude, answer.set.pressure)
    with pytest.raises(BadInput, match="quantity must be one of pressure"):
        answer.quantity("presure", "psi")
    with pytest.raises(BadInput, match="expected a pressure"):
        answer.quantity("pressure", "lb")
    assert json.loads(json.dumps(answer.to_dict()))["axle_load"] == answer.axle_load.tolist()
    frame = answer.to_frame()
    assert list(frame.index) == ["front_left", "front_right", "rear_left", "rear_right"]
    assert frame.loc["rear_left", "pressure"] == answer.pressure[1, 0]


def test_nobody_writes_into_an_answer(answer):
    for array in (answer.pressure, answer.axle_load, answer.set.pressure):
        with pytest.raises(ValueError, match="read-only"):
            array[...] = 0.0


def test_many_answers_make_a_frame_with_a_row_each(truck):
    many = level_many(truck, hitch="receiver", hitch_load=[[0.0, 1e3], [2e3, 3e3]])
    frame = many.to_frame()
    assert len(frame) == 4
    assert frame["pressure_rear_left"].iloc[2] == many.pressure[1, 0, 1, 0]
    assert repr(many) == "<Many: (2, 2) cases, 0 at a limit, 0 not at rest>"
