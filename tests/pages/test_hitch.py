import re
from math import isfinite

import pytest

from planner.forms.profile_form import open_profile
from planner.forms.saving import setup_of
from planner.front.session import draft_files
from planner.plans.hitching import hitch_up
from planner.plans.hitching_stages import STAGES
from planner.plans.saved_state import saved_pressures
from planner.show.text.numbers import say, write
from planner.units.quantity import read

from .conftest import MILL, Tab

LOGS, SLABS, SAW = "logs-on-the-gooseneck", "slabs-on-friday", "saw-crew-all-on-the-left"


@pytest.fixture
def hitch(folder) -> Tab:
    """The Hitch up page on the mill."""
    return Tab("hitch", profile=MILL)


def planned(store, slug=MILL):
    """The plan, as the library has it."""
    return hitch_up(setup_of(open_profile(store, slug)))


def set_words(stage, system="us"):
    """What a stage's drawing says is to be set, corner by corner."""
    pressures = [float(p) for p in stage.answer.set.pressure.ravel()]
    return [say(p, "pressure", system) if isfinite(p) else "steel" for p in pressures]


def shown_set(tab):
    """The pressures on the page, by stage."""
    found = {}
    for words in tab.pictures():
        if named := re.match(r"Set for (\w+),.*?: (.*)\.$", words):
            corners = named[2].split("; ")
            found[named[1]] = [re.match(r"\w+ \w+ ([\d.]+ \w+|steel)", corner)[1] for corner in corners]
    return found


def here(tab):
    """The stage that a narrow screen shows, by where its buttons lead."""
    back, on = (tab.at.button(key=f"stage-{way}").label for way in ("back", "next"))
    place = 0 if back == "First stage" else STAGES.index(back.removeprefix("Back: ")) + 1
    assert on == (f"Next: {STAGES[place + 1]}" if place < 3 else "Last stage")
    return STAGES[place]


def answer(tab):
    """The line that answers, without its marks."""
    line = next(
        re.findall(r'<p class="answer">(.*?)</p>', one.proto.body)
        for one in tab.at.get("html")
        if "answer" in one.proto.body
    )
    return re.sub(r"<.*?>", "", line[0])


@pytest.mark.parametrize("slug", [MILL, LOGS, SLABS])
def test_each_stage_has_the_library_s_pressures_and_its_view(folder, store, slug):
    page, plan = Tab("hitch", profile=slug), planned(store, slug)
    assert shown_set(page) == {stage.name: set_words(stage) for stage in plan.stages}
    views = [words for words in page.pictures() if re.match(r"\w+, stage \d of 4", words)]
    assert len(views) == 4
    assert f"{say(plan.stages[0].height, 'length', 'us')}" in answer(page)
    assert len(page.pictures()) == 9
    assert all(page.pictures())


def test_the_answer_is_how_low_to_go(hitch):
    assert answer(hitch) == "Ball at 17.8 in to back under; 19.1 in to tow."


def test_each_stage_says_what_to_do_what_to_watch_and_what_changed(hitch):
    words = hitch.words().replace("\\", "")
    for said in (
        "Set these, then back under.",
        "Nobody between truck and trailer. Chock the trailer's wheels",
        "Close and pin the latch.",
        "Since meet: ball up 1 in, front axle loses 284 lb",
        "Level the truck. With weight-distribution bars",
        "Never tow below the least pressure",
    ):
        assert said.replace("'", "&#x27;") in words or said in words, said


def test_next_and_back_step_through_the_stages_and_a_reload_stays_there(hitch):
    assert here(hitch) == "clear"
    assert hitch.at.button(key="stage-back").disabled
    for stage in STAGES[1:]:
        assert hitch.press("stage-next").query["stage"] == stage
        assert here(hitch) == stage
        assert here(hitch.reloaded("hitch")) == stage
    assert hitch.at.button(key="stage-next").disabled
    assert here(hitch.press("stage-back")) == "lift"
    assert hitch.at.button(key="stage-next").label == "Next: tow"
    assert hitch.at.button(key="stage-back").label == "Back: meet"


def test_the_stage_is_kept_while_another_page_is_looked_at_and_not_for_another_profile(hitch):
    hitch.press("stage-next").go("level", profile=MILL)
    assert "stage" not in hitch.query
    assert here(hitch.go("hitch", profile=MILL)) == "meet"
    assert here(hitch.go("hitch", profile=LOGS)) == "clear"


def test_a_stage_that_is_none_is_the_first(folder):
    assert here(Tab("hitch", profile=MILL, stage="fly")) == "clear"


# Fields


@pytest.mark.parametrize(
    ("key", "up", "shown"),
    [
        ("hitching.gap", "up", "1.5 in"),
        ("hitching.gap", "down", "0.5 in"),
        ("hitching.stow_lift", "up", "1.5 in"),
        ("hitching.stow_lift", "down", "0.5 in"),
    ],
)
def test_a_step_moves_its_field_and_the_plan(hitch, key, up, shown):
    before = shown_set(hitch)
    hitch.press(f"step-{key}-{up}").press(f"step-{key}-{up}")
    assert hitch.field(key).value == shown
    moved = {stage for stage, pressures in shown_set(hitch).items() if pressures != before[stage]}
    assert moved == {"clear" if key == "hitching.gap" else "lift"}


def test_a_gap_is_kept_as_a_draft_and_saved_with_the_profile(hitch, store, folder):
    hitch.type("hitching.gap", "2 in").type("hitching.stow_lift", "40 mm")
    assert draft_files.kept(folder) == {MILL}
    assert "unsaved changes" in hitch.html()
    assert answer(hitch).startswith("Ball at 16.8 in")
    again = hitch.reloaded("hitch")
    assert again.field("hitching.gap").value == "2 in"
    assert again.go("level", profile=MILL).press("save").errors() == ""
    assert store.read_profile(MILL).hitching.gap == read("2 in", "length")
    assert store.read_profile(MILL).hitching.stow_lift.text == "40 mm"


def test_saving_here_writes_the_pressures_for_the_road(hitch, store):
    hitch.type("hitching.gap", "1.5 in").press("save")
    saved = [write(p, "pressure", "us") for p in saved_pressures(store.read_profile(MILL)).values()]
    assert [str(one) for one in saved] == shown_set(hitch)["tow"]
    hitch.type("saving.name", "Mill, gentle").press("save-as")
    assert hitch.query["profile"] == "mill-gentle"


def test_discarding_puts_the_gap_back_and_undo_brings_it_again(hitch):
    hitch.type("hitching.gap", "2 in").press("discard")
    assert hitch.field("hitching.gap").value == "1 in"
    assert hitch.press("undo").field("hitching.gap").value == "2 in"


@pytest.mark.parametrize(
    ("text", "said"), [("wide", "expected a length"), ("-1 in", "must be &gt;="), ("9 ft", "must be")]
)
def test_a_bad_gap_is_marked_and_the_last_good_plan_stays(hitch, text, said):
    before = shown_set(hitch)
    hitch.type("hitching.gap", text)
    assert said in hitch.html()
    assert "Last good answer." in hitch.html()
    assert shown_set(hitch) == before
    assert hitch.press("save").errors()
    hitch.type("hitching.gap", "1 in")
    assert "Last good answer." not in hitch.html()


def test_what_was_tried_on_the_level_page_is_hitched_here(hitch, store):
    hitch.go("level", profile=MILL).type("weight", "9000 lb").go("hitch", profile=MILL)
    plan = hitch_up(setup_of(open_profile(store, MILL).with_numbers(gross_weight="9000 lb")))
    assert shown_set(hitch) == {stage.name: set_words(stage) for stage in plan.stages}


def test_units_switch_for_all_of_it(hitch, store):
    hitch.at.segmented_control(key="units").set_value("metric")
    hitch.run()
    assert shown_set(hitch) == {stage.name: set_words(stage, "metric") for stage in planned(store).stages}
    assert hitch.field("hitching.gap").value == "25.4 mm"
    assert hitch.press("step-hitching.gap-up").field("hitching.gap").value == "30 mm"


# Out of reach


def lowered(store, parked="14 in"):
    """Park the mill lower."""
    store.write(store.read_trailer("band-mill").replaced(parked_height=parked), "band-mill")


def test_a_dip_out_of_reach_says_how_far_to_jack_and_the_advice_when_followed_gets_under(folder, store):
    lowered(store, "13 in")
    page, plan = Tab("hitch", profile=MILL), planned(store)
    assert f"put the trailer's jack up by {say(plan.jack_up, 'length', 'us')}" in answer(page).replace("&#x27;", "'")
    assert "lowest height of its chart" in page.html()
    assert page.html().count("The hitch comes down to") == 2  # at its stage and among the findings
    assert any("wanted; in the way by" in words for words in page.pictures())
    lowered(store, f"{13 + plan.jack_up / 0.0254} in")
    assert "to back under;" in answer(page.run())


def test_what_the_front_buys_is_told_at_the_stage(folder, store):
    lowered(store, "17 in")
    page = Tab("hitch", profile=MILL)
    assert "to back under;" in answer(page)
    assert "Raise the front by" in page.html()


def test_a_stage_for_the_road_that_is_not_reached_says_why(folder):
    page = Tab("hitch", profile=SLABS)
    assert "18.5 in is wanted and not reached: an axle with no bag" in page.html()
    assert "Stop: do not drive like this." in page.html()
    found = re.findall(r'<li class="(\w+)">', page.html())
    assert found == sorted(found, key=("stop", "caution", "note").index)
    assert found.count("stop") == 4


def test_a_plate_that_stays_too_low_is_told_as_such(folder, store):
    truck = store.read_truck("ridge-truck")
    bed = truck.hitch("bed ball").replaced(coupling="fifth_wheel", ball_diameter=None)
    store.write(truck.replaced(hitches=(truck.hitches[0], bed)), "ridge-truck")
    deck = store.read_trailer("log-deck").replaced(coupling="fifth_wheel")
    store.write(deck, "log-deck")
    page = Tab("hitch", profile=LOGS)
    assert answer(page) == "Plate at 43.5 in to back under; 42 in to tow."
    assert not any((one.key or "").startswith("hitching.gap") for one in page.at.text_input)
    store.write(deck.replaced(parked_height="60 in"), "log-deck")
    told = answer(page.run())
    assert told.startswith("Plate no higher than")
    assert "put the trailer's jack down by" in told.replace("&#x27;", "'")
    assert "Stop: do not drive like this." in page.html()


# Behind the truck, bars, the way back


def test_mount_and_pitch_are_told(folder):
    words = Tab("hitch", profile=SLABS).words().replace("\\", "")
    assert "tows 0.1° nose down; 0.4 in more rise in the mount would level it" in words
    assert "the mount needs neither rise nor drop" in Tab("hitch", profile=MILL).words()


def test_axles_that_are_not_equalised_are_told_apart(folder, store):
    mill = store.read_trailer("band-mill")
    store.write(mill.replaced(coupling_height="21 in", axle_spacing="34 in", axle_rate="8000 lbf/in"), "band-mill")
    assert "front to rear" in Tab("hitch", profile=MILL).words()


def test_bars_are_for_a_drawbar_and_their_order_is_common_practice(hitch, store):
    assert "bars 0 %" in hitch.words().replace("\\", "")
    assert "Common practice" in hitch.html()
    assert "Weight-distribution bars" not in [one.value for one in Tab("hitch", profile=LOGS).at.header]
    store.write(store.read_trailer("band-mill").replaced(bars=0.6), "band-mill")
    assert "put back 60 % of what the hitch takes off the front axle" in hitch.run().words().replace("\\", "")


@pytest.mark.parametrize("units", ["us", "metric"])
def test_an_empty_weighing_shows_what_this_truck_s_front_axle_weighs(folder, store, units):
    page = Tab("hitch", profile=MILL, units=units)
    clear, _, lift, tow = (float(stage.answer.axle_load[0]) for stage in planned(store).stages)
    for key, load in (("alone", clear), ("hitched", lift), ("bars", tow)):
        assert page.field(f"weighed.{key}").placeholder == f"such as {say(load, 'load', units)}"


def test_three_weighings_tell_what_the_bars_put_back(hitch):
    hitch.type("weighed.alone", "4300").type("weighed.hitched", "3900 lb")
    assert "They put back" not in hitch.words()
    hitch.type("weighed.bars", "4100 lb")
    assert "They put back 50 % of the 400 lb that the hitch took off the front axle" in hitch.words().replace("\\", "")
    again = hitch.reloaded("hitch")
    assert again.field("weighed.alone").value == "4300 lb"
    assert "Has unsaved changes" not in Tab().html()  # they go into no file
    assert "They put back 50 %" in again.words().replace("\\", "")
    assert "slacken the bars" in again.type("weighed.bars", "4400 lb").html()
    assert shown_set(again)  # the plan stands: weighings are no part of it
    assert "Last good answer." not in again.html()


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("weighed.bars", "heavy", "expected a weight"),
        ("weighed.hitched", "4400 lb", "must weigh less than the truck alone"),
    ],
)
def test_a_weighing_that_cannot_be_is_marked_and_no_sum_is_made_of_it(hitch, key, text, said):
    for name, weight in (("alone", "4300 lb"), ("hitched", "3900 lb"), ("bars", "4100 lb")):
        hitch.type(f"weighed.{name}", weight)
    hitch.type(key, text)
    assert said in hitch.html()
    assert "They put back" not in hitch.words()
    assert hitch.press("save").errors() == ""


def test_room_over_the_bed_is_told_where_the_records_know_it(folder, store):
    assert "Over the end of the bed" not in Tab("hitch", profile=LOGS).words()
    truck = store.read_truck("ridge-truck").replaced(bed={"rail_height": "56 in", "end": "-40 in"})
    store.write(truck, "ridge-truck")
    store.write(store.read_trailer("log-deck").replaced(underside="24 in"), "log-deck")
    assert "Over the end of the bed it clears" in Tab("hitch", profile=LOGS).words()


def test_unhitching_is_listed_with_its_cautions_first(hitch):
    steps = re.findall(r"<li>(.*?)</li>", hitch.html())
    chocked = next(place for place, step in enumerate(steps) if "chocked" in step)
    unhooked = next(place for place, step in enumerate(steps) if "Unhook plug" in step)
    assert chocked < unhooked
    assert "Chock the trailer&#x27;s wheels before you unhook" in hitch.html()


# What there is to choose, and what is wrong with the files


def test_a_load_without_a_trailer_says_what_to_do_and_takes_one_here(folder):
    page = Tab("hitch", profile=SAW)
    assert "nothing to hitch" in page.words()
    assert "stage-next" not in page.buttons()
    page.type("trailer", "band-mill")
    assert set(shown_set(page)) == set(STAGES)
    assert page.type("trailer", "").pictures() == []


def test_another_trailer_truck_or_hitch_is_a_choice(hitch, store):
    hitch.type("trailer", "log-deck")
    assert hitch.field("hitch").value == "bed ball"
    assert "42 in to tow" in answer(hitch)
    hitch.type("trailer", "slab-hauler").type("truck", "yard-truck")
    assert shown_set(hitch)["clear"][:2] == ["steel", "steel"]


def test_a_trailer_that_fits_no_hitch_is_marked_and_the_last_plan_stays(hitch, store):
    store.write(store.read_trailer("log-deck").replaced(coupling="pintle"), "log-deck")
    before = shown_set(hitch)
    hitch.type("trailer", "log-deck")
    assert "needs a pintle" in hitch.html()
    assert shown_set(hitch) == before


def test_a_hitch_misspelt_in_the_file_is_told_of_and_mended_here(folder, store):
    path = folder / f"{MILL}.toml"
    path.write_text(path.read_text("utf-8").replace('hitch = "receiver"', 'hitch = "reciever"'), "utf-8")
    page = Tab("hitch", profile=MILL)
    assert "did you mean receiver" in page.errors().casefold()
    assert page.pictures() == []
    assert "must be one that takes Band mill" in page.html()  # at the field
    assert set(shown_set(page.press("use-hitch-receiver"))) == set(STAGES)
    assert "must be one that takes" not in page.press("undo").type("hitch", "receiver").html()
    assert set(shown_set(page)) == set(STAGES)


def test_numbers_that_no_sum_can_be_made_of_keep_the_last_plan(hitch, monkeypatch):
    before = shown_set(hitch)

    def overflow(setup):
        raise OverflowError("the load is beyond all numbers")

    monkeypatch.setattr("planner.front.hitch.hitching.find_plan", overflow)
    assert "the load is beyond all numbers" in hitch.run().errors()
    monkeypatch.undo()
    assert shown_set(hitch.run()) == before


def test_a_profile_that_is_not_there_is_told_of(folder):
    page = Tab("hitch", profile="nowhere")
    assert page.at.title[0].value == "Hitch up"
    assert page.errors()


def test_the_page_without_a_profile_takes_the_first(folder, store):
    assert Tab("hitch").query["profile"] == store.profiles()[0]
