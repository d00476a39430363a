"""Cargo at a place by its name, and who is aboard, through the plans: what stands on the truck for all of them."""

import shutil
from dataclasses import replace
from pathlib import Path

import pytest

from planner import BadInput, Cargo, level
from planner.plans.cargo_position import even_moves
from planner.plans.changeover import change_over
from planner.plans.map_inputs import inputs_of
from planner.plans.saved_state import standing
from planner.plans.setup import Setup, rig_of
from planner.plans.unloading import stands_well, unloading
from planner.records import PlacedCargo
from planner.store import Store

STORE = Store(Path(__file__).parents[2] / "profiles")
LB, IN = 0.45359237, 0.0254
RIDGE = STORE.read_truck("ridge-truck")
BOX = RIDGE.place("tool box")
BY_NAME = Cargo(name="Chains", weight="300 lb", at="tool box")
BY_NUMBER = Cargo(name="Chains", weight="300 lb", x=BOX.x, y=BOX.y)


def stands(cargo):
    profile = STORE.read_profile("saw-crew-all-on-the-left")
    return standing(profile.replaced(cargo=(*profile.cargo, cargo)), RIDGE, None)


def test_a_library_call_takes_cargo_at_a_place():
    assert level(RIDGE, cargo=[BY_NAME]).pressure == pytest.approx(level(RIDGE, cargo=[BY_NUMBER]).pressure, abs=0)
    with pytest.raises(BadInput, match=r"cargo\[0\]\.at: must be a place of the truck, got \"tool bx\": did you mean"):
        level(RIDGE, cargo=[BY_NAME.replaced(at="tool bx")])


def test_what_if_and_change_over_take_cargo_at_a_place():
    named, numbered = (
        Setup(RIDGE, cargo=(one, Cargo(name="Oil", weight="40 lb", x="9 in"))) for one in (BY_NAME, BY_NUMBER)
    )
    assert even_moves(named) == even_moves(numbered)
    empty = standing(STORE.read_profile("mill-bed-empty"), RIDGE, STORE.read_trailer("band-mill"))
    ways = [change_over(empty, stands(one)) for one in (BY_NAME, BY_NUMBER)]
    assert [move.corners for move in ways[0].moves] == [move.corners for move in ways[1].moves]
    assert ways[0].peak_twist == ways[1].peak_twist


def test_a_setup_s_cargo_goes_into_another_call_as_it_is():
    setup = Setup(RIDGE, cargo=(BY_NAME,))
    (item,) = setup.cargo
    assert isinstance(item, PlacedCargo)
    assert level(RIDGE, cargo=setup.cargo).pressure == pytest.approx(level(RIDGE, cargo=[BY_NAME]).pressure, abs=0)
    assert replace(setup, cargo=(BY_NUMBER,)).cargo[0].x == item.x


def test_those_aboard_count_in_what_the_truck_may_still_carry():
    outfit = STORE.read_outfit("logs-on-the-gooseneck")
    setup = Setup.of(outfit.profile, outfit.truck, outfit.trailer)
    (passenger,) = setup.aboard
    assert passenger.weight == pytest.approx(170 * LB)
    assert (passenger.x, passenger.y) == pytest.approx((95 * IN, -15 * IN))

    def most(one):
        return inputs_of(one)["cargo.0.weight"].high

    heavy = replace(setup, aboard=(replace(passenger, weight=700.0),))
    assert most(heavy) < most(replace(setup, aboard=()))
    assert setup.without_cargo().aboard == setup.aboard  # people stay when cargo goes


def test_what_must_come_off_counts_those_aboard():
    """It used to be found as if nobody were aboard but who was at the weighing: too little came off."""
    outfit = STORE.read_outfit("logs-on-the-gooseneck")
    setup = Setup.of(outfit.profile, outfit.truck, outfit.trailer).without_trailer()
    (passenger,), rig = setup.aboard, rig_of(setup.truck)
    stone = Cargo(name="Stone", weight="9000 lb", x="0 in")
    crew = replace(setup, aboard=(replace(passenger, weight=400.0),), cargo=(stone,))
    off = unloading(crew)
    assert off.bed > unloading(replace(crew, aboard=())).bed + 1.0
    lighter = replace(crew, cargo=(stone.replaced(weight=f"{stone.weight - off.bed} kg"),))
    assert not stands_well(crew, rig, crew.load(rig), crew.wanted).all()
    assert stands_well(lighter, rig, lighter.load(rig), lighter.wanted).all()


def test_a_folder_s_check_names_file_and_field_of_a_place_that_is_not_there(tmp_path):

    folder = shutil.copytree(STORE.folder, tmp_path / "profiles")
    path = folder / "logs-on-the-gooseneck.toml"
    path.write_text(path.read_text("utf-8").replace('place = "passenger"', 'place = "pasenger"'), "utf-8")
    (problem,) = Store(folder).check()
    assert (problem.file, problem.field) == ("logs-on-the-gooseneck.toml", "aboard[0].place")
    assert problem.remedy == "did you mean passenger?"
