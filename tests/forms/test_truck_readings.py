"""Tape readings give a motion ratio, a hub height the rate of a tyre, four wheels the kerb: the owner's own then."""

import pytest

from planner.forms.draft import NEW, Draft, enter_text, fault_of, field_of
from planner.forms.truck_form import TRUCK_FORM, typical
from planner.forms.truck_readings import (
    WHEELS,
    motion_ratio_of,
    tyre_rate_of,
    wheel_weights_of,
    with_motion_ratio,
    with_tyre_rate,
    with_wheel_weights,
)
from planner.store import Store
from planner.store.folder import demo_folder
from planner.units.quantity import Refusal, read


@pytest.fixture
def draft():
    return Draft(TRUCK_FORM, NEW, None, typical())


def entered(draft, *pairs):
    for key, text in pairs:
        draft = enter_text(draft, key, text, "us")
    return draft


def test_a_spring_half_way_out_on_its_arm_moves_half_as_far(draft):
    one = entered(draft, ("arm.front.spring", "9"))
    assert motion_ratio_of(one, "front", "us") is None
    both = entered(one, ("arm.front.wheel", "18 in"))
    assert motion_ratio_of(both, "front", "us") == 0.5  # the lever rule
    used = with_motion_ratio(both, "front", "us")
    assert used.record.front.motion_ratio == 0.5
    assert "front.motion_ratio" not in used.record.typical
    with pytest.raises(Refusal, match="needs both"):
        with_motion_ratio(one, "front", "us")


@pytest.mark.parametrize(("spring", "wheel"), [("0", "18"), ("9", "-18 in"), ("9 psi", "18")])
def test_what_is_no_arm_is_said_at_its_field(draft, spring, wheel):
    new = entered(draft, ("arm.front.spring", spring), ("arm.front.wheel", wheel))
    assert any(fault_of(new, f"arm.front.{end}", "us") is not None for end in ("spring", "wheel"))


def test_a_hub_height_gives_the_rate_by_hookes_law_with_its_spread(draft):
    own = entered(draft, ("kerb.front_axle", "4000 lb"), ("front.tyres.unloaded_radius", "16 in"), ("hub.front", "15"))
    found = tyre_rate_of(own, "front", "us")
    assert found.value == pytest.approx(2000 * 175.126835)  # 2,000 lb on one tyre, an inch of squash, by hand
    used = with_tyre_rate(own, "front", "us")
    assert used.record.front.tyres.rate == read("2000 lbf/in", "spring rate")
    assert "front.tyres.rate" not in used.record.typical
    assert used.record.spread["front.tyres.rate"] > 0


def test_a_tyre_that_is_not_squashed_is_asked_about(draft):
    new = entered(draft, ("hub.rear", "15.9"))
    assert "squash" in fault_of(new, "hub.rear", "us").rule


def test_four_wheels_give_both_axles_and_the_left_share(draft):
    three = entered(
        draft, ("wheel.front.left", "2,180"), ("wheel.front.right", "2120 lb"), ("wheel.rear.left", "1550 lb")
    )
    assert wheel_weights_of(three, "us") is None
    with pytest.raises(Refusal, match="all four"):
        with_wheel_weights(three, "us")
    used = with_wheel_weights(entered(three, ("wheel.rear.right", "1450 lb")), "us").record
    assert (used.kerb.front_axle, used.kerb.rear_axle) == (read("4300 lb", "weight"), read("3000 lb", "weight"))
    assert used.kerb.left_share == pytest.approx(3730 / 7300, abs=1e-4)  # by hand
    assert not {"kerb.front_axle", "kerb.rear_axle", "kerb.left_share"} & set(used.typical)


@pytest.mark.parametrize("text", ["0", "-5 lb", "40 psi", "heavy"])
def test_a_wheel_that_carries_no_weight_is_said_at_its_field(draft, text):
    wheels = ("wheel.front.left", "wheel.front.right", "wheel.rear.left")
    new = entered(draft, *((wheel, "1500 lb") for wheel in wheels), ("wheel.rear.right", text))
    assert fault_of(new, "wheel.rear.right", "us") is not None


@pytest.mark.parametrize("system", ["us", "metric"])
def test_an_example_of_a_reading_is_one_that_its_field_takes(system):
    """Of a wheel half of its axle, of a hub lower than the tyre is high, of a spring inside its wheel."""
    draft = Draft(TRUCK_FORM, NEW, None, Store(demo_folder()).read_truck("ridge-truck"))
    keys = (*WHEELS, *(f"arm.front.{end}" for end in ("spring", "wheel")), "hub.front", "hub.rear", "hitches.0.behind")
    for key in keys:
        draft = enter_text(draft, key, field_of(draft, key).hint(system).removeprefix("such as "), system)
    assert {key: fault_of(draft, key, system) for key in keys} == dict.fromkeys(keys)
    typed = [float(read(draft.typed[key], "weight")) for key in WHEELS]
    kerb = draft.record.kerb
    assert [sum(typed[:2]), sum(typed[2:])] == pytest.approx([float(kerb.front_axle), float(kerb.rear_axle)], rel=0.1)
    assert motion_ratio_of(draft, "front", system) < 1
    assert field_of(draft, "hitches.0.behind").hint("metric") == "such as 1320 mm"
