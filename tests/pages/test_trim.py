"""The Trim page: type, read the answer, accept, take back; what is typed is kept."""

import pytest

from planner.plans.saved_state import standing
from planner.plans.setup import Setup
from planner.plans.trim import trim
from planner.store import Store
from planner.store.history import read_history
from planner.units.quantity import read

from .conftest import MILL, Tab

READ = {
    "front_left": ("38", "20.4"),
    "rear_left": ("40", "19.6"),
    "rear_right": ("38", "20.3"),
    "front_right": ("36", "20.2"),
}


@pytest.fixture
def page(folder) -> Tab:
    """The Trim page on the mill."""
    return Tab("trim", profile=MILL)


@pytest.fixture
def typed(page) -> Tab:
    """The page with a whole reading."""
    for corner, (pressure, height) in READ.items():
        page.type(f"trim.{corner}.pressure", pressure)
        page.type(f"trim.{corner}.height", height)
    return page


def test_before_anything_is_typed_it_says_how_to_begin(page):
    assert "Walk round the truck" in page.html()
    assert page.at.button(key="trim-accept").disabled
    assert not page.pictures()


def test_corners_are_asked_as_one_walks_round_the_truck(page):
    asked = [one.key.split("-")[0] for one in page.at.text_input if one.key.startswith("trim.")]
    walk = ("front_left", "rear_left", "rear_right", "front_right")
    assert asked == [f"trim.{corner}.{what}" for corner in walk for what in ("pressure", "height")]


def test_a_reading_is_answered_with_new_pressures(typed, folder):
    assert "Set these, then tape once more." in typed.html()
    words = next(one for one in typed.pictures() if one.startswith("Trim:"))
    assert "rear left is 0.6 in low" in words
    assert "give or take" in words
    assert "Rear axle" in typed.html()


def test_one_height_is_enough_and_what_is_missing_is_said(page):
    page.type("trim.rear_left.height", "0 in low")
    assert "tape the other corners too" in page.html()
    page.type("trim.rear_left.height", "19.2")
    assert "No pressure was read front left" in page.html()
    assert "No height was taped rear right" in page.html()


def test_a_height_may_be_so_much_low(page):
    page.type("trim.rear_left.height", "3/4 in low")
    assert "hub to arch" in page.html()
    assert "rear left is 0." in page.pictures()[0]
    assert page.field("trim.rear_left.height").value == "3/4 in low"


def test_ground_to_arch_is_taken_from_the_hub(page):
    page.type("trim.rear_left.height", "35.5")
    way = next(one for one in page.at.get("button_group") if one.key and one.key.startswith("trim.way"))
    way.set_value("ground")
    page.run()
    assert "in, hub to arch" in page.html()
    assert "taken as 20" in page.html()


@pytest.mark.parametrize(
    ("what", "text", "said"),
    [("height", "-0.5 in low", "low or high says which way"), ("pressure", "40 in", "pressure")],
)
def test_a_bad_number_is_marked_where_it_was_typed_and_kept(page, what, text, said):
    page.type(f"trim.front_left.{what}", text)
    assert said in page.html()
    assert page.field(f"trim.front_left.{what}").value == text


def test_what_is_typed_survives_another_page_and_a_reload(typed):
    typed.go("level", profile=MILL).go("trim", profile=MILL)
    assert typed.field("trim.rear_left.height").value == "19.6 in"
    again = typed.reloaded("trim")
    assert again.field("trim.front_right.pressure").value == "36 psi"


def test_accepting_writes_reading_and_pressures_and_undo_brings_back_both(typed, folder):
    store = Store(folder)
    before = store.read_profile(MILL)
    outfit = store.read_outfit(MILL)
    typed.press("trim-accept")
    after = store.read_profile(MILL)
    reading = after.readings[-1]
    assert (reading.rear_left.pressure.text, reading.rear_left.ride_height.text) == ("40 psi", "19.6 in")
    asked = trim(Setup.of(outfit.profile, outfit.truck, outfit.trailer), reading)
    assert float(after.pressures.rear_left) == pytest.approx(asked.set[1, 0])
    kept = read_history(store, MILL).kept
    assert kept[0].reason == "trimmed"
    assert typed.field("trim.rear_left.height").value == ""
    typed.press("undo")
    assert store.read_profile(MILL).readings == before.readings
    assert store.read_profile(MILL).pressures == before.pressures
    assert typed.field("trim.rear_left.height").value == "19.6 in"


def test_trimmed_pressures_are_not_out_of_date_until_the_load_changes(typed, folder):
    store = Store(folder)
    typed.press("trim-accept")
    outfit = store.read_outfit(MILL)
    parts = outfit.truck, outfit.trailer
    assert outfit.profile.pressures != outfit.profile.trimmed.planned
    assert standing(outfit.profile, *parts).find_outdated() is None
    heavier = outfit.profile.cargo[0].replaced(weight=read("1200 lb", "weight"))
    assert standing(outfit.profile.replaced(cargo=(heavier,)), *parts).find_outdated() is not None
    other = outfit.profile.pressures.replaced(rear_left="60 psi")
    assert standing(outfit.profile.replaced(pressures=other), *parts).find_outdated() is not None
    assert "Re-level:" not in Tab("profiles", profile=MILL).html()
    assert "below the wanted height" not in Tab("profiles", profile=MILL).html()
    assert "those above are as planned" in Tab("level", profile=MILL).words()
    when = outfit.profile.trimmed.at.date().isoformat()
    said = f"For the road set those that were trimmed on {when}"
    assert said in Tab("hitch", profile=MILL).html()
    store.write(outfit.trailer.replaced(gross_weight="8800 lb"), outfit.profile.trailer)
    assert said not in Tab("hitch", profile=MILL).html()  # they no longer suit


def test_pressures_that_were_not_seen_yet_are_not_kept(typed, store):
    before = store.read_profile(MILL)
    typed.field("trim.front_right.height").set_value("21.2")
    typed.press("trim-accept")  # before the answer to that number is on the screen
    assert "your last number came after these pressures" in typed.errors()
    assert store.read_profile(MILL) == before
    typed.press("trim-accept")
    assert store.read_profile(MILL).readings[-1].front_right.ride_height.text == "21.2 in"


def test_what_stands_level_is_left_and_its_pressures_kept(page, folder):
    for corner in READ:
        page.type(f"trim.{corner}.height", "0 in low")
        page.type(
            f"trim.{corner}.pressure",
            {"front_left": "37", "front_right": "34", "rear_left": "45", "rear_right": "38"}[corner],
        )
    assert "leave it" in page.html()
    assert page.at.button(key="trim-accept").label == "Left: keep the reading"
    page.press("trim-accept")
    kept = Store(folder).read_profile(MILL)
    assert kept.pressures.rear_left.text == "45 psi"


def test_a_load_that_is_not_saved_is_not_trimmed_for(typed):
    typed.go("level", profile=MILL).type("weight", "8000 lb")
    typed.go("trim", profile=MILL)
    assert typed.at.button(key="trim-accept").disabled
    assert "save it on Level" in typed.html()


def test_clear_forgets_the_reading_and_undo_brings_it_back(typed):
    typed.press("trim-clear")
    assert typed.field("trim.rear_left.height").value == ""
    typed.press("undo")
    assert typed.field("trim.rear_left.height").value == "19.6 in"


def test_steel_and_a_shared_line_ask_for_no_gauge(folder):
    page = Tab("trim", profile="slabs-on-friday")
    asked = {one.key.split("-")[0] for one in page.at.text_input if one.key.startswith("trim.")}
    assert "trim.front_left.pressure" not in asked
    assert "trim.rear_left.pressure" in asked
    assert "trim.rear_right.pressure" not in asked
    page.type("trim.rear_left.pressure", "60").type("trim.rear_left.height", "19 in")
    assert "Steel carries the front axle" in page.html()


@pytest.mark.parametrize("where", ["level", "hitch", "profiles"])
def test_pages_of_pressures_lead_to_it(folder, where):
    page = Tab(where, profile=MILL)
    labels = [one.proto.label for one in page.at.get("page_link")]
    assert "It isn't level" in labels


RUN = "weekly-mill-run"
EVENING = {"front_left": "38", "rear_left": "40", "rear_right": "38", "front_right": "36"}


def type_leak_test(page, morning):
    for when, gauges, warmth in (("before", EVENING, "50"), ("after", EVENING | morning, "20")):
        for corner, pressure in gauges.items():
            page.type(f"leak.{when}.{corner}", pressure)
        page.type(f"leak.{when}.temperature", warmth)
    return page.type("leak.hours", "12")


def test_last_night_and_this_morning_tell_a_leak_from_cold(page, folder):
    page.open("leak-box")
    assert "Read every gauge in the evening" in page.html()
    type_leak_test(page, {"front_left": "37", "front_right": "35", "rear_left": "30", "rear_right": "37"})
    assert "A leak: rear left." in page.html()
    assert "the rest is a leak of" in page.html()
    assert "soap test" in page.html()
    page.type("leak.after.rear_left", "39")
    assert "No leak that these gauges can show." in page.html()
    assert page.reloaded("trim").field("leak.after.rear_left").value == "39 psi"
    page.press("leak-clear")
    assert page.field("leak.hours").value == ""
    page.press("undo")
    assert page.field("leak.after.rear_left").value == "39 psi"


def test_what_is_still_to_be_typed_is_named(page):
    type_leak_test(page.open("leak-box"), {}).type("leak.after.temperature", "")
    assert "Still missing: temperature this morning." in page.html()


def test_readings_are_drawn_and_the_corner_that_asks_for_air_is_pointed_out(folder):
    page = Tab("trim", profile=RUN)
    assert "The rear left corner keeps asking for more air" in page.html()
    assert "Plan against tape: within ¼ in, eleven trips running." in page.html()
    assert any(one.startswith("26 readings.") for one in page.pictures())


def test_the_recall_view_and_the_card_say_what_readings_tell(folder):
    page = Tab("profiles", profile=RUN)
    assert "The rear left corner keeps asking for more air" in page.html()
    assert "within ¼ in, eleven trips running" in page.html()
    listed = Tab("profiles").html()
    assert listed.count("Plan against tape:") == 1  # no reading, no claim


def test_the_last_reading_may_stand_as_last_nights(folder):
    page = Tab("trim", profile=RUN).open("leak-box").press("leak-last")
    kept = Store(folder).read_profile(RUN).readings[-1]
    assert page.field("leak.before.rear_left").value == kept.rear_left.pressure.text


def test_a_load_that_does_not_read_is_told_of_and_can_be_put_back_from_here(typed, folder):
    typed.go("level", profile=MILL).type("weight", "heavy")
    page = typed.go("trim", profile=MILL)
    assert "Fix <b>Trailer weight</b>" in page.html()
    assert page.at.button(key="trim-accept").disabled
    page.press("put-back-weight")
    assert "Last good answer" not in page.html()
    assert not page.at.button(key="trim-accept").disabled
