"""A truck's own form on Truck & trailers: questions, what is typical, saving, renaming, deleting, commissioning."""

import re
import shutil
from datetime import date

import pytest

from planner.forms.commissioning import COMMISSIONING
from planner.forms.truck_questions import questions
from planner.store import Store

from .conftest import Tab

RIDGE = "ridge-truck"


@pytest.fixture
def new(folder):
    """The page on a truck that has no file yet."""
    return Tab("garage", truck="_new")


@pytest.fixture
def ridge(folder):
    """The page on the demo's truck."""
    return Tab("garage", truck=RIDGE)


def few(tab, key, value):
    """Choose one of a few that are all to be seen."""
    found = [one for one in tab.at.segmented_control if re.fullmatch(rf"{re.escape(key)}(-(us|metric))?-\d+", one.key)]
    (one,) = found
    one.set_value(value)
    return tab.run()


def said(tab):
    """All words, without the marks that keep names from being Markdown."""
    return tab.words().replace("\\", "")


def headings(tab):
    return [one.value for one in tab.at.header]


def test_every_question_is_on_the_sheet_with_a_drawing_of_where_to_look(new, store):
    asked = questions(store.read_truck(RIDGE))
    assert [one.heading for one in asked] == headings(new)[: len(asked)]
    assert len(new.pictures()) == len(asked) + 1  # and the truck from above
    assert "typical, not yet your own" in new.html()


def test_an_empty_folder_opens_on_a_truck_of_ones_own(folder):
    for file in [*folder.glob("*.toml"), *folder.glob("trucks/*.toml")]:
        file.unlink()
    page = Tab("garage")
    assert headings(page)[0] == "What does the door label say?"
    assert page.query["truck"] == "_new"
    page = Tab("level")
    assert "enter your truck" in page.errors().lower()


def test_what_is_typed_is_a_draft_and_comes_back_after_a_reload(new):
    new.type("truck.gvwr", "11,500").type("truck.front.gawr", "six tons")
    assert "taken as 11500 lb" in new.html() or "taken as 11,500 lb" in new.html()
    again = new.reloaded("garage")
    assert again.field("truck.gvwr").value.replace(",", "") == "11500 lb"
    assert again.field("truck.front.gawr").value == "six tons"
    assert "Last good answer." in again.html()
    assert "to fix" in again.words()


def test_a_truck_is_saved_under_a_name_and_a_profile_can_have_it(new, store):
    new.type("truck.gvwr", "11500").type("truck.saving.name", "Long haul").press("truck-save-as")
    assert "Long haul is saved." in said(new)
    assert store.read_truck("long-haul").gvwr.text == "11500 lb"
    assert new.query["truck"] == "long-haul"
    level = Tab("level", profile="mill-on-the-hill-road")
    assert "Long haul" in level.field("truck").options


def test_a_name_that_is_missing_is_said_and_nothing_is_lost(new, store):
    new.type("truck.gvwr", "11500").press("truck-save-as")
    assert "Name</b> is needed" in new.html()
    assert new.field("truck.gvwr").value == "11500"
    assert "new-truck" not in store.trucks()


def test_fields_that_follow_from_others_show_what_they_are_now(new):
    new.type("truck.front.gawr", "6000")
    assert new.field("truck.front.gawr").value == "6000"  # as it was typed
    assert new.field("truck.front.tyres.load_rating").value == "3150 lb"
    assert new.field("truck.kerb.front_axle").value == "4200 lb"


def test_choices_change_what_is_asked(new):
    few(new, "truck.front.built", "steel only")
    assert not [one for one in new.at.text_input if "truck.front.bag" in (one.key or "")]
    few(new, "truck.front.suspension", "independent")
    assert not [one for one in new.at.text_input if "truck.front.spring_spacing" in (one.key or "")]
    few(new, "truck.rear.bar", "yes")
    assert new.field("truck.rear.anti_roll_rate").value != "0"


def test_a_typical_value_becomes_ones_own_by_a_press_that_can_be_taken_back(new):
    before = len(new.buttons())
    new.press("own-front.motion_ratio")
    assert "Yours now: Motion ratio, front: 1" in said(new)
    assert "own-front.motion_ratio" not in new.buttons()
    new.press("undo").press("close-reply")
    assert "own-front.motion_ratio" in new.buttons()
    assert len(new.buttons()) == before


def test_hitches_are_added_and_taken_off(new):
    new.press("hitch-add-gooseneck")
    assert new.field("truck.hitches.1.name").value == "bed ball"
    new.press("hitch-off-0")
    assert new.field("truck.hitches.0.name").value == "bed ball"
    new.press("undo")
    assert new.field("truck.hitches.0.name").value == "receiver"


def test_steps_on_a_narrow_screen_are_in_the_address(new):
    new.press("asked-next")
    assert new.query["question"] == "tyres"
    assert "2 of 10" in new.words()
    new.press("asked-back")
    assert new.query["question"] == "label"


def test_the_demo_s_truck_is_changed_and_its_file_keeps_its_comments(ridge, folder):
    ridge.type("truck.gvwr", "11600").press("truck-save")
    text = (folder / "trucks/ridge-truck.toml").read_text("utf-8")
    assert 'gvwr = "11600 lb"' in text
    assert "# as weighed: driver, fuel, saws and wedges that never leave" in text
    assert "Used by" in ridge.html()


def test_a_truck_is_renamed_and_its_profiles_follow_and_back(ridge, store):
    ridge.type("truck.gvwr", "11600")
    ridge.at.text_input(key="truck-rename").set_value("Hill truck")
    ridge.press("truck-rename-it")
    assert "is now called Hill truck." in said(ridge)
    assert store.read_profile("mill-on-the-hill-road").truck == "hill-truck"
    assert ridge.query["truck"] == "hill-truck"
    assert ridge.field("truck.gvwr").value == "11600 lb"  # what was not saved went with it
    assert store.read_truck("hill-truck").gvwr.text == "11500 lb"
    ridge.press("undo")
    assert store.read_profile("mill-on-the-hill-road").truck == RIDGE


def test_a_truck_that_profiles_name_goes_with_them_and_comes_back_with_them(ridge, store):
    before = set(store.profiles())
    ridge.press("truck-delete")
    assert RIDGE not in store.trucks()
    assert set(store.profiles()) < before
    ridge.press("undo")
    assert RIDGE in store.trucks()
    assert set(store.profiles()) == before


def test_a_trailer_is_deleted_in_the_same_way(folder, store):
    page = Tab("garage", trailer="log-deck")
    page.press("trailer-delete")
    assert "log-deck" not in store.trailers()
    page.press("undo")
    assert "log-deck" in store.trailers()


def test_what_was_looked_at_is_dated(ridge, store):
    name = next(iter(COMMISSIONING))
    ridge.at.text_input(key="checked-by").set_value("Ruth")
    ridge.press("check-done-0").press("truck-save")
    (found,) = store.read_truck(RIDGE).checks
    assert (found.name, found.on, found.by) == (name, date.today(), "Ruth")


def test_a_damaged_truck_says_so_where_it_is_chosen(folder, tab):
    (folder / "trucks/torn.toml").write_text("schema = 1\nname = ", "utf-8")
    page = tab("garage", truck="torn")
    assert "trucks/torn" in page.errors().replace("\\", "")
    assert any("torn (file damaged)" in option for box in page.at.selectbox for option in box.options)


def test_one_goes_from_trucks_to_trailers_and_back(ridge):
    (switch,) = [one for one in ridge.at.segmented_control if one.key == "garage-kind"]
    switch.set_value("trailer")
    ridge.run()
    assert "Weight and deck" in headings(ridge)
    (switch,) = [one for one in ridge.at.segmented_control if one.key == "garage-kind"]
    switch.set_value("truck")
    ridge.run()
    assert headings(ridge)[0] == "What does the door label say?"


def test_in_a_folder_that_has_no_trucks_yet_a_truck_is_kept_too(folder):
    shutil.rmtree(folder / "trucks")
    page = Tab("garage", truck="_new")
    page.type("truck.gvwr", "11500")
    assert "not kept" not in page.words()
    assert page.reloaded("garage").field("truck.gvwr").value == "11500 lb"


def test_a_chart_is_kept_as_a_file_that_another_axle_can_use_and_taken_back(new, store):
    area = next(one for one in new.at.text_area if "truck.front.bag.table" in one.key)
    area.set_value("4 in; 40 in**2\n6 in; 36 in**2\n8 in; 30 in**2")
    new.run()
    new.at.text_input(key="chart-name-front").set_value("Twin bellows")
    new.press("keep-chart-it-front")
    assert "twin-bellows" in store.bags()
    assert new.field("truck.front.bag.chart").value == "twin-bellows"
    new.type("truck.rear.bag.chart", "twin-bellows")
    assert not [one for one in new.at.text_area if "truck.rear.bag.table" in one.key]
    new.type("truck.rear.bag.chart", "")
    assert [one for one in new.at.text_area if "truck.rear.bag.table" in one.key]


def test_a_chart_without_a_name_is_not_kept_and_that_is_said(new, store):
    area = next(one for one in new.at.text_area if "truck.front.bag.table" in one.key)
    area.set_value("6 in; 36 in**2")
    new.run()
    before = store.bags()
    new.press("keep-chart-it-front")
    assert new.errors()
    assert store.bags() == before


def test_readings_on_a_scale_teach_the_truck_and_it_is_taken_back(folder):
    page = Tab("garage", truck="skid-truck").open("learn-box")
    chosen = next(one for one in page.at.selectbox if one.label == "Gauge and tape from")
    chosen.set_value(0)
    page.run()
    assert "Not used yet: needs front axle and rear axle." in page.html()
    page.type("truck.learn.0.front_axle", "3920").type("truck.learn.0.rear_axle", "4430")
    assert "The reading that would help most" in page.html()
    assert "rear steel" in page.html()
    store, before = Store(folder), Store(folder).read_truck("skid-truck")
    page.press("use-learnt")
    assert store.read_truck("skid-truck").weighings[-1].source == "1 reading on a scale"
    assert page.field("truck.learn.0.front_axle").value == ""
    page.press("undo")
    assert store.read_truck("skid-truck") == before
    assert page.field("truck.learn.0.front_axle").value == "3920 lb"


def test_what_is_found_out_on_a_scale_leads_to_the_slips(folder):
    file = folder / "trucks" / "skid-truck.toml"
    unsure = '[spread]\n"kerb.front_axle" = "400 lb"\n"kerb.rear_axle" = "400 lb"\n'
    file.write_text(file.read_text("utf-8").replace("[spread]\n", unsure), "utf-8")
    page = Tab("garage", truck="skid-truck")
    assert "What to find out next: kerb weight." in page.html()
    assert "To the scale slips" in [one.proto.label for one in page.at.get("page_link")]


def test_air_is_asked_as_the_air_page_asks_and_left_alone_it_is_not_in_the_file(new, folder):
    new.type("truck.saving.name", "No air told").press("truck-save-as")
    assert "[air]" not in (folder / "trucks/no-air-told.toml").read_text("utf-8")
    assert "Tank, compressor and lines: 10 of 11 typical" in [one.label for one in new.at.expander]
    new.type("truck.air.tank_volume", "wet").type("truck.air.cut_in", "100 psi")
    assert "expected a volume" in new.html()
    new.type("truck.air.tank_volume", "8 gal").press("truck-save")
    text = (folder / "trucks/no-air-told.toml").read_text("utf-8")
    assert 'tank_volume = "8 gal"' in text
    assert 'cut_out = "135 psi"' in text  # typical of such a cut-in, and listed as that
    assert "air.cut_out" in text.partition("[")[2]
