"""From an empty folder to a saved profile in a real browser, on a phone and on a wide screen, with paper and a tape."""

import shutil

import pytest
from playwright.sync_api import expect

from planner.store import Store

MOST_TYPED = 28
CHART = "\t4 in\t6 in\t8 in\n40 psi\t2300\t1990\t1680\n80 psi\t4660\t4050\t3420\n100 psi\t5850\t5090\t4310"
TRUCK = {  # by question: label and what is typed
    "label": {"GVWR": "11,500", "GAWR, front": "6000", "GAWR, rear": "7000", "Cold pressure, front": "75"},
    "tyres": {"Tyre size, front": "LT245/75R17 121/118S"},
    "slip": {"Front axle, as weighed": "4380", "Rear axle, as weighed": "3120", "Driver, on the scale": "200"},
    "build": {},
    "bags": {"Chart, as printed or pasted, front": CHART, "Chart, as printed or pasted, rear": CHART},
    "tape": {
        "Wheelbase": "160",
        "Track, wheel to wheel, front": "69",
        "Ride height, wheel centre to arch lip, front": "21",
        "Ride height, wheel centre to arch lip, rear": "22",
    },
    "hitch": {"Behind the rear axle": "54", "Coupling height": "19 1/2"},
    "air": {},
    "links": {},
}
TRAILER = {"Gross weight": "7200", "Tongue ratio": "12 %", "GVWR": "9990", "Axle rating, each": "5200"}


@pytest.fixture
def empty(server):
    """A planner on a folder without anything in it."""
    shutil.rmtree(server.folder)
    server.folder.mkdir()
    return server


def fill(page, window, label, text):
    field = page.get_by_label(label, exact=True).locator("visible=true").first
    field.fill(text)
    field.press("Tab")
    window.ready()


@pytest.mark.parametrize("phone", [True, False])
def test_from_an_empty_folder_to_a_saved_profile(empty, opened, phone):
    window, typed, tops = opened(empty, phone=phone), 0, set()
    page = window.go(empty.url)
    expect(page).to_have_url(f"{empty.url}/garage?truck=_new")
    window.ready()
    for question, fields in TRUCK.items():
        box = page.locator(f".st-key-question-{question}")
        expect(box).to_be_visible()
        window.ready()
        if question == "build":
            guesses = box.get_by_text("typical, not yet your own")
            before = guesses.count()
            box.get_by_text("Bag over leaf").nth(1).click()
            expect(guesses).not_to_have_count(before)
            window.ready()
        for label, text in fields.items():
            fill(page, window, label, text)
            typed += 1
        expect(box.locator(".wrong")).to_have_count(0)
        if phone:
            scrolled, widest = window.reaches()
            assert scrolled <= 390
            assert widest <= 391, question
            page.evaluate("document.querySelector('[data-testid=stMain]').scrollTo(0, 0)")
            tops.add(round(box.get_by_role("heading").first.bounding_box()["y"]))
            page.get_by_role("button", name="Next").tap()
            window.ready()
    assert len(tops) == phone, "questions do not begin at one height"
    expect(page.locator(".st-key-question-check")).to_be_visible()
    window.ready()  # it is to be seen before the run that shows it is over
    fill(page, window, "Name", "Long haul")
    page.get_by_role("button", name="Save as a new truck").click()
    expect(page.get_by_text("Long haul is saved.")).to_be_visible()
    typed += 1
    store = Store(empty.folder)
    truck = store.read_truck("long-haul")
    assert truck.gvwr.text == "11500 lb"
    assert truck.rear.built == "bag over leaf"
    assert len(truck.front.bag.height) == 3

    window.go(f"{empty.url}/garage?trailer=_new")
    for label, text in TRAILER.items():
        fill(page, window, label, text)
        typed += 1
    fill(page, window, "Name", "Saw trailer")
    page.get_by_role("button", name="Save as a new trailer").click()
    expect(page.get_by_text("Saw trailer is saved.")).to_be_visible()
    typed += 1

    window.go(f"{empty.url}/level?profile=_new")
    chooser = page.get_by_role("combobox", name="Trailer", exact=True)
    press = chooser.tap if phone else chooser.click
    press()
    option = page.get_by_role("option", name="Saw trailer")
    option.tap() if phone else option.click()
    window.ready()
    fill(page, window, "Profile name", "Saw on the road")
    page.get_by_role("button", name="Save as a profile").click()
    expect(page.get_by_text("Saw on the road is saved")).to_be_visible()
    typed += 1
    profile = store.read_profile("saw-on-the-road")
    assert (profile.truck, profile.trailer) == ("long-haul", "saw-trailer")
    assert profile.pressures.rear_left > profile.pressures.front_left / 10
    assert typed <= MOST_TYPED


def test_what_was_entered_is_there_after_a_reload_a_step_back_and_in_the_other_units(empty, opened):
    window = opened(empty, phone=True)
    page = window.go(f"{empty.url}/garage?truck=_new")
    fill(page, window, "GVWR", "11,500")
    expect(page.get_by_text("taken as 11,500 lb")).to_be_visible()
    fill(page, window, "GAWR, front", "3.1 tons")
    page.get_by_role("button", name="3.1 short tons").tap()
    window.ready()
    expect(page.get_by_label("GAWR, front", exact=True)).to_have_value("3.1 short tons")
    page.get_by_role("button", name="Next").tap()
    expect(page.get_by_text("2 of 10")).to_be_visible()
    page.reload()
    window.ready()
    expect(page.get_by_text("2 of 10")).to_be_visible()
    page.get_by_role("button", name="Back").tap()
    expect(page.get_by_text("1 of 10")).to_be_visible()
    expect(page.get_by_label("GVWR", exact=True)).to_have_value("11500 lb")
    page.get_by_text("Metric", exact=True).click()
    expect(page.get_by_placeholder("such as 11500 lb")).to_have_count(0)  # the field in the other units is another one
    expect(page.get_by_label("GVWR", exact=True)).to_have_value("5216 kg")
