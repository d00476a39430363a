"""Files are checked wherever they lie, each as what it is."""

from pathlib import Path

import pytest

from planner.store import Store
from planner.store.checking import check_files
from planner.store.limits import pressures_past_limits


@pytest.mark.parametrize("name", ["trucks/flatbed.toml", "trailers/log-arch.toml", "wood-lot.toml"])
def test_sound_files_have_no_problems(store, folder, name, tmp_path):
    moved = tmp_path / "any name.toml"
    moved.write_bytes((folder / name).read_bytes())
    assert check_files(store, [folder / name, moved]) == []


def test_all_that_is_wrong_with_all_files_is_told(store, folder, tmp_path):
    truck, profile = tmp_path / "truck.toml", folder / "wood-lot.toml"
    truck.write_text((folder / "trucks/flatbed.toml").read_text("utf-8").replace('"4.2 m"', '"4.2 bar"'), "utf-8")
    profile.write_text(profile.read_text("utf-8").replace('"flatbed"', '"flatbet"'), "utf-8")
    problems = check_files(store, [truck, profile, tmp_path / "none.toml"])
    assert [(problem.file, problem.field) for problem in problems] == [
        (str(truck), "wheelbase"),
        (str(profile), "truck"),
        (str(tmp_path / "none.toml"), ""),
    ]


def test_saved_pressures_past_a_limit_of_the_bag_are_told():
    demo = Store(Path(__file__).parents[2] / "profiles")
    outfit = demo.read_outfit("mill-on-the-hill-road")
    pressures = {"front_left": "8 psi", "front_right": "34 psi", "rear_left": "130 psi", "rear_right": "100 psi"}
    found = pressures_past_limits("mill.toml", outfit.profile.replaced(pressures=pressures), outfit.truck)
    assert [(one.field, one.value) for one in found] == [
        ("pressures.front_left", '"8 psi"'),
        ("pressures.rear_left", '"130 psi"'),
    ]
    assert found[1].rule == 'must be <= greatest_pressure of the rear bag ("100 psi")'
    assert "save" in found[1].remedy
