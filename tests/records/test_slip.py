"""Scale slips: any subset is read, what contradicts itself is refused and says which slip to look at."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.records import BadInput, Slip, read_record
from planner.records.slip import scale_tolerance, with_defaults

ALONE = {"front_axle": "4300 lb", "rear_axle": "3000 lb"}
HITCHED = {"front_axle": "4020 lb", "rear_axle": "4140 lb", "trailer_axles": "6340 lb"}
WITH_BARS = {"front_axle": "4160 lb", "rear_axle": "3940 lb", "trailer_axles": "6400 lb"}
THREE = {"resolution": "20 lb", "alone": ALONE, "hitched": HITCHED, "hitched_with_bars": WITH_BARS}


def read(table):
    return read_record(Slip, with_defaults(table, "slip"), "slip.toml")


def test_a_file_of_readings_alone_is_a_slip():
    slip = read(THREE)
    assert slip.name == "slip"
    assert slip.hitched.trailer_axles.text == "6340 lb"
    assert slip.tolerance is None


def test_the_division_is_20_lb_where_the_file_is_silent():
    assert read({"alone": ALONE}).resolution.text == "20 lb"


@pytest.mark.parametrize("left_out", ["alone", "hitched", "hitched_with_bars"])
def test_any_part_may_be_missing(left_out):
    read({name: part for name, part in THREE.items() if name != left_out})


def test_wheels_stand_for_their_axle_and_one_draft_for_the_truck():
    slip = read({"alone": {"front_left": "2170 lb", "front_right": "2130 lb", "truck": "7300 lb"}})
    assert slip.alone.axle("front") == pytest.approx(4300 * 0.45359237)
    assert slip.alone.axle("rear") is None
    assert slip.alone.whole == pytest.approx(7300 * 0.45359237)


def test_an_empty_slip_is_said_to_be_empty():
    assert read({}).is_empty
    assert read({"alone": {}, "lever": {"reading": "300 lb"}}).is_empty
    assert not read({"alone": ALONE}).is_empty


CONTRADICTIONS = {
    "lighter hitched than alone": ({"hitched": HITCHED | {"rear_axle": "3200 lb"}}, "hitched: .*tongue would pull up"),
    "rear lighter": (
        {"hitched": HITCHED | {"front_axle": "5000 lb", "rear_axle": "2980 lb"}},
        "hitched.rear_axle: .*not weigh less hitched",
    ),
    "front heavier with a hitch behind": (
        {"hitched": HITCHED | {"front_axle": "4380 lb"}},
        "hitched.front_axle: .*takes load off it",
    ),
    "bars that put back more than was taken": (
        {"hitched_with_bars": WITH_BARS | {"front_axle": "4380 lb", "rear_axle": "3720 lb"}},
        "hitched_with_bars.front_axle: .*may only put back what hitching took off",
    ),
    "bars that take off the front": (
        {"hitched_with_bars": WITH_BARS | {"front_axle": "3940 lb", "rear_axle": "4140 lb"}},
        "hitched_with_bars.front_axle: .*swapped",
    ),
    "bars that take off the trailer": (
        {"hitched_with_bars": WITH_BARS | {"trailer_axles": "6260 lb"}},
        "hitched_with_bars.trailer_axles: .*swapped",
    ),
    "something came aboard": (
        {"hitched_with_bars": WITH_BARS | {"rear_axle": "4300 lb"}},
        "hitched_with_bars: .*came aboard",
    ),
    "trailer lighter than its axles": (
        {"trailer_alone": {"gross": "6200 lb"}},
        "trailer_axles: .*tongue would pull up",
    ),
    "more on the tongue than on the axles": (
        {"hitched": HITCHED | {"trailer_axles": "700 lb"}, "hitched_with_bars": {}},
        "carry more on its axles",
    ),
    "parts and whole": (
        {"trailer_alone": {"gross": "7200 lb", "jack": "860 lb", "axles": "6000 lb"}},
        "trailer_alone.gross: must equal the sum of its jack and axles",
    ),
    "jack heavier than axles": (
        {"trailer_alone": {"jack": "6340 lb", "axles": "860 lb"}},
        "trailer_alone.jack: .*swapped",
    ),
    "wheels and axle": (
        {"alone": ALONE | {"front_left": "2000 lb", "front_right": "2000 lb"}},
        r"alone.front_axle: must equal the sum of its wheels, got \"4300 lb\" against 4000 lb",
    ),
    "axles and truck": ({"alone": ALONE | {"truck": "7000 lb"}}, "alone.truck: must equal the sum of its axles"),
    "beam heavier than beam and tongue": (
        {"lever": {"reading": "20 lb", "beam": "30 lb"}},
        "lever.reading: must be > the beam alone",
    ),
    "unknown key": ({"alone": ALONE | {"frnt_left": "2000 lb"}}, "did you mean front_left"),
}


@pytest.mark.parametrize("case", CONTRADICTIONS)
def test_what_contradicts_itself_is_refused_with_the_slip_to_look_at(case):
    changes, words = CONTRADICTIONS[case]
    with pytest.raises(BadInput, match=words):
        read(THREE | changes)


def test_one_fault_is_told_once():
    with pytest.raises(BadInput) as caught:
        read(THREE | {"hitched": HITCHED | {"front_axle": "4380 lb"}})
    assert len([one for one in caught.value.problems if "hitched.front_axle" in one.field]) == 1


def test_a_bed_hitch_may_put_a_little_on_the_front():
    read({"alone": ALONE, "hitched": {"front_axle": "4360 lb", "rear_axle": "5840 lb", "trailer_axles": "10400 lb"}})


@given(
    st.integers(200, 1600),
    st.floats(0.0, 0.45),
    st.floats(0.0, 1.0),
    st.integers(2500, 6000),
    st.sampled_from([1, 5, 10, 20]),
    st.randoms(use_true_random=False),
)
def test_what_a_scale_shows_of_a_real_rig_is_never_refused(tongue, overhang, back, front, step, draw):
    """Rounding and the scale's tolerance may make readings look contradictory; that alone refuses none of them."""
    rear, lost, gross = 3000.0, tongue * overhang, tongue / 0.12
    gained, returned = back * lost, back * lost * 0.6
    passes = {
        "alone": (front, rear),
        "hitched": (front - lost, rear + lost + tongue, gross - tongue),
        "hitched_with_bars": (
            front - lost + gained,
            rear + lost + tongue - gained - returned,
            gross - tongue + returned,
        ),
    }

    def show(weight):
        most = scale_tolerance(weight, step)
        return f"{step * round((weight + draw.uniform(-most, most)) / step)} lb"

    names = ("front_axle", "rear_axle", "trailer_axles")
    table = {
        name: {axle: show(one) for axle, one in zip(names, values, strict=False)} for name, values in passes.items()
    }
    slip = read(table | {"resolution": f"{step} lb"})
    assert re.match(r"\d+ lb", slip.alone.front_axle.text)
