"""The Profiles page in daily use: found at once, alone, re-level said, change-over, the bin."""

import os
import re
import shutil
from datetime import UTC, datetime, timedelta

import pytest

from planner.forms.profile_form import open_profile
from planner.forms.saving import save_profile
from planner.front.profiles import profile_list
from planner.records import read_record
from planner.store import PROFILE, favourites
from planner.store.kinds import Receipt

from .conftest import MILL, Tab

SLABS = "slabs-on-friday"


def order(page: Tab) -> list[str]:
    """The profiles that have a card, in their order."""
    return [one.key.removeprefix("more-") for one in page.at.button if (one.key or "").startswith("more-")]


def find(page: Tab, words: str) -> Tab:
    page.at.text_input(key=profile_list.FIND).set_value(words)
    return page.run()


@pytest.fixture
def page(folder) -> Tab:
    return Tab()


# Found


def test_words_narrow_the_list_and_what_is_not_there_is_said(page, store):
    assert len(order(page)) == len(store.profiles())
    assert order(find(page, "GOOSENECK")) == ["logs-on-the-gooseneck"]
    assert order(find(page, "slab haul")) == [SLABS]
    assert order(find(page, "<b>nowhere</b>")) == []
    assert "No profile has “<b>nowhere</b>”" in page.words().replace("\\", "")
    assert len(order(find(page, ""))) == len(store.profiles())


def test_a_search_of_any_length_is_answered_shortly(page):
    find(page, "x" * 10_000)
    assert "x" * 60 in page.words()
    assert "x" * 61 not in page.words()


def test_a_trailer_narrows_the_list(page, store):
    page.at.selectbox(key=profile_list.TRAILER).set_value("band-mill")
    page.run()
    assert set(order(page)) == {slug for slug in store.profiles() if store.read_profile(slug).trailer == "band-mill"}
    store.save_as(store.read_trailer("band-mill"), "Spare mill")
    page.run().at.selectbox(key=profile_list.TRAILER).set_value("spare-mill")
    assert "No profile is with Spare mill." in page.run().words().replace("\\", "")


def test_a_favourite_comes_first_and_says_so(page):
    assert order(page)[0] != SLABS
    page.press(f"more-{SLABS}").press(f"star-{SLABS}")
    assert order(page)[0] == SLABS
    assert page.at.button(key=f"more-{SLABS}").label == "★ More"
    assert Tab().at.button(key=f"more-{SLABS}").label == "★ More"
    page.press(f"more-{SLABS}").press(f"star-{SLABS}")
    assert page.at.button(key=f"more-{SLABS}").label == "More"


def test_a_favourite_that_is_renamed_stays_one(page, folder):
    page.press(f"more-{SLABS}").press(f"star-{SLABS}")
    page.press(f"more-{SLABS}")
    key = next(one.key for one in page.at.text_input if (one.key or "").startswith(f"name-{SLABS}-"))
    page.at.text_input(key=key).set_value("Zebra")
    page.press(f"rename-{SLABS}")
    assert order(page)[0] == "zebra"
    page.press("undo")
    assert favourites.read_favourites(folder).favourites == {SLABS}


def test_the_last_used_comes_first(page):
    Tab(profile="saw-crew-all-on-the-left")
    assert order(page.run())[0] == "saw-crew-all-on-the-left"


def test_of_many_profiles_the_first_are_drawn_and_more_on_request(folder, store):
    mill = store.read_profile(MILL)
    for number in range(30):
        store.save_as(mill, f"Copy {number}")
    (folder / "zz-torn.toml").write_text("schema = ", "utf-8")
    page = Tab()
    assert len(order(page)) == profile_list.FIRST
    assert "zz-torn" in page.html()
    more = len(store.profiles()) - profile_list.FIRST
    assert f"more of {more}" in page.at.button(key="show-more").label
    page.press("show-more")
    assert len(order(page)) == len(store.profiles())
    assert "show-more" not in page.buttons()
    assert "Look for the name" not in page.html()


# Alone


def test_an_address_may_have_the_name_that_people_read(folder):
    page = Tab(profile="mill ON the hill road")
    assert page.query == {"profile": MILL}
    assert "front left" in page.html()


def test_alone_what_stops_it_comes_before_all_numbers_and_of_the_rest_two(folder):
    said = Tab(profile=SLABS)
    html = said.html()
    stops, found = html.index("Do not drive like this: 4 things"), html.count('<li class="stop">')
    assert found == 4
    assert stops < html.rindex('<li class="stop">') < html.index("<h1>") < html.index("rear left")
    rest = html[html.index("<details><summary>and 2 more</summary>") :].split("</details>")[0]
    assert html.count("<li class=") - found - rest.count("<li class=") == 2
    assert rest.count("<li class=") == 2  # a tap away, whichever page else has them
    assert not said.at.text_input


def test_alone_it_says_whose_numbers_they_are_and_leads_on(folder, store):
    store.write(
        store.read_profile(MILL).replaced(
            readings=[{"at": "2026-05-04T07:30:00", "rear_left": {"pressure": "45 psi"}}]
        ),
        MILL,
    )
    page = Tab(profile=MILL)
    html = page.html()
    for words in (
        "Ridge truck with Band mill",
        "Last trimmed 2026-05-04.",
        "while air goes in or out",
        "ball, back under",
    ):
        assert words in html
    table = html[html.index("<caption>Stage by stage, psi") : html.index("</table>")]
    assert re.findall(r'<th scope="row">(\w+)</th>', table) == ["clear", "meet", "lift", "tow", "unhitched"]
    led = {(one.proto.label.replace("\\", ""), one.proto.query_string) for one in page.at.get("page_link")}
    assert {(name, f"profile={MILL}") for name in ("Hitch up", "It isn't level", "Level")} <= led


def test_a_load_without_an_answer_leads_to_where_it_is_mended(folder):
    path = folder / f"{MILL}.toml"
    path.write_text(path.read_text("utf-8").replace('x = "12 in"\ny = "15 in"', 'at = "moon"'), "utf-8")
    for name in ("profiles", "hitch", "trim", "air"):
        page = Tab(name, profile=MILL)
        assert 'got "moon"' in page.errors()
        assert "Fix it on Level" in {one.proto.label for one in page.at.get("page_link")}
    assert "must be a place of the truck" in Tab("level", profile=MILL).html()  # at its field


def test_a_truck_alone_has_nothing_to_back_under_nor_to_hitch_up(folder):
    page = Tab(profile="saw-crew-all-on-the-left")
    assert "back under" not in page.html()
    assert "Stage by stage" not in page.html()
    assert "Not trimmed yet." in page.html()


# Re-level


@pytest.fixture
def stale(folder, store):
    """The mill's pressures saved, then its trailer made heavier by hand."""
    save_profile(store, open_profile(store, MILL), None, None, "")
    path = folder / "trailers/band-mill.toml"
    path.write_text(path.read_text("utf-8").replace('gross_weight = "7200 lb"', 'gross_weight = "8800 lb"'), "utf-8")
    for slug in store.profiles():
        if slug != MILL and store.read_profile(slug).pressures is not None:
            store.delete(slug)  # which the heavier trailer makes stale too
    return store


def test_saved_pressures_that_suit_are_not_called_stale(folder, store):
    save_profile(store, open_profile(store, MILL), None, None, "")
    store.delete("saw-crew-all-on-the-left")  # the demo's one to level anew
    assert "Re-level" not in Tab().html() + Tab(profile=MILL).html()


def test_a_trailer_that_changed_asks_for_re_levelling_with_old_and_new(stale):
    saved = stale.read_profile(MILL).pressures
    for page in (Tab(), Tab(profile=MILL)):
        html = page.html()
        assert html.count("Re-level:") == 1
        assert "▲" in html
        row = html[html.index('<th scope="row">rear left') :].split("</tr>")[0]
        old, new = map(int, re.findall(r"<td>(\d+) psi</td>", row))
        assert old == round(float(saved.rear_left) / 6894.757)
        assert new > old + 1


def test_levelled_again_it_is_no_longer_stale(stale):
    Tab("level", profile=MILL).press("save")
    assert "Re-level" not in Tab().html()


# From one profile to another


def test_a_change_over_begins_at_the_last_used_and_goes_to_one_of_the_same_truck(page, store):
    Tab(profile=MILL)
    page.open("change-box")
    assert page.at.selectbox(key="change-from").value == MILL
    to = page.at.selectbox(key="change-to")
    assert store.read_profile(to.value).truck == store.read_profile(MILL).truck
    assert page.errors() == ""
    assert any(said.startswith("To ") and "up " in said for said in page.pictures())
    assert "<ol" in page.html()


def test_another_choice_shows_another_way(page):
    Tab(profile=MILL)
    page.open("change-box")
    page.at.selectbox(key="change-to").set_value("logs-on-the-gooseneck")
    page.run()
    assert any("To Logs on the gooseneck" in said for said in page.pictures())
    page.at.selectbox(key="change-from").set_value("logs-on-the-gooseneck")
    page.run()
    assert page.at.selectbox(key="change-to").value != "logs-on-the-gooseneck"


def test_a_truck_of_one_profile_has_no_way_to_another(page, store):
    Tab(profile=SLABS)
    page.open("change-box")
    assert "no other profile of this truck" in page.html()


def test_favourites_are_carried_unless_others_are_chosen(page):
    page.press(f"more-{SLABS}").press(f"star-{SLABS}")
    page.open("carry-box")
    assert page.at.multiselect(key="carry-pick").value == [SLABS]
    page.at.multiselect(key="carry-pick").set_value([])
    assert "Choose at least one" in page.run().html()


# The bin


def test_what_was_deleted_can_be_brought_back_and_that_undone(page, store):
    page.press(f"more-{SLABS}").press(f"delete-{SLABS}")
    page = Tab()
    (key,) = (one for one in page.buttons() if one.startswith("unbin-"))
    page.press(key)
    assert SLABS in store.profiles()
    assert "is back" in page.words()
    page.press("undo")
    assert SLABS not in store.profiles()


def test_what_is_old_goes_for_good_only_when_sure(page, store, folder):
    page.press(f"more-{SLABS}").press(f"delete-{SLABS}")
    (fresh,) = store.binned()
    old = datetime.now(UTC) - timedelta(days=40)
    name = f"{old:{Receipt.TIME}}-profile-long-gone.toml"
    shutil.copy(folder / "bin" / fresh.receipt.binned, folder / "bin" / name)
    page.run()
    assert page.at.button(key="purge").disabled
    page.at.checkbox(key="purge-sure").check()
    page.run().press("purge")
    assert [one.receipt for one in store.binned()] == [fresh.receipt]
    assert "1 file is gone for good" in page.words()
    assert "Nothing in the bin is that old" in page.words()
    page.at.selectbox(key="purge-age").set_value(7)
    assert "purge" not in page.run().buttons()


# As typed


@pytest.mark.parametrize(
    "name", ["<b>x</b><script>alert(1)</script>", "![x](http://a.example/x.png)", "$x$ :red[y] **z**", "😀 שלום"]
)
def test_a_hostile_name_is_plain_in_every_part_of_the_page(folder, store, name):
    slug = store.save_as(store.read_profile(MILL), name)
    Tab(profile=slug)
    page = Tab().open("change-box").open("carry-box")
    assert page.at.selectbox(key="change-from").value == slug
    page.press(f"more-{slug}").press(f"delete-{slug}")
    page.run()
    assert "<script" not in page.html()
    assert "<b>x" not in page.html()
    told = [one.value for one in page.at.markdown if "deleted" in one.value and "file lies" not in one.value]
    assert told
    for words in told:
        assert not any(mark in words.replace("\\" + mark, "") for mark in "![<$*:[")


def test_notes_of_any_length_and_kind_do_not_widen_a_card(folder, store):
    record = store.read_profile(MILL)
    cargo = [{"name": "<i>" + "x" * 110, "weight": "1 lb", "x": "0 in"}]
    store.write(read_record(type(record), record.as_file() | {"cargo": cargo}, "x"), MILL)
    page = Tab()
    assert page.errors() == ""
    assert "<i>" not in page.html()
    assert order(find(page, "<i>xxx")) == [MILL]


def test_a_read_only_folder_shows_its_profiles(folder, store, monkeypatch):
    def refuse(*given):
        raise OSError(30, "Read-only file system")

    monkeypatch.setattr("planner.store.atomic_write.replace_file", refuse)
    page = Tab(profile=MILL)
    assert page.errors() == ""
    assert 'class="corners"' in page.html()
    page = Tab().press(f"more-{MILL}").press(f"star-{MILL}")
    assert "cannot be written" in page.errors()
    assert len(store.entries(PROFILE)) == len(order(page))
    assert os.listdir(folder)
