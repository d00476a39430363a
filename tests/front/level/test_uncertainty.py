"""Spreads as they are typed: read, kept with their unit, refused with the way out."""

import pytest

from planner.forms import draft, profile_form
from planner.forms.profile_form import open_profile
from planner.plans.uncertainty.spreads import TYPICAL
from planner.store import Store
from planner.store.folder import demo_folder

PSI, INCH, POUND = 6894.757293168361, 0.0254, 0.45359237


@pytest.fixture
def work():
    return open_profile(Store(demo_folder()), "mill-on-the-hill-road")


def _name(key):
    """Return the spread that is meant, whose name may hold both _ and a point, which no keyword may."""
    return next(name for name in TYPICAL if name.replace(".", "_") == key)


def _typed(work, system="us", **texts):
    for key, text in texts.items():
        work = draft.enter_text(work, f"spread.{_name(key)}", text, system)
    return work


@pytest.mark.parametrize(
    ("key", "text", "system", "value"),
    [
        ("weight", "150 lb", "us", 150 * POUND),
        ("weight", "150", "us", 150 * POUND),
        ("weight", "80", "metric", 80.0),
        ("tongue", "0.5 %", "us", 0.005),
        ("tongue", "0.5", "us", 0.005),  # a bare number is percent: half of the trailer would be no spread
        ("cargo_weight", "10", "us", 0.10),
        ("cargo_place", "3 in", "us", 3 * INCH),
        ("gauge", "0", "us", 0.0),
        ("gauge", "0.1 bar", "us", 1e4),
        ("tape", "1/16 in", "us", INCH / 16),
        ("tyre_rear", "40 N/mm", "us", 40e3),
        ("kerb_front", "20 kg", "us", 20.0),
        ("friction", "3", "us", 0.03),
        ("side_slope", "1 %", "us", 0.01),
        ("steel_load_rear", "60", "us", 60 * POUND * 9.80665),
        ("steel_load_rear", "300 N", "metric", 300.0),
        ("mass_height", "2", "us", 2 * INCH),
    ],
)
def test_a_spread_is_read_as_typed(work, key, text, system, value):
    name = _name(key)
    new = _typed(work, system, **{key: text})
    assert profile_form.own_spreads(new, system) == {name: pytest.approx(value)}
    assert draft.fault_of(new, f"spread.{name}", system) is None
    other = "metric" if system == "us" else "us"
    assert profile_form.own_spreads(new, other) == {name: pytest.approx(value)}, "a switch of units changes nothing"


@pytest.mark.parametrize(
    ("key", "text", "rule"),
    [
        ("weight", "a lot", "expected a weight"),
        ("weight", "-5 lb", "must be >= 0"),
        ("weight", "9000 kg", "and <= 11023 lb"),
        ("tongue", "40 %", "must be 0 % to 30 %"),
        ("tongue", "-1 %", "must be 0 % to 30 %"),
        ("gauge", "3 in", "expected a pressure"),
        ("tape", "2 m", "must be >= 0 and <= 39 in"),
        ("tyre_front", "x", "expected a spring rate"),
    ],
)
def test_a_bad_spread_is_kept_marked_and_not_used(work, key, text, rule):
    new = _typed(work, **{key: text})
    name = f"spread.{_name(key)}"
    refusal = draft.fault_of(new, name, "us")
    assert refusal is not None
    assert rule in refusal.rule
    assert refusal.remedy
    assert draft.text_of(new, name, "us") == text
    assert profile_form.own_spreads(new, "us") == {}
    assert draft.bad_fields(new, "us") == [], "the answer itself does not wait for it"


def test_an_emptied_field_is_typical_again(work):
    new = _typed(_typed(work, gauge="1 psi"), gauge="  ")
    assert profile_form.own_spreads(new, "us") == {}
    assert not new.typed


def test_spreads_are_no_part_of_the_profile(work):
    new = _typed(work, gauge="1 psi")
    assert new.profile == work.profile
    assert not new.changed


def test_a_draft_with_a_spread_of_nothing_known_is_left_alone(work):
    new = work.with_typed("spread.phase.of.the.moon", "3 days")
    assert profile_form.own_spreads(new, "us") == {}
    assert draft.fault_of(new, "spread.phase.of.the.moon", "us") is None
