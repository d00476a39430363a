"""A truck's form: what is typical follows from what is known, and no answer sheet ends in anything but a truck."""

from contextlib import suppress

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner import level
from planner.forms.draft import (
    NEW,
    Draft,
    bad_fields,
    enter_text,
    fault_of,
    from_json,
    text_of,
    to_json,
    value_of,
    without_row,
)
from planner.forms.own_values import confirm, is_typical
from planner.forms.truck_form import TRUCK_FORM, add_hitch, open_truck, typical
from planner.forms.truck_questions import questions
from planner.forms.truck_typical import refit, typical_words
from planner.records import BadInput, Truck
from planner.store import Store
from planner.store.folder import demo_folder
from planner.units.quantity import Refusal, read


@pytest.fixture
def draft():
    return Draft(TRUCK_FORM, NEW, None, typical())


@pytest.fixture
def store(tmp_path):
    return Store(tmp_path)


def entered(draft, *pairs, system="us"):
    for key, text in pairs:
        draft = enter_text(draft, key, text, system)
    return draft


def stands(truck):
    """Whether a truck alone stands level at some pressures, as near as its gauge can set them, with nothing to stop."""
    return not [one for one in level(truck).findings if one.level == "stop"]


PAPER = (  # what stands on the label, the slip, the tyres and the tape of an invented truck
    ("gvwr", "11,500"),
    ("front.gawr", "6000"),
    ("rear.gawr", "7000"),
    ("front.tyres.cold_pressure", "75"),
    ("rear.tyres.cold_pressure", "80"),
    ("front.tyres.size", "LT245/75R17 121/118S"),
    ("kerb.front_axle", "4380"),
    ("kerb.rear_axle", "3120"),
    ("wheelbase", "160"),
    ("front.ride_height", "21"),
    ("rear.ride_height", "22"),
    ("hitches.0.behind", "54"),
    ("hitches.0.height", "19.5"),
)


def test_a_new_truck_is_typical_stands_level_and_says_of_every_value_that_it_is_not_the_owners(draft):
    assert stands(draft.record)
    for question in questions(draft.record):
        for key in question.keys:
            free = key.startswith("aboard.") or key.endswith(
                (".name", ".coupling", ".tyres.size", ".load_rating", ".bag.chart", ".links", ".demands")
            )
            assert (
                is_typical(draft, key)
                or (free and value_of(draft, key) in (None, "", "receiver", "ball", "none"))
                or (key.startswith("aboard."))
            ), key


def test_the_paper_goes_in_and_none_of_it_is_typical_any_more(draft):
    new = entered(draft, *PAPER)
    assert new.typed == {}
    assert value_of(new, "gvwr") == read("11500 lb", "weight")
    assert not set(new.record.typical) & {"gvwr", "front.gawr", "kerb.front_axle", "hitches[0].x"}
    assert float(new.record.hitches[0].x) == pytest.approx(-54 * 0.0254)
    assert stands(new.record)


def test_what_is_typical_follows_from_what_is_known_and_what_is_known_stays(draft):
    before = draft.record
    new = entered(draft, ("rear.gawr", "13500"), ("front.gawr", "7000")).record
    assert new.rear.tyres.load_rating > before.rear.tyres.load_rating
    assert new.gvwr > before.gvwr
    assert new.kerb.rear_axle > before.kerb.rear_axle
    own = entered(draft, ("kerb.rear_axle", "2800"), ("rear.gawr", "9000")).record
    assert own.kerb.rear_axle == read("2800 lb", "weight")


def test_a_value_that_the_file_calls_typical_and_is_its_own_stays():
    truck = Store(demo_folder()).read_truck("ridge-truck")
    new = refit(truck, {"front.gawr": read("6200 lb", "weight")})
    assert new.front.tyres.rate == truck.front.tyres.rate
    assert new.typical == truck.typical


@pytest.mark.parametrize("key", ["front.built", "rear.built"])
def test_steel_only_lays_the_bag_aside_and_bags_bring_it_back(draft, key):
    axle = key.partition(".")[0]
    own = entered(draft, (f"{axle}.bag.fitted_height", "5.5"))
    steel = entered(own, (key, "steel only"))
    assert getattr(steel.record, axle).bag is None
    assert getattr(steel.record, axle).steel_load > 0
    assert not [path for path in steel.record.typical if path.startswith(f"{axle}.bag.")]
    back = entered(steel, (key, "bag over leaf"))
    assert getattr(back.record, axle).bag == getattr(own.record, axle).bag
    assert f"{axle}.bag.fitted_height" not in back.record.typical
    assert stands(back.record)


def test_a_draft_with_a_bag_aside_comes_back_from_its_file(store, draft):
    steel = entered(draft, ("front.built", "steel only"), ("rear.tyres.size", "nonsense"))
    assert from_json(TRUCK_FORM, store, NEW, to_json(steel)) == steel
    for aside in ({"middle": {}}, {"front": {"height": "6 in"}}):
        with pytest.raises(ValueError, match=r"\S"):
            from_json(TRUCK_FORM, store, NEW, {**to_json(steel), "aside": aside})
    for key in ("hitches.7.behind", "hitches.x.behind", "front.tyres.colour"):
        with pytest.raises(ValueError, match=r"\S"):
            from_json(TRUCK_FORM, store, NEW, {**to_json(steel), "typed": {key: "1"}})


def test_a_tyre_size_gives_radius_rating_and_pressure_and_the_other_axle_the_same(draft):
    new = entered(draft, ("front.tyres.size", "lt245/75r17 121/118s e")).record
    for axle in (new.front, new.rear):
        assert axle.tyres.size == "LT245/75R17 121/118S E"
        # 17 in rim, 245 mm of section, 75 % of it high: ISO 4000-1's designation, worked by hand
        assert float(axle.tyres.unloaded_radius) == pytest.approx((17 * 25.4 / 2 + 245 * 0.75) / 1000, abs=2e-4)
        assert float(axle.tyres.load_rating) == pytest.approx(1450, abs=0.5)  # load index 121
    assert "rear.tyres.size" in new.typical
    assert "front.tyres.size" not in new.typical
    assert not {"front.tyres.unloaded_radius", "front.tyres.load_rating"} & set(new.typical)


def test_the_other_axle_keeps_a_size_of_its_own_and_twins_have_the_rating_of_twins(draft):
    new = entered(
        draft,
        ("rear.tyres.size", "225/70R19.5 128/126N"),
        ("front.tyres.size", "LT245/75R17 121/118S"),
        ("rear.tyres.per_side", "2"),
    ).record
    assert new.rear.tyres.size == "LT245/75R17 121/118S" or new.rear.tyres.size.startswith("225/70R19.5")
    assert new.rear.tyres.size.startswith("225/70R19.5")
    assert float(new.rear.tyres.load_rating) == pytest.approx(1700, abs=0.5)  # load index 126
    assert float(new.front.tyres.load_rating) == pytest.approx(1450, abs=0.5)


def test_a_bad_size_is_said_at_its_field_and_the_last_good_one_stays(draft):
    good = entered(draft, ("front.tyres.size", "LT245/75R17 121/118S"))
    bad = entered(good, ("front.tyres.size", "as on the sidewall"))
    assert bad_fields(bad, "us") == ["front.tyres.size"]
    assert "such as LT245/75R16" in fault_of(bad, "front.tyres.size", "us").remedy
    assert bad.record == good.record


def test_who_was_aboard_is_a_weight_and_the_tank_a_share(draft):
    new = entered(draft, ("aboard.driver", "200"), ("aboard.fuel tank", "50 %"))
    assert value_of(new, "aboard.driver") == read("200 lb", "weight")
    assert value_of(new, "aboard.fuel tank") == 0.5
    assert text_of(new, "aboard.fuel tank", "us") == "50 %"
    assert {one.place for one in new.record.kerb.aboard} == {"driver", "fuel tank"}


def test_hitches_come_with_typical_numbers_and_go_with_what_was_typed_for_them(draft):
    two = add_hitch(draft, "gooseneck")
    assert [one.name for one in two.record.hitches] == ["receiver", "bed ball"]
    assert is_typical(two, "hitches.1.height")
    three = add_hitch(two, "ball")
    assert three.record.hitches[2].name == "receiver no 2"
    typed = entered(three, ("hitches.1.height", "high"), ("hitches.2.behind", "60"))
    one = without_row(typed, "hitches", 0, "us")
    assert [hitch.name for hitch in one.record.hitches] == ["bed ball", "receiver no 2"]
    assert one.typed == {"hitches.0.height": "high"}
    assert value_of(one, "hitches.1.behind") == read("60 in", "length")
    assert "hitches[1].x" not in one.record.typical
    assert "hitches[1].height" in one.record.typical
    assert not [path for path in one.record.typical if path.startswith("hitches[2]")]


def test_one_press_makes_a_typical_value_ones_own_the_number_staying(draft):
    new = confirm(draft, "front.motion_ratio")
    assert "front.motion_ratio" not in new.record.typical
    assert new.record.front == draft.record.front
    later = entered(new, ("front.suspension", "independent"))
    assert later.record.front.motion_ratio == draft.record.front.motion_ratio


def test_every_typical_value_has_words(draft):
    for path in draft.record.typical:
        words = typical_words(draft, path, "us")
        assert words, path
        assert "hitches[" not in words, words


def test_a_saved_truck_is_the_truck_that_was_entered(store, draft):
    new = entered(draft, *PAPER)
    saved = TRUCK_FORM.save(store, new, "Long haul")
    assert saved.slug == "long-haul"
    assert store.read_truck("long-haul") == new.record.replaced(name="Long haul")
    text = (store.folder / "trucks/long-haul.toml").read_text("utf-8")
    assert 'gvwr = "11500 lb"' in text
    assert text.index("[kerb]") < text.index("[front]") < text.index("[rear]") < text.index("[[hitches]]")
    again = open_truck(store, "long-haul")
    assert not again.changed


def test_a_text_that_did_not_fit_goes_in_with_the_one_that_makes_it_fit(draft):
    """Fields that change more than themselves wait as others do, and none waits without a fault that is told."""
    low = entered(draft, ("front.bag.fitted_height", "5"), ("front.bag.table", "8 in; 30 in**2\n10 in; 28 in**2"))
    assert bad_fields(low, "us") == ["front.bag.table"]
    fits = entered(low, ("front.bag.fitted_height", "9"))
    both = entered(fits, ("front.bag.table", text_of(fits, "front.bag.table", "us")))
    assert both.typed == {}
    assert float(both.record.front.bag.fitted_height) == pytest.approx(9 * 0.0254)


ANSWERS = {
    "gvwr": st.integers(3000, 33000),
    "gcwr": st.integers(3000, 60000),
    "front.gawr": st.integers(1500, 14000),
    "rear.gawr": st.integers(1500, 21000),
    "kerb.front_axle": st.integers(800, 9000),
    "kerb.rear_axle": st.integers(800, 9000),
    "wheelbase": st.integers(80, 260),
    "front.ride_height": st.integers(10, 40),
    "rear.ride_height": st.integers(10, 40),
    "front.tyres.cold_pressure": st.integers(20, 120),
    "front.tyres.size": st.sampled_from(["LT245/75R17 121/118S E", "35x12.50R17LT", "225/70R19.5 128/126", "?", ""]),
    "rear.tyres.per_side": st.sampled_from(["1", "2", "3"]),
    "front.built": st.sampled_from(["bag alone", "bag over leaf", "bag with coil", "steel only"]),
    "rear.built": st.sampled_from(["bag alone", "bag over leaf", "bag with coil", "steel only"]),
    "front.suspension": st.sampled_from(["solid", "independent"]),
    "rear.plumbing": st.sampled_from(["separate", "joined"]),
    "front.motion_ratio": st.floats(0.2, 1.5).map(lambda x: f"{x:.2f}"),
    "rear.bag.fitted_height": st.integers(1, 12),
    "hitches.0.behind": st.integers(-40, 90),
    "kerb.left_share": st.integers(30, 70).map(lambda x: f"{x} %"),
}
SHEETS = st.lists(
    st.sampled_from(sorted(ANSWERS)).flatmap(lambda key: ANSWERS[key].map(lambda value: (key, str(value)))),
    min_size=1,
    max_size=12,
)


@settings(max_examples=1000, deadline=None)
@given(SHEETS)
def test_any_answer_sheet_ends_in_a_truck_that_levels_or_in_a_named_fault(sheet):
    draft = entered(Draft(TRUCK_FORM, NEW, None, typical()), *sheet)
    assert isinstance(draft.record, Truck)
    assert Truck.model_validate(draft.record.as_file()) == draft.record
    for key in draft.typed:
        fault = fault_of(draft, key, "us")
        assert isinstance(fault, Refusal), (key, draft.typed[key])
        assert fault.rule
        assert fault.remedy
    with suppress(BadInput):  # a fault that is told
        answer = level(draft.record)
        assert answer.level or answer.findings


FAMILY = "\t4 in\t6 in\t8 in\n20 psi\t1100\t960\t800\n60 psi\t3500\t3000\t2500\n100 psi\t5900\t5100\t4300"


@pytest.mark.parametrize(
    ("table", "rows", "heights"),
    [
        (FAMILY, 3, 3),
        ("Height (in);Load (lbf) at 100 psi\n4;5900\n6;5100\n8;4300", 1, 3),
        ("6 in; 34 in**2", 1, 1),
        ("; 100 psi\n6 in; 3400 lbf", 1, 1),
    ],
)
def test_a_chart_goes_in_as_it_is_printed_and_what_is_shown_reads_as_the_same(draft, table, rows, heights):
    new = entered(draft, ("rear.bag.table", table))
    assert new.typed == {}, fault_of(new, "rear.bag.table", "us")
    bag = new.record.rear.bag
    assert (len(bag.charted_areas), len(bag.height)) == (rows, heights)
    assert not is_typical(new, "rear.bag.table")
    assert is_typical(new, "rear.bag.fitted_height")
    again = entered(draft, ("rear.bag.table", text_of(new, "rear.bag.table", "us")))
    assert again.record.rear.bag == bag
    assert stands(new.record)


def test_a_chart_that_the_typical_fitted_height_is_not_on_moves_it_and_ones_own_is_refused(draft):
    tall = "9 in; 30 in**2\n11 in; 28 in**2\n13 in; 25 in**2"
    new = entered(draft, ("front.bag.table", tall))
    assert new.record.front.bag.fitted_height == read("11 in", "length")
    own = entered(draft, ("front.bag.fitted_height", "6"), ("front.bag.table", tall))
    assert bad_fields(own, "us") == ["front.bag.table"]
    assert "must be on the chart" in fault_of(own, "front.bag.table", "us").rule


def test_a_bad_chart_names_row_and_column(draft):
    bad = entered(draft, ("front.bag.table", FAMILY.replace("3000", "three thousand")))
    assert "row 3" in str(fault_of(bad, "front.bag.table", "us"))


def test_a_chart_of_its_own_file_is_taken_and_given_back(draft, store):
    new = entered(draft, ("front.bag.chart", "double-bellows"))
    assert new.record.front.bag.chart == "double-bellows"
    assert "area" not in new.record.as_file()["front"]["bag"]
    assert not [path for path in new.record.typical if path.startswith("front.bag.") and "fitted" not in path]
    back = entered(new, ("front.bag.chart", ""))
    assert back.record.front.bag == draft.record.front.bag


@pytest.mark.parametrize(
    ("key", "text", "rule", "got"),
    [
        ("kerb.left_share", "160", "must be <= 100 %", "160 %"),
        ("air.valve_critical_ratio", "0.7", "must be <= 60 %", "70 %"),
        ("front.motion_ratio", "4", "must be <= 3", "4"),  # no share of anything
    ],
)
def test_limits_of_shares_are_told_in_percent_as_they_are_typed(key, text, rule, got):
    yard = open_truck(Store(demo_folder()), "yard-truck")
    fault = fault_of(enter_text(yard, key, text, "us"), key, "us")
    assert (fault.rule, fault.got) == (rule, got)
