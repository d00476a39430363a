import re

from playwright.sync_api import expect

from planner.plans.hitching_stages import STAGES

from .conftest import MILL
from .test_trim import READ, WHOLE

ADDRESS = f"/hitch?profile={MILL}"
SHOWS_FOCUS = """() => {
    const here = document.activeElement, box = here.getBoundingClientRect();
    const ring = e => e && (e.matches(':focus-within') && getComputedStyle(e).outlineStyle === 'solid'
        && parseFloat(getComputedStyle(e).outlineWidth) >= 3 || !e.matches('main') && ring(e.parentElement));
    return here === document.body || ring(here) && box.bottom > 0 && box.top < innerHeight;
}"""


def stage(page, name):
    return page.locator(f".st-key-now-{name}, .st-key-other-{name}")


def test_on_a_wide_screen_all_four_stages_are_there_two_by_two(server, opened):
    page = opened(server).go(server.url + ADDRESS)
    names = ", ".join(f".st-key-now-{name}, .st-key-other-{name}" for name in STAGES)
    page.wait_for_function(  # all of it may still move while it is being drawn
        """names => {
            const at = [...document.querySelectorAll(names)].map(e => e.getBoundingClientRect());
            const [one, two, three, four] = at.map(box => [Math.round(box.x), Math.round(box.y)]);
            return at.length === 4 && one[1] === two[1] && three[1] === four[1] && one[0] === three[0]
                && two[0] === four[0] && one[0] < two[0] && one[1] < three[1];
        }""",
        arg=names,
    )
    expect(page.locator(".st-key-steps")).to_be_hidden()


def test_on_a_phone_one_thumb_steps_through_the_stages(server, opened):
    window = opened(server, phone=True)
    page = window.go(server.url + ADDRESS)
    for place, name in enumerate(STAGES):
        expect(page.locator(f".st-key-now-{name}")).to_be_visible()
        for other in STAGES:
            if other != name:
                expect(stage(page, other)).to_be_hidden()
        numbers = page.locator(f".st-key-now-{name} img").first
        expect(numbers).to_be_in_viewport(ratio=1)
        assert re.match(rf"Set for {name},", numbers.get_attribute("alt"))
        for button in page.locator(".st-key-steps button").all():
            box = button.bounding_box()
            assert box["height"] >= 56
            assert box["width"] > 150
            assert 600 < box["y"] <= 844 - box["height"]
        if place < 3:
            page.get_by_role("button", name=f"Next: {STAGES[place + 1]}").tap()
            page.wait_for_url(f"**&stage={STAGES[place + 1]}")
            window.ready()
    expect(page.get_by_role("button", name="Last stage")).to_be_disabled()
    page.get_by_role("button", name="Back: lift").tap()
    expect(page.locator(".st-key-now-lift")).to_be_visible()


def test_a_reload_comes_back_to_the_stage(server, opened):
    window = opened(server, phone=True)
    page = window.go(server.url + ADDRESS)
    page.get_by_role("button", name="Next: meet").tap()
    expect(page.locator(".st-key-now-meet")).to_be_visible()
    page.wait_for_url("**&stage=meet")
    page.reload()
    window.ready()
    expect(page.locator(".st-key-now-meet")).to_be_visible()


def test_the_buttons_leave_when_the_stages_do(server, opened):
    window = opened(server, phone=True)
    page = window.go(server.url + ADDRESS)
    steps = page.locator(".st-key-steps")
    expect(steps).to_be_in_viewport(ratio=1)
    page.get_by_text("Unhitching, the same way back").scroll_into_view_if_needed()
    page.mouse.wheel(0, 2000)
    expect(steps).not_to_be_in_viewport()


def test_a_step_of_the_gap_moves_the_answer_and_the_drawing(server, opened):
    window = opened(server)
    page = window.go(server.url + ADDRESS)
    view = page.locator(".st-key-now-clear img").nth(1)
    expect(view).to_have_attribute("alt", re.compile("gap 1 in"))
    page.locator(".st-key-step-hitching-gap-up button").click()
    expect(view).to_have_attribute("alt", re.compile("gap 1.2 in"))
    expect(page.locator("p.answer")).to_contain_text("17.6 in")


def test_the_row_of_links_leads_here_with_the_profile(server, opened):
    window = opened(server)
    page = window.go(server.url + f"/level?profile={MILL}")
    page.get_by_role("link", name="Hitch up", exact=True).click()
    page.wait_for_url(f"**/hitch?profile={MILL}")
    expect(page.get_by_role("heading", name="1 of 4: clear")).to_be_visible()


def test_printed_all_four_stages_are_on_paper(server, opened):
    page = opened(server, phone=True).go(server.url + ADDRESS)
    page.emulate_media(media="print")
    for name in STAGES:
        expect(stage(page, name)).to_be_visible()
    expect(page.locator(".st-key-steps")).to_be_hidden()


def test_by_keyboard_alone_from_the_numbers_through_all_stages_to_the_road(server, opened):
    window = opened(server, phone=True)
    page = window.go(server.url + f"/?profile={MILL}")
    window.tab_to(page.locator(".st-key-go-hitch-here a"), 15)
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/hitch?profile={MILL}*")
    expect(page.locator(".st-key-now-clear")).to_be_visible()
    for name in STAGES[1:]:
        window.ready()
        window.tab_to(page.get_by_role("button", name=f"Next: {name}"), 30)
        page.keyboard.press("Enter")
        expect(page.locator(f".st-key-now-{name}")).to_be_visible()
    expect(page.get_by_role("button", name="Last stage")).to_be_disabled()
    window.ready()
    page.keyboard.press("Shift+Tab")
    window.tab_to(page.get_by_role("button", name="Back: lift"), 30)


def test_by_keyboard_alone_on_a_wide_screen_from_level_over_hitching_to_a_trim_that_is_kept(server, opened):
    """Each stop on the way that has the focus shows it, and is in sight."""
    window = opened(server)
    page = window.go(server.url + f"/level?profile={MILL}")
    before, ringless = server.store.read_profile(MILL), []

    def tab_to(target, most=45):
        expect(target).to_be_visible()
        for _ in range(most):
            page.keyboard.press("Tab")
            if not page.evaluate(SHOWS_FOCUS):
                ringless.append(page.evaluate("document.activeElement.outerHTML.slice(0, 200)"))
            if target.evaluate("e => e === document.activeElement"):
                break
        expect(target).to_be_focused()

    tab_to(page.get_by_role("button", name="Save with these pressures"))
    page.keyboard.press("Enter")
    expect(page.locator(".st-key-said")).to_contain_text("is saved, with the pressures to set")
    page.goto(server.url + f"/level?profile={MILL}")
    window.ready()
    tab_to(page.get_by_role("link", name="Hitch up", exact=True))
    page.keyboard.press("Enter")
    page.wait_for_url("**/hitch?*")
    expect(page.get_by_role("heading", name="1 of 4: clear")).to_be_visible()
    window.ready()
    tab_to(page.get_by_role("link", name="It isn't level"))
    page.keyboard.press("Enter")
    page.wait_for_url("**/trim?*")
    window.ready()
    for corner, numbers in READ.items():
        for what, text in zip(("Pressure", "Height"), numbers, strict=True):
            tab_to(page.get_by_label(f"{what}, {corner.replace('_', ' ')}", exact=True))
            page.keyboard.type(text)
    keep = page.get_by_role("button", name="Set: keep in the profile")
    expect(keep).to_be_enabled()
    tab_to(keep)
    expect(page.locator(".st-key-answer img").first).to_have_attribute("alt", re.compile(WHOLE))
    window.ready()
    page.keyboard.press("Enter")
    expect(page.locator(".st-key-said")).to_contain_text("has the reading and its pressures")
    assert len(server.store.read_profile(MILL).readings) == len(before.readings) + 1
    assert ringless == []
