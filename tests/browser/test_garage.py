"""Truck & trailers in a real browser: whole at both widths, the deck works by thumb and keyboard, nothing is lost."""

import re

from playwright.sync_api import expect

from planner.plans.trailer_deck import slide_for
from planner.show.drawings.palette import LIGHT
from planner.show.text.numbers import say

from .conftest import rgb

LOGS, MILL = "/garage?trailer=log-deck", "/garage?trailer=band-mill"


def first(page):
    """The first of the numbers in large type: the load on the coupling."""
    return page.locator(".figures b").first


def test_on_a_phone_the_answer_comes_first_and_all_buttons_are_as_large_as_a_thumb(server, opened):
    window = opened(server, phone=True)
    page = window.go(server.url + LOGS)
    number, drawing = first(page).bounding_box(), page.locator(".st-key-answer img").first.bounding_box()
    field = page.get_by_label("GVWR", exact=True).bounding_box()
    assert number["y"] + number["height"] < 400
    assert number["y"] < drawing["y"] < field["y"]
    assert first(page).evaluate("e => parseFloat(getComputedStyle(e).fontSize)") > 30
    assert window.small("button:visible, summary:visible") == []


def test_an_item_is_added_moved_and_taken_off_by_thumb(server, opened):
    window = opened(server, phone=True)
    page = window.go(server.url + LOGS)
    expect(first(page)).to_have_text("2,488")
    page.get_by_text("Add an item").tap()
    box = page.locator(".st-key-deck-add-box")
    box.get_by_label("Name", exact=True).fill("Winch")
    box.get_by_label("Weight", exact=True).fill("900")
    box.get_by_label("Ahead of axle centre", exact=True).fill("200 in")
    box.get_by_role("button", name="Add", exact=True).tap()
    expect(first(page)).to_have_text("3,140")  # 900 · 200 / 276 = 652 more
    window.ready()  # the rows, which come after the answer
    row = page.locator("[class*=st-key-deck-trailer]").filter(has_text="Winch")
    row.locator("summary").tap()
    row.get_by_label("Ahead of axle centre", exact=True).fill("0")
    expect(first(page)).to_have_text("2,488")
    row.get_by_role("button", name="Take it off").tap()
    expect(row).to_have_count(0)
    window.ready()
    page.get_by_role("button", name="Undo").tap()
    expect(row).to_have_count(1)


def test_a_load_that_would_lift_the_hitch_is_marked_under_its_field_and_the_answer_is_greyed(server, opened):
    window = opened(server)
    page = window.go(server.url + LOGS)
    row = page.locator("[class*=st-key-deck-trailer]").filter(has_text="Oak logs")
    row.locator("summary").click()
    field = row.get_by_label("Ahead of axle centre", exact=True)
    field.fill("-60 in")
    wrong = row.locator(".wrong")
    expect(wrong).to_contain_text("tail-heavy and would lift the hitch")
    above, said = field.bounding_box(), wrong.bounding_box()
    assert 0 <= said["y"] - (above["y"] + above["height"]) < 40
    inks = "['.figures b', 'h1'].map(one => getComputedStyle(document.querySelector(one)).color)"
    figures, heading = page.evaluate(inks)
    assert figures != heading, "the numbers of what stood there before are as dark as an answer"
    page.reload()
    window.ready()
    expect(page.locator(".wrong").filter(has_text="tail-heavy")).to_be_visible()
    expect(page.get_by_label("Ahead of axle centre", exact=True).nth(1)).to_have_value("-60 in")


def test_deleting_looks_unlike_renaming(server, opened):
    page = opened(server).go(server.url + LOGS)
    page.get_by_text("Rename or delete").click()
    expect(page.get_by_role("button", name="Delete with 1 profile")).to_have_css("color", rgb(LIGHT.brick))
    expect(page.get_by_role("button", name="Rename", exact=True)).to_have_css("color", rgb(LIGHT.ink))


def test_slide_by_keyboard(server, opened):
    window = opened(server)
    page = window.go(server.url + LOGS)
    field = page.get_by_label("Tongue ratio wanted")
    field.fill("22 %")
    by = slide_for(server.store.read_trailer("log-deck"), "Oak logs", 0.22).by
    expect(page.locator(".slide")).to_contain_text(f"Slide Oak logs {say(by, 'length', 'us')} ahead for 22 %")
    button = page.get_by_role("button", name="Put it there")
    page.keyboard.press("Enter")
    window.tab_to(button, 4)
    page.keyboard.press("Enter")
    expect(page.locator(".figures")).to_contain_text("22 % of the gross weight")


def test_typed_numbers_survive_links_and_a_reload_and_are_saved(server, opened):
    window = opened(server)
    page = window.go(server.url + MILL)
    page.get_by_label("Gross weight", exact=True).fill("8000")
    expect(first(page)).to_have_text("960")
    page.get_by_role("link", name="Level", exact=True).click()
    page.wait_for_url("**/level?*")
    page.get_by_role("link", name="Truck & trailers", exact=True).click()
    expect(page.get_by_label("Gross weight", exact=True)).to_have_value("8000 lb")
    page.reload()
    window.ready()
    expect(first(page)).to_have_text("960")
    page.get_by_role("button", name="Save this trailer").click()
    expect(page.get_by_text("Band mill is saved.")).to_be_visible()
    assert server.store.read_trailer("band-mill").gross_weight.text == "8000 lb"


def test_another_trailer_is_chosen_and_comes_back_after_a_reload(server, opened):
    window = opened(server)
    page = window.go(server.url + MILL)
    window.choose(page.locator("[data-testid=stSelectbox]").first, "Log deck")
    expect(first(page)).to_have_text("2,488")
    page.wait_for_url(re.compile("trailer=log-deck"))
    page.reload()
    window.ready()
    expect(first(page)).to_have_text("2,488")


def test_a_hostile_name_is_shown_as_typed_and_asks_no_other_host(server, opened):
    name = "![x](http://attacker.example/x.png) <b>b</b> $x$ :red[r]"
    deck = server.store.read_trailer("log-deck")
    server.store.write(deck.replaced(deck=(deck.deck[0].replaced(name=name), *deck.deck[1:])), "log-deck")
    page = opened(server).go(server.url + LOGS)
    expect(page.locator("[class*=st-key-deck-trailer] summary").first).to_contain_text(
        name.replace("http", "\u2060http")  # a letter nobody sees, so that no link is made of it
    )
