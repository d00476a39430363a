"""The Profiles page as it is used: found at once, its numbers by one tap, re-level said, changed over, brought back."""

import re

import pytest
from playwright.sync_api import expect

from planner.forms.profile_form import open_profile
from planner.forms.saving import save_profile
from planner.store.transfer.zip_safety import MOST_MB

from .conftest import MILL, hard_to_read

SLABS, GOOSENECK = "slabs-on-friday", "logs-on-the-gooseneck"


def cards(page):
    """The cards in sight, by slug, in their order."""
    names = page.locator(".st-key-cards [class*=st-key-card-]").evaluate_all("all => all.map(one => one.className)")
    return [re.search(r"st-key-card-([a-z0-9-]+)", one)[1] for one in names]


def test_typing_finds_a_profile_without_a_key_pressed_for_it(server, opened):
    window = opened(server)
    page = window.go(server.url)
    assert len(cards(page)) == 6
    page.get_by_label("Find a profile").fill("GOOSE")
    expect(page.locator("[class*=st-key-card-]")).to_have_count(1)
    assert cards(window.ready()) == [GOOSENECK]


def test_by_keyboard_alone_from_the_list_to_the_numbers(server, opened):
    window = opened(server)
    page = window.go(server.url)
    page.get_by_label("Find a profile").focus()
    page.keyboard.type("friday")
    expect(page.locator("[class*=st-key-card-]")).to_have_count(1)
    window.ready()
    numbers = page.get_by_role("link", name="Set these")
    window.tab_to(numbers, 12)
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/?profile={SLABS}*")
    expect(page.locator(".st-key-alone .halt")).to_be_in_viewport(ratio=1)


def test_a_favourite_comes_first_and_stays_so(server, opened):
    window = opened(server, phone=True)
    page = window.go(server.url)
    assert cards(page)[0] != SLABS
    page.locator(f".st-key-more-{SLABS} button").tap()
    page.locator(f".st-key-star-{SLABS} button").tap()
    expect(page.get_by_role("button", name="★ More")).to_be_visible()
    page.reload()
    assert cards(window.ready())[0] == SLABS


@pytest.mark.parametrize("dark", [False, True])
def test_by_one_tap_what_stops_it_and_its_numbers_are_read_in_the_sun(server, opened, dark):
    save_profile(server.store, open_profile(server.store, MILL), None, None, "")  # whose day is a number too
    window = opened(server, phone=True, dark=dark)
    page = window.go(server.url)
    page.locator(f".st-key-go-profiles-{SLABS} a").tap()
    page.wait_for_url(f"**/?profile={SLABS}*")
    window.ready()
    halt = page.locator(".st-key-alone .halt")
    expect(halt).to_contain_text("Do not drive like this: 4 things")
    expect(halt.locator("li")).to_have_count(4)
    expect(halt).to_be_in_viewport(ratio=1)
    assert halt.bounding_box()["y"] < page.locator(".corners").bounding_box()["y"]
    small = page.locator(".corners b").last.bounding_box()["height"]
    page.get_by_role("link", name="Profiles", exact=True).tap()
    expect(page.locator(".st-key-cards")).to_be_visible()
    assert cards(window.ready())[0] == SLABS  # the last used
    page.locator(f".st-key-go-profiles-{MILL} a").tap()
    expect(page.locator(".st-key-alone h1")).to_have_text("Mill on the hill road")
    window.ready()
    for part in (".corners", ".heights", "table", ".st-key-alone-links"):
        expect(page.locator(f".st-key-alone {part}")).to_be_in_viewport(ratio=1)
    assert page.locator(".corners b").last.bounding_box()["height"] > max(70, small)  # px: at arm's length
    assert window.reaches()[1] <= 391
    assert window.small(".st-key-alone a, .st-key-nav a:visible") == []
    assert hard_to_read(page, ".st-key-alone, .st-key-nav") == []
    page.set_viewport_size({"width": 820, "height": 1180})  # a tablet, with two columns
    expect(page.locator(".st-key-alone-links")).to_be_in_viewport(ratio=1)
    fits = "all => all.every(e => e.getClientRects().length === 1 && e.offsetWidth <= e.parentElement.offsetWidth)"
    assert page.locator(".corners b").evaluate_all(fits)
    assert hard_to_read(page, ".st-key-alone, .st-key-nav") == []


def test_pressures_out_of_date_are_said_before_they_are_read(server, opened):
    save_profile(server.store, open_profile(server.store, MILL), None, None, "")
    server.store.write(server.store.read_trailer("band-mill").replaced(gross_weight="8800 lb"), "band-mill")
    for phone in (False, True):
        window = opened(server, phone=phone)
        page = window.go(server.url)
        card = page.locator(f".st-key-card-{MILL}")
        expect(card).to_contain_text("▲ Re-level:")
        expect(card.locator(".stale")).to_contain_text(re.compile(r"rear left\d+ psi\d+ psi"))
        window.go(f"{server.url}/?profile={MILL}")
        said = page.locator(".st-key-alone .caution", has_text="Re-level:").bounding_box()
        assert said["y"] < page.locator(".st-key-alone .corners").bounding_box()["y"]
        expect(page.locator(".stale")).to_be_in_viewport(ratio=1)


@pytest.mark.parametrize("phone", [False, True])
def test_the_way_from_one_profile_to_another_is_shown_corner_by_corner(server, opened, phone):
    window = opened(server, phone=phone)
    window.go(f"{server.url}/?profile={MILL}")
    page = window.go(server.url)
    page.get_by_text("Switch from one profile to another").click()
    picture = page.locator(".st-key-change img")
    expect(picture).to_have_attribute("alt", re.compile("as the truck stands seen from above: front left"))
    expect(page.locator(".st-key-change ol li").first).to_be_visible()
    window.choose(page.locator(".st-key-change-to input"), "Logs on the gooseneck")
    expect(picture).to_have_attribute("alt", re.compile("To Logs on the gooseneck"))
    window.ready()
    assert window.reaches()[1] <= page.viewport_size["width"] + 1
    assert picture.bounding_box()["width"] <= 34 * 16


def test_what_is_carried_is_made_when_asked_for(server, opened):
    window = opened(server)
    page = window.go(server.url)
    page.get_by_text("Cards and phone page").click()
    with page.expect_download() as got:
        page.get_by_role("button", name="Page for the phone").click()
    assert "Mill on the hill road" in got.value.path().read_text("utf-8")
    with page.expect_download() as got:
        page.get_by_role("button", name="Cards for the cab (PDF)").click()
    assert got.value.path().read_bytes().startswith(b"%PDF")


def test_a_deleted_profile_is_brought_back_from_the_bin(server, opened):
    server.store.delete(SLABS)
    window = opened(server, phone=True)
    page = window.go(server.url)
    assert SLABS not in cards(page)
    page.get_by_text("Bin: 1 deleted").tap()
    page.get_by_role("button", name="Bring back").tap()
    expect(page.locator(f".st-key-card-{SLABS}")).to_be_visible()
    expect(page.get_by_text("Slabs on Friday is back.")).to_be_visible()
    assert SLABS in server.store.profiles()


def test_of_two_windows_that_save_the_second_is_offered_both(server, opened):
    one, other = opened(server), opened(server)
    bias = [
        window.go(f"{server.url}/level?profile={GOOSENECK}").get_by_label("Is it the bed that leans", exact=False)
        for window in (one, other)
    ]
    bias[0].fill("52 %")
    bias[0].press("Enter")
    one.ready()
    one.page.get_by_role("button", name="Save with these pressures").click()
    expect(one.page.get_by_text("is saved, with the pressures to set")).to_be_visible()
    bias[1].fill("48 %")
    bias[1].press("Enter")
    clash = other.page.locator(".st-key-clash")
    expect(clash).to_contain_text("left_share")
    expect(clash).to_contain_text("Nothing is written until you choose")
    other.page.get_by_role("button", name="Save with these pressures").click()
    expect(other.page.get_by_text("look at it again", exact=False)).to_be_visible()
    assert server.store.read_profile(GOOSENECK).left_share == 0.52
    other.page.get_by_role("button", name="Keep what is here").click()
    expect(clash).to_have_count(0)
    other.ready()
    other.page.get_by_role("button", name="Save with these pressures").click()
    expect(other.page.get_by_text("is saved, with the pressures to set")).to_be_visible()
    assert server.store.read_profile(GOOSENECK).left_share == 0.48


def test_names_of_all_sorts_are_text_and_stay_in_their_place(server, opened):
    names = ["<b>b</b> ![x](http://attacker.example/x.png) $x$", "😀 שלום مرحبا", "W" * 120]
    mill = server.store.read_profile(MILL)
    for name in names:
        server.store.save_as(mill, name)
    server.store.delete(server.store.save_as(mill, "Binned <i>i</i> :red[r] " + "m" * 90))
    window = opened(server, phone=True)
    page = window.go(server.url)
    page.get_by_text("Cards and phone page").tap()
    page.get_by_text("Bin: 1 deleted").tap()
    page.get_by_text("Switch from one").tap()
    expect(page.locator(".st-key-change img")).to_be_visible()
    window.ready()
    expect(page.get_by_text("Binned <i>i</i> :red[r]")).to_be_visible()
    alts = page.locator(".st-key-cards img").evaluate_all("all => all.map(one => one.alt)")
    for name in names:
        assert any(name in alt for alt in alts), name
    assert window.reaches()[1] <= 391


def test_a_zip_that_is_too_large_is_refused_in_words_that_are_seen(server, opened, tmp_path):
    (tmp_path / "large.zip").write_bytes(bytes((MOST_MB + 1) * 2**20))
    page = opened(server, phone=True).go(server.url)
    page.get_by_text("Back up and restore").tap()
    page.locator("input[type=file]").set_input_files(tmp_path / "large.zip")
    page.wait_for_selector("[data-testid=stFileChip][aria-invalid=true]")
    said = page.locator("[data-testid=stFileUploader]").evaluate("e => getComputedStyle(e, '::after').content")
    assert "Not taken" in said
