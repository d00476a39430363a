"""Truck & trailers: what is there, the trailer's own numbers, its deck, which way to slide, and where it is kept."""

import re

import pytest

from planner.front.session import draft_files
from planner.front.session.open_record import OpenRecord
from planner.plans.trailer_deck import deck_plan, slide_for
from planner.show.text.numbers import say
from planner.units.quantity import read

from .conftest import MILL, Tab


@pytest.fixture
def mill(folder) -> Tab:
    """The page on a trailer given by weight and ratio."""
    return Tab("garage", trailer="band-mill")


@pytest.fixture
def logs(folder) -> Tab:
    """The page on a trailer given by deck items."""
    return Tab("garage", trailer="log-deck")


def figures(tab):
    """The numbers in large type: on the coupling, in all, on the left wheels."""
    found = next(one.proto.body for one in tab.at.get("html") if 'class="figures"' in one.proto.body)
    return re.findall(r"<b>(.*?)</b>", found)


def choose(tab, key, value):
    """Choose one of a few that are all to be seen."""
    (one,) = [one for one in tab.at.segmented_control if re.fullmatch(rf"{re.escape(key)}(-(us|metric))?-\d+", one.key)]
    one.set_value(value)
    return tab.run()


def rows(tab):
    """The lines of the deck's items."""
    labels = [one.label.replace("\\", "") for one in tab.at.expander]
    return [label for label in labels if re.search(r" (ahead|behind), ", label)]


def wrong(tab):
    return re.findall(r'<p class="wrong" role="alert">.*?</p>', tab.html())


# What is there


def test_the_answer_on_the_page_is_the_library_s(logs, store):
    plan = deck_plan(store.read_trailer("log-deck"))
    assert figures(logs) == ["2,488", "13,300", "49.9"]
    assert say(plan.axle_load, "load", "us") in logs.html()
    assert len(logs.pictures()) == 2
    assert all("13,300 lb" in alt for alt in logs.pictures())
    assert "Nothing is over its rating" in logs.html()


def test_findings_are_said_worst_first(folder, tab):
    page = tab("garage", trailer="slab-hauler")
    said = re.findall(r'<li class="(\w+)">', page.html())
    assert said == ["stop", "stop", "caution"]
    assert "Stop: do not drive like this." in page.html()


def test_the_page_opens_on_the_trailer_of_the_profile_in_work_and_links_lead_there(folder, tab):
    page = tab("level", profile="logs-on-the-gooseneck")
    assert "see Truck &amp; trailers" in page.html()
    page.go("garage", profile="logs-on-the-gooseneck")
    assert page.query == {"profile": "logs-on-the-gooseneck"}  # which says what it tows: no step back is made of it
    assert page.at.title[0].value == "Truck & trailers"
    assert page.at.selectbox(key="trailer.pick-1").value == "log-deck"
    assert "trailer" not in page.go("level", profile="logs-on-the-gooseneck").query


def test_another_trailer_is_a_choice_that_a_reload_keeps(logs):
    logs.at.selectbox[0].set_value("band-mill")
    logs.run()
    assert figures(logs)[0] == "864"
    assert logs.query["trailer"] == "band-mill"
    assert figures(logs.reloaded("garage"))[0] == "864"


def test_a_trailer_that_is_not_there_or_damaged_says_so_and_others_can_be_chosen(folder, tab):
    page = tab("garage", trailer="log-dekc")
    assert "log-deck" in page.errors()
    page.at.selectbox[0].set_value("log-deck")
    page.run()
    assert figures(page)
    (folder / "trailers/torn.toml").write_text("schema = 1\nname = ", "utf-8")
    page = tab("garage", trailer="torn")
    assert "torn" in page.errors()
    assert any("file damaged" in option for option in page.at.selectbox[0].options)


# Its own numbers


@pytest.mark.parametrize(
    ("key", "text", "fields"),
    [
        ("gross_weight", "8000", {"gross_weight": "8000 lb"}),
        ("tongue_ratio", "14 %", {"tongue_ratio": 0.14}),
        ("left_share", "45 %", {"left_share": 0.45}),
    ],
)
def test_a_number_moves_the_answer_and_not_the_file(mill, store, key, text, fields):
    was = store.read_trailer("band-mill")
    before = figures(mill)
    mill.type(f"trailer.{key}", text)
    plan = deck_plan(was.replaced(**fields))
    assert figures(mill)[0] == say(plan.tongue_load, "load", "us").split()[0]
    assert figures(mill) != before
    assert store.read_trailer("band-mill") == was
    assert "Unsaved changes" in mill.html()


def test_labels_are_held_against_the_load(mill):
    mill.type("trailer.gvwr", "7000 lb").type("trailer.axle_rating", "3000 lb").type("trailer.tyre_load_rating", "")
    assert re.findall(r'<li class="(\w+)">', mill.html()) == ["stop", "stop"]
    choose(mill, "trailer.axle_count", "3")
    assert re.findall(r'<li class="(\w+)">', mill.html()) == ["stop"]
    assert "3 axles" in mill.html()


def test_coupling_twins_heights_and_distance_are_saved(mill, store):
    choose(mill, "trailer.coupling", "gooseneck")
    choose(mill, "trailer.tyres_per_side", "2")
    mill.type("trailer.coupling_height", "42 in").type("trailer.parked_height", "43,5 in")
    mill.type("trailer.axle_distance", "14 ft").press("trailer-save")
    saved = store.read_trailer("band-mill")
    assert (saved.coupling, saved.tyres_per_side) == ("gooseneck", 2)
    assert [one.text for one in (saved.coupling_height, saved.parked_height, saved.axle_distance)] == [
        "42 in",
        "43,5 in",
        "14 ft",
    ]


def test_bars_come_with_their_order_of_work(mill, store):
    assert "air the truck to its unhitched ride height first" not in mill.html()
    mill.type("trailer.bars", "60 %").press("trailer-save")
    assert "air the truck to its unhitched ride height first" in mill.html()
    assert "common practice" in mill.html()
    assert store.read_trailer("band-mill").bars == 0.6


@pytest.mark.parametrize(
    ("key", "text", "said"),
    [
        ("trailer.gross_weight", "heavy", ("Gross weight", "expected a weight", "write a number")),
        ("trailer.gvwr", "0 lb", ("GVWR", "must be &gt; 0")),
        ("trailer.tongue_ratio", "70 %", ("Tongue ratio", "must be &lt;= 50 %")),
        ("trailer.track", "7,200", ("Track", "may mean thousands or decimals")),
        ("trailer.bars", "<b>", ("put back", "&lt;b&gt;")),
    ],
)
def test_a_bad_value_is_marked_where_it_was_typed_and_the_last_good_answer_stays(mill, store, key, text, said):
    before = figures(mill)
    mill.type(key, text)
    (found,) = wrong(mill)
    assert all(part in found for part in said), found
    assert figures(mill) == before
    assert "Last good answer." in mill.html()
    mill.press("trailer-save")
    assert "cannot be used as typed" in mill.errors()
    assert store.read_trailer("band-mill").gross_weight == read("7200 lb", "weight")
    again = mill.reloaded("garage")
    assert again.field(key).value == text
    assert wrong(again) == [found]


# The deck


def test_items_are_added_changed_and_taken_off_again(logs, store):
    assert len(rows(logs)) == 3
    logs.type("trailer.added.name", "Winch").type("trailer.added.weight", "900").type("trailer.added.ahead", "200 in")
    logs.press("deck-add")
    assert rows(logs)[-1] == "**Winch** 900 lb, 200 in ahead, centred"
    assert figures(logs)[1] == "14,200"
    assert logs.field("trailer.added.name").value == ""
    logs.type("trailer.deck.3.left", "-20 in").type("trailer.deck.3.weight", "1 t")
    assert "20 in right" in rows(logs)[-1]
    logs.press("deck-off-3")
    assert figures(logs)[1] == "13,300"
    assert "Winch is off the deck" in logs.words().replace("\\", "")
    logs.press("undo")
    assert figures(logs)[1] == "15,505"
    logs.press("trailer-save")
    assert [item.weight.text for item in store.read_trailer("log-deck").deck][-1] == "1 t"


def test_an_item_that_is_not_complete_is_not_added_and_what_was_typed_stays(logs):
    logs.type("trailer.added.name", "Winch").press("deck-add")
    assert "Not added" in logs.html()
    assert "expected a weight" in logs.html()
    assert logs.reloaded("garage").field("trailer.added.name").value == "Winch"
    logs.type("trailer.added.name", "").type("trailer.added.weight", "9 lb").type("trailer.added.ahead", "1 in")
    logs.press("deck-add")
    assert "name must be 1 to 120" in logs.html()


def test_a_load_that_would_lift_the_hitch_is_refused_at_its_field_with_the_reason(logs):
    before = figures(logs)
    logs.type("trailer.deck.1.ahead", "-60 in")
    (found,) = wrong(logs)
    assert "Ahead of axle centre" in found
    assert "must give a tongue load &gt;= 0" in found
    assert "tail-heavy and would lift the hitch" in found
    assert figures(logs) == before
    logs.type("trailer.deck.0.ahead", "200 in")
    assert wrong(logs) == []
    assert figures(logs) != before


def test_what_holds_the_tongue_down_cannot_be_taken_off(logs):
    logs.type("trailer.deck.0.ahead", "-20 in").press("deck-off-1")
    assert "must give a tongue load" in logs.errors()
    assert "move load forward" in logs.errors().lower()
    assert len(rows(logs)) == 3


def test_slide_says_how_far_and_puts_it_there_and_back(logs, store):
    found = slide_for(store.read_trailer("log-deck"), "Oak logs", 0.2)
    assert f"Slide Oak logs {say(found.by, 'length', 'us')} ahead for 20 %" in logs.html()
    logs.type("trailer.slide.ratio", "15 %")
    assert "back for 15 %" in logs.html()
    logs.press("slide-it")
    assert "15 % of the gross weight" in logs.html()
    assert "Oak logs is where it should be for 15 %." in logs.html()
    assert "slide-it" not in logs.buttons()
    logs.press("undo")
    assert "18.7 % of the gross weight" in logs.html()


def test_another_item_too_light_for_it_says_what_can_be_had(logs):
    logs.type("trailer.slide.item", "2").type("trailer.slide.ratio", "40 %")
    assert "Sliding Loader arm alone does not give 40 %" in logs.html()
    assert "slide-it" not in logs.buttons()
    logs.type("trailer.slide.ratio", "80 %")
    assert "must be in 0 to 50 %" in wrong(logs)[0]


def test_the_two_ways_to_say_the_weight_are_swapped_and_nothing_is_lost(mill, store):
    before = figures(mill)
    choose(mill, "trailer.way", "deck")
    assert rows(mill) == ["**Trailer as weighed** 7,200 lb, 20.2 in ahead, centred"]
    assert figures(mill) == before
    mill.press("undo")
    assert rows(mill) == []
    choose(mill, "trailer.way", "deck").press("trailer-save")
    assert len(store.read_trailer("band-mill").deck) == 1
    assert mill.go("level", profile=MILL).errors() == ""


def test_a_deck_given_as_a_weight_comes_back_after_a_reload(logs):
    choose(logs, "trailer.way", "weighed")
    assert logs.field("trailer.gross_weight").value == "13300 lb"
    again = choose(logs.reloaded("garage"), "trailer.way", "deck")
    assert len(rows(again)) == 3


# Keeping and saving


def test_changes_are_kept_over_other_pages_and_reloads_and_the_file_is_not_touched(mill, folder):
    before = (folder / "trailers/band-mill.toml").read_bytes()
    mill.type("trailer.gross_weight", "8000 lb").type("trailer.left_share", "x").type("trailer.saving.name", "Half")
    mill.go("level", profile=MILL).go("garage", profile=MILL)
    again = mill.reloaded("garage")
    for page in (mill, again):
        assert page.field("trailer.gross_weight").value == "8000 lb"
        assert page.field("trailer.left_share").value == "x"
        assert page.field("trailer.saving.name").value == "Half"
    assert (folder / "trailers/band-mill.toml").read_bytes() == before
    assert (folder / "trailers/drafts/band-mill.json").is_file()


def test_saving_touches_what_changed_only_and_profiles_follow(mill, folder, store):
    text = (folder / "trailers/band-mill.toml").read_text("utf-8")
    mill.type("trailer.gross_weight", "8000 lb")
    assert mill.html().count("Used by Mill, bed empty; Mill on the hill road") == 2  # by name, where it is deleted too
    mill.press("trailer-save")
    assert (folder / "trailers/band-mill.toml").read_text("utf-8") == text.replace("7200 lb", "8000 lb")
    assert "Band mill is saved" in mill.words().replace("\\", "")
    assert draft_files.kept(store.folder / "trailers") == frozenset()
    assert mill.go("level", profile=MILL).field("weight").value == "8000 lb"


def test_saving_as_a_new_trailer_leaves_the_old_one(mill, store):
    mill.type("trailer.gross_weight", "8000 lb").press("trailer-save-as")
    assert "Name</b> is needed" in mill.html()
    mill.type("trailer.saving.name", "Band mill with slabs").press("trailer-save-as")
    assert mill.query["trailer"] == "band-mill-with-slabs"
    assert store.read_trailer("band-mill-with-slabs").gross_weight == read("8000 lb", "weight")
    assert store.read_trailer("band-mill").gross_weight == read("7200 lb", "weight")
    assert mill.field("trailer.saving.name").value == ""
    assert "No profile uses it yet" in mill.html()
    assert mill.go("garage", trailer="band-mill").field("trailer.gross_weight").value == "7200 lb"
    mill.type("trailer.saving.name", "LOG deck").press("trailer-open-same")
    assert mill.query["trailer"] == "log-deck"


def test_a_new_trailer_starts_typical_and_gets_a_file_of_its_own(mill, store):
    mill.at.selectbox[0].set_value("_new")
    mill.run()
    assert "typical, not yet your own" in mill.html()
    assert "trailer-save" not in mill.buttons()
    mill.type("trailer.gvwr", "7700 lb").type("trailer.saving.name", "Chip box").press("trailer-save-as")
    saved = store.read_trailer("chip-box")
    assert saved.gvwr == read("7700 lb", "weight")
    assert "gvwr" not in saved.typical
    assert "track" in saved.typical


def test_a_folder_without_trailers_starts_a_new_one(folder, tab):
    for file in (folder / "trailers").iterdir():
        file.unlink()
    page = tab("garage")
    assert page.query["trailer"] == "_new"
    assert figures(page) == ["600", "5,000", "50"]


def test_discarded_changes_can_be_had_back(mill):
    mill.type("trailer.gross_weight", "8000 lb").press("trailer-discard")
    assert mill.field("trailer.gross_weight").value == "7200 lb"
    assert "trailer-discard" not in mill.buttons()
    mill.press("undo")
    assert mill.field("trailer.gross_weight").value == "8000 lb"


def test_units_switch_once_and_the_file_keeps_what_was_typed(mill, folder):
    mill.at.segmented_control(key="units").set_value("metric")
    mill.run()
    assert figures(mill)[:2] == ["392", "3,266"]
    assert mill.field("trailer.gross_weight").value == "3266 kg"
    mill.type("trailer.track", "2,05 m").press("trailer-save")
    text = (folder / "trailers/band-mill.toml").read_text("utf-8")
    assert '"7200 lb"' in text
    assert '"2,05 m"' in text


def test_a_damaged_draft_is_set_aside_and_said(folder, tab):
    place = folder / "trailers/drafts/band-mill.json"
    place.parent.mkdir()
    place.write_text('{"good": 1}', "utf-8")
    page = tab("garage", trailer="band-mill")
    assert "unsaved changes could not be read" in page.errors()
    assert figures(page)[0] == "864"
    assert list(place.parent.glob("*.damaged"))


# Two tabs


def test_a_tab_without_changes_follows_another(mill, tab):
    other = tab("garage", trailer="band-mill")
    mill.type("trailer.gross_weight", "8000 lb")
    assert other.run().field("trailer.gross_weight").value == "8000 lb"
    mill.press("trailer-save")
    assert other.run().field("trailer.gross_weight").value == "8000 lb"
    assert "trailer-keep" not in other.buttons()


@pytest.mark.parametrize(("button", "weight"), [("trailer-keep", "9000 lb"), ("trailer-take", "8000 lb")])
def test_changes_in_both_are_offered_both_ways_and_nothing_is_written_meanwhile(mill, store, tab, button, weight):
    other = tab("garage", trailer="band-mill")
    other.type("trailer.gross_weight", "9000 lb")
    store.write(store.read_trailer("band-mill").replaced(gross_weight="8000 lb"), "band-mill")
    other.run()
    assert "was saved in another tab" in other.words()
    other.press("trailer-save")
    assert "changed in another tab" in other.errors()
    assert store.read_trailer("band-mill").gross_weight == read("8000 lb", "weight")
    other.press(button)
    assert "trailer-keep" not in other.buttons()
    assert other.field("trailer.gross_weight").value == weight
    other.press("trailer-save")
    assert store.read_trailer("band-mill").gross_weight == read(weight, "weight")


def test_a_trailer_deleted_elsewhere_is_said(mill, folder):
    mill.type("trailer.gross_weight", "9000 lb")
    (folder / "trailers/band-mill.toml").unlink()
    assert "was deleted or renamed somewhere else" in mill.run().words()
    mill.press("trailer-take")
    assert mill.query["trailer"] != "band-mill"
    assert figures(mill)


def test_another_program_that_saves_in_between_is_not_written_over(mill, store, monkeypatch):
    mill.type("trailer.gross_weight", "9000 lb")
    follow = OpenRecord.follow

    def late(record):
        """Look at the files, and have them changed by another program straight after."""
        follow(record)
        store.write(store.read_trailer("band-mill").replaced(gross_weight="8000 lb"), "band-mill")

    mill.at.button(key="trailer-save").click()
    with monkeypatch.context() as patched:
        patched.setattr(OpenRecord, "follow", late)
        mill.run()
    assert "was changed somewhere else" in mill.errors()
    assert store.read_trailer("band-mill").gross_weight.text == "8000 lb"
    assert "trailer-keep" in mill.run().buttons()
    mill.press("trailer-keep").press("trailer-save")
    assert store.read_trailer("band-mill").gross_weight.text == "9000 lb"
