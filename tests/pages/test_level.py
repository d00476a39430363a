import re
import shutil
from math import isfinite

import pytest

from planner.forms import choices
from planner.forms.profile_draft import BED
from planner.forms.profile_form import open_profile
from planner.forms.saving import level_work
from planner.front.session import draft_files
from planner.plans.saved_state import saved_pressures
from planner.show.text.numbers import write
from planner.store.folder import demo_folder
from planner.units.quantity import read

from .conftest import MILL


def expected(store, slug=MILL, system="us"):
    """The pressures to set, as the library has them."""
    return told(level_work(open_profile(store, slug)), system)


def told(answer, system="us"):
    pressures = [float(p) for p in answer.set.pressure.ravel()]
    return [write(p, "pressure", system).number if isfinite(p) else "steel" for p in pressures]


def test_the_answer_on_the_page_is_the_library_s(level, store):
    assert level.pressures() == expected(store)
    assert level.at.title[0].value == "Mill on the hill road"
    assert len(level.pictures()) == 5  # the map and how sure are drawn when they are opened
    assert all(level.pictures())


@pytest.mark.parametrize(
    ("key", "text", "numbers"),
    [
        ("weight", "9000 lb", {"gross_weight": "9000 lb"}),
        ("weight", "9000", {"gross_weight": "9000 lb"}),
        ("weight", "4,2 t", {"gross_weight": "4,2 t"}),
        ("tongue", "15 %", {"tongue_ratio": 0.15}),
        ("tongue", "0.1", {"tongue_ratio": 0.1}),
    ],
)
def test_a_number_of_the_trailer_moves_the_answer_and_not_the_file(level, store, key, text, numbers):
    before, work = level.pressures(), open_profile(store, MILL)
    level.type(key, text)
    assert level.pressures() == told(level_work(work.with_numbers(**numbers))) != before
    assert store.read_trailer("band-mill") == work.trailer
    assert "unsaved changes" in level.html()


@pytest.mark.parametrize(
    ("key", "up", "field", "shown"),
    [
        ("weight", "up", "weight", "7300 lb"),
        ("weight", "down", "weight", "7100 lb"),
        ("tongue", "up", "tongue", "12.5 %"),
        ("left", "down", "left", "49 %"),
        ("stance.front", "up", "stance.front", "0.25 in"),
        ("stance.lean", "down", "stance.lean", "-0.25 in"),
    ],
)
def test_a_step_moves_the_field_it_belongs_to(level, key, up, field, shown):
    assert level.press(f"step-{key}-{up}").field(field).value == shown


def test_steps_of_weight_move_the_answer(level):
    before = level.pressures()
    level.press("step-weight-up").press("step-weight-up")
    assert level.field("weight").value == "7400 lb"
    level.type("weight", "9100 lb").press("step-weight-up")
    assert level.field("weight").value == "9200 lb"
    assert level.pressures() != before


def test_a_bed_load_with_a_bias_is_heavier_on_its_side(level):
    level.type("bed.x", "20 in").type("bed.weight", "1500 lb").type("left", "70 %")
    front_left, front_right, rear_left, rear_right = map(int, level.pressures())
    assert rear_left > rear_right
    assert front_left > front_right
    assert f"cargo item “{BED}”" in level.html()
    assert "13.6 in left of centre" in level.html()  # a fifth of the 68 in rear track
    assert not any("Bed load" in one.label for one in level.at.expander)  # it has its own row


def test_a_stance_wanted_moves_the_answer(level):
    before = level.pressures()
    assert level.type("stance.rear", "1 in").pressures() != before
    assert any(one.label == "Wanted stance: as set here" for one in level.at.expander)


# Bad values


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("weight", "heavy", ("Trailer weight", "expected a weight", "heavy", "write a number")),
        (
            "weight",
            "0 lb",
            (
                "Trailer weight",
                "must be &gt; 0",
            ),
        ),
        ("tongue", "70 %", ("Tongue ratio", "must be &lt;= 50 %")),
        ("left", "-5 %", ("Is it the bed that leans", "must be &gt;= 0")),
        ("bed.weight", "<b>x</b>", ("Bed load", "&lt;b&gt;x&lt;/b&gt;")),
        ("stance.front", "3 ft", ("Front", "must be &lt;= ")),
        ("cargo.0.weight", "7,200 kg", ("Weight", "may mean thousands or decimals")),
        ("cargo.0.name", " ", ("Name", "1 to 120")),
    ],
)
def test_a_bad_value_is_marked_where_it_was_typed_and_the_last_good_answer_stays(level, key, text, said):
    before = level.pressures()
    level.type(key, text)
    wrong = next(one for one in re.findall(r'<p class="wrong" role="alert">.*', level.html()))
    assert all(part in wrong for part in said), wrong
    assert level.field(key).value == text
    assert level.pressures() == before
    assert "Last good answer." in level.html()
    assert 'class="strip old"' in level.html()
    level.press("save")
    assert "cannot be used as typed" in level.errors()


def test_a_bad_value_is_still_there_after_another_page_and_after_a_reload(level, tab):
    level.type("weight", "heavy").go("profiles", profile=MILL, view="list").go("level", profile=MILL)
    assert level.field("weight").value == "heavy"
    again = level.reloaded("level")
    assert again.field("weight").value == "heavy"
    assert "expected a weight" in again.html()


def test_mending_a_bad_value_brings_the_answer_back(level, store):
    level.type("weight", "heavy").type("weight", "7200 lb")
    assert "Last good answer." not in level.html()
    assert level.pressures() == expected(store)


# Truck, trailer, hitch


def test_another_trailer_is_hung_on_the_hitch_that_fits_and_a_loaded_deck_is_not_changed_here(level, store):
    level.type("trailer", "log-deck")
    assert level.field("hitch").value == "bed ball"
    assert level.field("hitch").options == ["bed ball"]
    assert level.pressures() == told(
        level_work(choices.chosen(store, open_profile(store, MILL), "trailer", "log-deck"))
    )
    assert "on its deck" in level.html()
    assert not any((one.key or "").startswith(("weight-", "tongue-")) for one in level.at.text_input)


def test_a_long_deck_is_told_of_in_short(folder, store, tab):
    deck = store.read_trailer("log-deck")
    items = tuple(deck.deck[1].replaced(name=f"Log {place}") for place in range(6))
    store.write(deck.replaced(deck=items), "log-deck")
    assert "Log 0, Log 1, Log 2, Log 3, …" in tab("level", profile="logs-on-the-gooseneck").html()


def test_the_truck_alone_is_a_choice(level):
    level.type("trailer", "")
    assert "No trailer: the truck alone" in level.html()
    assert level.reloaded("level").field("trailer").value == ""


def test_another_truck_is_a_choice(level, store):
    level.type("truck", "yard-truck")
    other = choices.chosen(store, open_profile(store, MILL), "truck", "yard-truck")
    assert level.pressures() == told(level_work(other))
    assert level.pressures()[:2] == ["steel", "steel"]  # it has bags over its rear leaves only
    assert "Yard truck" in level.html()


def test_another_truck_without_bags_in_front_is_levelled_though_pressures_are_saved_for_them(level, store):
    level.press("save").type("truck", "yard-truck")
    assert level.errors() == ""
    level.press("save")
    assert list(saved_pressures(store.read_profile(MILL))) == ["rear_left", "rear_right"]


# Cargo


def test_cargo_is_added_changed_and_taken_off_again(level, store):
    before = level.pressures()
    level.type("added.name", "Log chains").type("added.weight", "600 lb").type("added.x", "-10").type(
        "added.y", "-20 in"
    )
    level.press("add")
    added = level.pressures()
    assert added != before
    assert any("Log chains" in one.label for one in level.at.expander)
    assert level.field("added.name").value == ""
    level.type("cargo.1.y", "20 in")
    assert level.pressures() != added
    level.press("off-1")
    assert level.pressures() == before
    assert "Log chains is off the truck" in level.words().replace("\\", "")
    level.press("undo")
    assert any("Log chains" in one.label for one in level.at.expander)


def test_cargo_that_is_not_complete_is_not_added_and_what_was_typed_stays(level):
    level.type("added.name", "Winch").type("added.weight", "90")
    level.press("add")
    assert "Not added" in level.html()
    assert "expected a length" in level.html()
    assert level.reloaded("level").field("added.name").value == "Winch"


# Units


def test_units_switch_once_for_everything_and_the_file_keeps_what_was_typed(level, store, folder):
    text = (folder / f"{MILL}.toml").read_text("utf-8")
    level.at.segmented_control(key="units").set_value("metric")
    level.run()
    assert level.pressures() == expected(store, system="metric")
    assert level.field("weight").value == "3266 kg"
    assert level.query["units"] == "metric"
    assert level.reloaded("level").field("weight").value == "3266 kg"
    level.press("save")
    saved = (folder / f"{MILL}.toml").read_text("utf-8")
    assert saved.startswith(text)
    assert '"420 lb"' in saved
    assert re.search(r'front_left = "\d+ psi"', saved)  # the gauge's own unit


def test_the_server_s_units_are_those_a_new_tab_starts_with(folder, tab, monkeypatch):
    monkeypatch.setenv("PLANNER_UNITS", "metric")
    assert tab("level", profile=MILL).field("weight").value == "3266 kg"


# Drafts and saving


def test_changes_are_kept_over_other_pages_and_reloads_and_the_file_is_not_touched(level, store, folder):
    before = (folder / f"{MILL}.toml").read_bytes()
    level.type("weight", "8000 lb").type("left", "55 %").type("added.name", "Half typed")
    shown = level.pressures()
    level.go("profiles", profile=MILL, view="list")
    assert "Has unsaved changes" in level.html()
    again = level.go("level", profile=MILL).reloaded("level")
    assert [again.field(key).value for key in ("weight", "left", "added.name")] == ["8000 lb", "55 %", "Half typed"]
    assert again.pressures() == shown
    assert (folder / f"{MILL}.toml").read_bytes() == before


def test_other_profiles_keep_their_own_drafts(level):
    level.type("left", "55 %").go("level", profile="slabs-on-friday").type("left", "45 %")
    assert level.go("level", profile=MILL).field("left").value == "55 %"
    assert level.go("level", profile="slabs-on-friday").field("left").value == "45 %"


def test_saving_writes_the_profile_with_its_pressures_and_ends_the_draft(level, store, folder):
    level.type("left", "52 %").type("stance.rear", "0.5 in")
    shown = level.pressures()
    level.press("save")
    profile = store.read_profile(MILL)
    assert (profile.left_share, profile.stance.rear) == (0.52, read("0.5 in", "length"))
    assert [write(p, "pressure", "us").number for p in saved_pressures(profile).values()] == shown
    assert draft_files.kept(folder) == frozenset()
    assert "is saved" in level.words()
    assert "unsaved changes" not in level.html()


def test_saving_changed_numbers_of_the_trailer_asks_where_they_shall_go(level, store):
    level.type("weight", "8000 lb").press("save")
    assert "where the numbers go" in level.errors()
    assert saved_pressures(store.read_profile(MILL)) == {}
    assert "Mill, bed empty" in level.field("saving.fate").options[0].replace("\\", "")
    level.type("saving.fate", "write").press("save")
    assert store.read_trailer("band-mill").gross_weight.text == "8000 lb"
    assert level.field("weight").value == "8000 lb"
    assert "as the file of Band mill says" in level.html()


def test_changed_numbers_go_into_a_new_trailer(level, store):
    level.type("tongue", "14 %").type("saving.fate", "new").press("save")
    assert "a new trailer needs a name" in level.errors()
    level.type("saving.trailer", "Band mill, log aboard").press("save")
    assert store.read_profile(MILL).trailer == "band-mill-log-aboard"
    assert store.read_trailer("band-mill-log-aboard").tongue_ratio == 0.14
    assert store.read_trailer("band-mill").tongue_ratio == 0.12


def test_changed_numbers_are_dropped(level, store):
    level.type("weight", "8000 lb").type("saving.fate", "drop").press("save")
    assert store.read_trailer("band-mill").gross_weight.text == "7200 lb"
    assert level.pressures() == expected(store)


def test_saving_under_another_name_makes_a_profile_and_goes_on_with_it(level, store):
    level.type("left", "52 %").press("save-as")
    assert "Name</b> is needed" in level.html()
    level.type("saving.name", "x" * 200).press("save-as")
    assert level.html().count("must be 1 to 120") == 1
    assert not level.errors()
    level.type("saving.name", "slabs on Friday")
    assert "There is already Slabs on Friday." in level.html()
    assert level.at.button(key="save-as").label == "Save as slabs on Friday 2"
    level.type("saving.name", "Mill, log aboard").press("save-as")
    assert store.read_profile("mill-log-aboard").left_share == 0.52
    assert store.read_profile(MILL).left_share == 0.5
    assert level.query["profile"] == "mill-log-aboard"
    assert level.at.title[0].value.replace("\\", "") == "Mill, log aboard"


def test_discarding_goes_back_to_the_file_and_can_be_undone(level, store, folder):
    level.type("weight", "8000 lb").type("left", "120 %").press("discard")
    assert level.field("weight").value == "7200 lb"
    assert level.pressures() == expected(store)
    assert draft_files.kept(folder) == frozenset()
    level.press("undo")
    assert (level.field("weight").value, level.field("left").value) == ("8000 lb", "120 %")
    assert draft_files.kept(folder) == {MILL}


def test_a_new_load_is_levelled_saved_and_shown_alone(folder, store, tab):
    new = tab("level", profile="_new")
    assert new.at.title[0].value == "New profile"
    assert "save" not in new.buttons()
    new.type("trailer", "band-mill").type("weight", "6500 lb")
    assert new.reloaded("level").field("weight").value == "6500 lb"
    new.type("saving.fate", "drop").type("saving.name", "Mill, half a log").press("save-as")
    assert store.read_profile("mill-half-a-log").trailer == "band-mill"
    assert new.query["profile"] == "mill-half-a-log"
    assert tab("level", profile="_new").field("trailer").value == ""


def test_the_level_page_without_a_profile_takes_the_first(folder, store, tab):
    page = tab("level")
    assert page.query["profile"] == store.profiles()[0]


def test_saved_pressures_that_no_longer_fit_are_told_of(level, store):
    level.press("save")
    assert "these pressures are saved" in level.words()
    store.write(store.read_trailer("band-mill").replaced(gross_weight="9000 lb"), "band-mill")
    assert "differ from those above" in level.run().words()


# What is wrong with the files themselves


def test_a_hitch_that_was_misspelt_in_the_file_is_told_of_and_mended_here(folder, store, tab):
    path, sound = folder / f"{MILL}.toml", expected(store)
    path.write_text(path.read_text("utf-8").replace('hitch = "receiver"', 'hitch = "reciever"'), "utf-8")
    page = tab("level", profile=MILL)
    assert "did you mean receiver" in page.errors().casefold()
    assert not [one for one in page.pictures() if one.startswith("The truck")]
    page.press("save")
    assert 'hitch = "reciever"' in path.read_text("utf-8")
    page.type("hitch", "receiver")
    assert page.pressures() == sound
    page.press("save")
    assert store.read_profile(MILL).hitch == "receiver"


def test_a_trailer_with_no_hitch_to_fit_is_marked_at_its_field(folder, store, tab):
    store.write(store.read_trailer("log-deck").replaced(coupling="pintle"), "log-deck")
    page = tab("level", profile=MILL)
    before = page.pressures()
    page.type("trailer", "log-deck")
    assert "needs a pintle" in page.html()
    assert "Last good answer." in page.html()
    assert page.pressures() == before
    assert page.reloaded("level").field("trailer").value == "log-deck"
    page.type("trailer", "band-mill")
    assert "needs a pintle" not in page.html()


def test_a_typical_number_of_the_trailer_is_confirmed_by_one_press(folder, store, tab):
    mill = store.read_trailer("band-mill")
    guessed = mill.replaced(typical=("tongue_ratio", "left_share"))
    store.write(guessed, "band-mill")
    page = tab("level", profile=MILL)
    assert "on the tongue, typical, not yet your own" in page.html()
    page.press("own-tongue_ratio")
    assert store.read_trailer("band-mill") == mill.replaced(typical=("left_share",))
    assert "own-tongue_ratio" not in page.buttons()
    page.press("undo")
    assert store.read_trailer("band-mill") == guessed
    page.press("own-tongue_ratio").press("own-left_share")
    assert "on the tongue, as the file of Band mill says" in page.html()


def test_the_truck_without_a_hitch_is_meant_though_another_was_looked_at(folder, store, tab):
    store.write(store.read_truck("ridge-truck").replaced(hitches=()), "ridge-truck")
    store.write(store.read_profile(MILL).replaced(trailer=None, hitch=None), MILL)
    page = tab("garage", truck="skid-truck").go("level", profile=MILL).type("trailer", "band-mill")
    assert 'href="garage?truck=ridge-truck&amp;question=hitch&amp;' in page.html()


def test_a_choice_that_fitted_no_hitch_goes_in_once_there_is_one(folder, store, tab):
    store.write(store.read_truck("ridge-truck").replaced(hitches=()), "ridge-truck")
    store.write(store.read_profile(MILL).replaced(trailer=None, hitch=None), MILL)
    page = tab("level", profile=MILL).type("trailer", "band-mill")
    assert "needs a ball" in page.html()
    assert 'href="garage?truck=ridge-truck&amp;question=hitch&amp;' in page.html()  # where one is added
    shutil.copy(demo_folder() / "trucks/ridge-truck.toml", folder / "trucks")
    again = page.reloaded("level")
    assert "Last good answer." not in again.html()
    assert again.field("hitch").value == "receiver"


@pytest.mark.parametrize(
    ("key", "name"), [("stance.front", "Front"), ("cargo.0.weight", "Fuel drum, weight"), ("weight", "Trailer weight")]
)
def test_what_greys_the_answer_is_named_and_put_back_from_a_page_that_does_not_have_it(level, key, name):
    before = level.field(key).value
    hitch = level.type(key, "much").go("hitch", profile=MILL)
    assert f"Fix <b>{name}" in hitch.html()
    hitch.press(f"put-back-{key}")
    assert "Last good answer." not in hitch.html()
    assert hitch.go("level", profile=MILL).field(key).value == before


def test_a_trailer_damaged_meanwhile_is_told_of_and_the_work_is_kept(level, folder):
    level.type("left", "55 %")
    (folder / "trailers/band-mill.toml").write_text("schema = 1", "utf-8")
    level.run()
    assert "trailers/band-mill.toml" in level.errors().replace("\\", "")
    assert level.field("left").value == "55 %"
    damaged = next(one for one in level.field("trailer").options if "damaged" in one)
    assert damaged == "band-mill (file damaged)"


def test_numbers_that_no_sum_can_be_made_of_keep_the_last_answer(level, monkeypatch):
    before = level.pressures()

    def overflow(setup):
        raise OverflowError("the load is beyond all numbers")

    monkeypatch.setattr("planner.front.level.answer.level_setup", overflow)
    level.run()
    assert "the load is beyond all numbers" in level.errors()
    monkeypatch.undo()
    assert level.run().pressures() == before


def test_cargo_that_lacks_a_name_says_which_field(level):
    level.type("added.weight", "90 lb").type("added.x", "0 in").press("add")
    assert "name must be 1 to 120" in level.html()
    level.type("added.name", "Winch").press("add")
    assert "Not added" not in level.html()


def test_a_new_load_waits_on_the_profiles_page(folder, tab):
    page = tab("level", profile="_new").type("left", "51 %").go("profiles", profile="_new", view="list")
    assert "Go on with the new load" in [one.proto.label for one in page.at.get("page_link")]


def test_what_was_said_on_one_page_is_no_news_on_the_next(level):
    level.type("left", "120 %").press("save")
    assert "cannot be used as typed" in level.errors()
    assert level.go("profiles", profile=MILL, view="list").errors() == ""


def test_exact_numbers_are_shown_on_demand(level, tab):
    assert "Exact height" not in level.html()
    page = tab("level", opened=("exact-box",), profile=MILL).html()
    assert "Exact height" in page
    assert "Front left" in page
    assert re.search(r"<td>\d+ psi</td><td>\d+\.\d psi</td>", page)


def test_a_fifth_wheel_says_whether_its_head_tilts_and_passes_the_side_bias_on_if_not(folder, store, tab):
    truck = store.read_truck("ridge-truck")
    head = truck.hitches[0].replaced(name="plate", coupling="fifth_wheel", x="2 in", height="48 in", ball_diameter=None)
    store.write(truck.replaced(hitches=(head,)), "ridge-truck")
    store.write(store.read_trailer("band-mill").replaced(coupling="fifth_wheel"), "band-mill")
    store.write(store.read_profile(MILL).replaced(hitch="plate"), MILL)
    page = tab("level", profile=MILL)
    assert "head tilts sideways" in page.html()
    before = page.pressures()
    assert page.type("side", "56 %").pressures() == before
    store.write(truck.replaced(hitches=(head.replaced(roll_coupling=1.0),)), "ridge-truck")
    page.run()
    assert "passes 100 % of the side bias on to the truck" in page.html()
    assert page.type("side", "58 %").pressures() != before
