import io
import re
import signal
import time
from http.client import HTTPConnection
from urllib.parse import urlsplit

from PIL import Image
from playwright.sync_api import expect

from planner.forms.profile_form import open_profile
from planner.forms.saving import level_work
from planner.front.shell import navigation
from planner.show.drawings.palette import DARK, LIGHT

from .conftest import MILL, PATIENCE, started

UPGRADE = {
    "Connection": "Upgrade",
    "Upgrade": "websocket",
    "Sec-WebSocket-Version": "13",
    "Sec-WebSocket-Key": "AAAAAAAAAAAAAAAAAAAAAA==",
}


def weight(page):
    return page.get_by_label("Trailer weight", exact=True)


def pressures(page):
    """The four pressures, as the drawing's words say them."""
    alt = page.locator(".st-key-answer img").first.get_attribute("alt")
    return re.findall(r"(\d+) psi", alt)[:4]


def settled(watched, before):
    """Wait until the answer is another one, and return it."""
    first = watched.page.locator(".st-key-answer img").first
    expect(first).not_to_have_attribute("alt", before)
    watched.ready()
    return pressures(watched.page)


def alt(page):
    return page.locator(".st-key-answer img").first.get_attribute("alt")


# The server


def test_it_prints_its_address_once_answers_this_machine_only_and_stops_when_told(demo):
    server = started(demo)
    assert server.said[0].count("http://") == 1
    where, token = urlsplit(server.url), server.first.partition("=")[2]
    known = {"Cookie": f"planner-{where.port}={token}"}
    for host, who, answer in (  # 101: the talk with the script may begin
        (where.netloc, known, 101),
        (where.netloc, {}, 403),
        ("attacker.example", known, 403),
    ):
        connection = HTTPConnection(where.hostname, where.port, timeout=PATIENCE)
        connection.request("GET", "/_stcore/stream", headers=UPGRADE | {"Host": host} | who)
        assert connection.getresponse().status == answer, host
        connection.close()
    server.process.send_signal(signal.SIGINT)
    rest, _ = server.process.communicate(timeout=PATIENCE)
    assert server.process.returncode == 0
    assert "Traceback" not in rest


# The drawings


def test_drawings_follow_the_device_while_the_page_is_open_and_are_light_on_paper(server, opened):
    page = opened(server).go(server.url + f"/level?profile={MILL}")
    pictures = page.locator(".st-key-answer img.drawing, .st-key-ratings img.drawing")
    assert pictures.count() > 1
    for media, scheme, ink in [("screen", "dark", DARK), ("print", "dark", LIGHT), ("screen", "light", LIGHT)]:
        page.emulate_media(media=media, color_scheme=scheme)
        for picture in pictures.all():
            deadline = time.monotonic() + PATIENCE  # no run of the script is waited for, but the browser's next frame
            while (seen := corner(picture)) != ink.paper:
                assert time.monotonic() < deadline, (media, scheme, seen, picture.get_attribute("alt"))


def corner(picture):
    """Return the colour that a picture has on the screen in its corner."""
    image = Image.open(io.BytesIO(picture.screenshot())).convert("RGB")
    return "#{:02x}{:02x}{:02x}".format(*image.getpixel((3, 3)))


# The Level page


def test_the_answer_follows_what_is_typed_without_a_key_pressed_for_it(server, opened):
    window = opened(server)
    page = window.go(server.url + f"/level?profile={MILL}")
    before = alt(page)
    weight(page).fill("9000")
    now = settled(window, before)
    work = open_profile(server.store, MILL).with_numbers(gross_weight="9000 lb")
    assert [int(one) for one in now] == [round(p / 6894.757) for p in level_work(work).set.pressure.ravel()]
    expect(weight(page)).to_be_focused()
    expect(page.get_by_text("taken as 9000 lb")).to_be_visible()


def test_typing_goes_on_while_the_answer_is_worked_out(server, opened):
    window = opened(server)
    page = window.go(server.url + "/level?profile=mill-bed-empty")
    weight(page).fill("")
    weight(page).press_sequentially("8 4 0 0 lb".replace(" ", ""), delay=350)
    window.ready()
    expect(weight(page)).to_have_value("8400lb")
    expect(page.locator(".wrong")).to_have_count(0)


def test_another_field_is_typed_into_while_a_choice_is_answered(server, opened):
    """The choice moves the trailer's numbers; the field that somebody went on to is no other one when that is drawn."""
    window = opened(server)
    page = window.go(f"{server.url}/level?profile={MILL}")
    window.ready()
    name = page.get_by_label("Save under a new name", exact=True)
    weight = page.get_by_label("Trailer weight", exact=True)
    before = weight.input_value()
    field = name.element_handle()
    window.choose(page.get_by_role("combobox", name="Trailer", exact=True), "Slab hauler")
    name.press_sequentially("Slabs")
    expect(weight).not_to_have_value(before)
    window.ready()
    assert field.evaluate("field => field.isConnected")
    expect(name).to_have_value("Slabs")
    name.press_sequentially(" on the road")
    name.press("Tab")
    page.get_by_role("button", name="Save as a profile").click()
    expect(page.get_by_text("Slabs on the road is saved")).to_be_visible()


def test_a_step_moves_the_field_and_the_answer(server, opened):
    window = opened(server, phone=True)
    page = window.go(server.url + "/level?profile=mill-bed-empty")
    before, shown = alt(page), weight(page).input_value()
    page.locator(".st-key-step-weight-up button").tap()
    settled(window, before)
    assert weight(page).input_value() != shown


def test_a_reload_keeps_the_work(server, opened):
    window = opened(server)
    page = window.go(server.url + f"/level?profile={MILL}")
    before = alt(page)
    weight(page).fill("8100 lb")
    settled(window, before)
    page.get_by_label("Bed load", exact=True).fill("twelve")
    expect(page.locator(".st-key-field-bed-weight .wrong")).to_contain_text("Bed load")
    page.reload()
    window.ready()
    expect(weight(page)).to_have_value("8100 lb")
    expect(page.get_by_label("Bed load", exact=True)).to_have_value("twelve")
    expect(page.locator(".old-answer")).to_be_visible()


def test_pages_links_and_the_way_back_keep_the_work(server, opened):
    window = opened(server)
    page = window.go(server.url + "/level?profile=saw-crew-all-on-the-left")
    before = alt(page)
    page.get_by_label("Bed load", exact=True).fill("300 lb")
    settled(window, before)
    page.get_by_role("link", name="Profiles", exact=True).click()
    page.wait_for_url("**/?profile=saw-crew-all-on-the-left&view=list")
    expect(page.get_by_text("Has unsaved changes")).to_be_visible()
    page.get_by_role("link", name="Level", exact=True).click()
    expect(page.get_by_label("Bed load", exact=True)).to_have_value("300 lb")
    window.ready()
    page.go_back()
    expect(page.get_by_text("Has unsaved changes")).to_be_visible()
    page.go_forward()
    expect(page.get_by_label("Bed load", exact=True)).to_have_value("300 lb")


def test_a_link_makes_one_step_back_also_before_its_page_is_whole(server, opened):
    window = opened(server)
    page = window.go(server.url + f"/level?profile={MILL}")
    before = page.evaluate("history.length")
    for name in ("profiles", "level", "hitch", "garage", "profiles"):
        page.get_by_role("link", name=navigation.TITLES[name], exact=True).click()
        expect(page.locator(f".st-key-here-{name}")).to_be_visible()  # at the start of its run
    window.ready()
    assert page.evaluate("history.length") == before + 5
    for path in ("garage", "hitch", "level"):
        page.go_back()
        expect(page.locator(f".st-key-here-{path}")).to_be_visible()
        assert page.url == f"{server.url}/{path}?profile={MILL}"


def test_a_bad_value_is_marked_under_its_field_and_the_last_good_answer_is_greyed(server, opened):
    window = opened(server, phone=True)
    page = window.go(server.url + "/level?profile=mill-bed-empty")
    weight(page).fill("7200 psi")
    wrong = page.locator(".st-key-field-weight .wrong")
    expect(wrong).to_contain_text("expected a weight")
    field, said = weight(page).bounding_box(), wrong.bounding_box()
    assert 0 <= said["y"] - (field["y"] + field["height"]) < 40
    opacity = "getComputedStyle(document.querySelector('.st-key-answer .drawing')).opacity"
    assert float(page.evaluate(opacity)) < 0.6
    weight(page).fill("7200 lb")
    expect(wrong).to_have_count(0)
    assert float(page.evaluate(opacity)) == 1.0


def test_all_of_it_works_by_keyboard(server, opened):
    window = opened(server)
    page = window.go(server.url + "/level?profile=logs-on-the-gooseneck")
    before = alt(page)
    field = page.get_by_label("Is it the bed that leans", exact=False)
    window.tab_to(field, 30)
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    expect(field).to_have_value("51 %")
    page.keyboard.press("Shift+Tab")
    page.keyboard.press("Control+A")
    page.keyboard.type("50 %")
    page.keyboard.press("Enter")
    expect(field).to_have_value("50 %")
    assert alt(page) == before


def test_on_a_phone_the_answer_comes_first_and_stays_in_sight(server, opened):
    window = opened(server, phone=True)
    page = window.go(server.url + f"/level?profile={MILL}")
    answer = page.locator(".st-key-answer img").first.bounding_box()
    assert answer["y"] < 250
    assert answer["y"] + answer["height"] < weight(page).bounding_box()["y"]
    page.get_by_text("Cargo on the truck").scroll_into_view_if_needed()
    strip = page.locator(".strip")
    expect(strip).to_be_in_viewport(ratio=1)
    window.ready()
    expect(strip.locator("b")).to_have_text(pressures(page))
    assert window.small("button:visible, [data-testid=stPageLink-NavLink]:visible") == []


def test_a_finger_or_a_wheel_that_scrolls_over_the_fields_changes_nothing(server, opened):
    window = opened(server)
    page = window.go(server.url + f"/level?profile={MILL}")
    expect(weight(page)).to_be_visible()
    fields = page.locator("[data-testid=stTextInput] input")
    shown = fields.evaluate_all("all => all.map(e => e.value)")
    assert len(shown) > 5
    weight(page).click()
    page.mouse.wheel(0, 600)
    page.mouse.wheel(0, -600)
    window.ready()
    assert fields.evaluate_all("all => all.map(e => e.value)") == shown
    assert page.locator("input[type=range]").count() == 0  # a finger that scrolls over a slider would move it


def test_units_switch_for_everything_and_stay_after_a_reload(server, opened):
    window = opened(server)
    page = window.go(server.url + f"/level?profile={MILL}")
    page.get_by_role("radio", name="Metric").click()
    page.wait_for_url("**&units=metric")
    window.ready()
    expect(weight(page)).to_have_value("3266 kg")
    assert " bar" in alt(page)
    page.reload()
    window.ready()
    expect(weight(page)).to_have_value("3266 kg")
    page.get_by_role("link", name="Profiles", exact=True).click()
    expect(page.locator("[class*=st-key-card-] img").first).to_have_attribute("alt", re.compile(" bar"))


# The Profiles page


def test_one_click_and_all_four_pressures_of_a_profile_are_on_the_screen(server, opened):
    for phone in (False, True):
        window = opened(server, phone=phone)
        page = window.go(server.url)
        page.locator(f".st-key-go-profiles-{MILL} a").click()
        expect(page).to_have_url(f"{server.url}/?profile={MILL}")
        numbers = page.locator(".st-key-alone .corners")
        expect(numbers).to_be_in_viewport(ratio=1)
        expect(numbers).to_contain_text(re.compile(r"front left\s*\d+\s*psi\s*front right\s*\d+"))
        expect(page.get_by_role("textbox")).to_have_count(0)


def test_a_profile_is_deleted_and_brought_back_by_thumb(server, opened):
    window = opened(server, phone=True)
    page = window.go(server.url)
    card = page.locator(".st-key-card-slabs-on-friday")
    card.get_by_role("button", name="More").tap()
    page.get_by_role("button", name="Delete Slabs on Friday").tap()
    expect(card).to_have_count(0)
    expect(page.locator(".st-key-said")).to_be_in_viewport(ratio=1)
    page.get_by_role("button", name="Undo").tap()
    expect(card).to_be_visible()
    expect(page.locator(".st-key-cards .st-key-said")).to_have_text("Undone: Slabs on Friday is back in the list.Close")


def test_a_hostile_name_asks_no_other_host_and_is_shown_as_typed(server, opened):
    name = "![x](http://attacker.example/x.png) <b>b</b> $x$ :red[r]"
    shown = name.replace("http", "\u2060http")  # in Markdown: a letter nobody sees, so that no link is made of it
    slug = server.store.save_as(server.store.read_profile(MILL), name)
    trailer = server.store.save_as(server.store.read_trailer("band-mill"), name)
    profile = server.store.read_profile(slug)
    cargo = (profile.cargo[0].replaced(name=name),)
    server.store.write(profile.replaced(trailer=trailer, cargo=cargo), slug)
    window = opened(server)
    page = window.go(server.url)
    page.locator(f".st-key-more-{slug} button").click()
    expect(page.get_by_role("button", name=f"Delete {shown}")).to_be_visible()
    window.go(f"{server.url}/?profile={slug}")
    window.go(f"{server.url}/level?profile={slug}")
    expect(page.get_by_role("heading", name=shown)).to_be_visible()
    window.ready()
    window.choose(page.locator(".st-key-field-trailer [data-testid=stSelectbox]"), name)
    expect(page.locator("[class*=st-key-cargo-] summary").first).to_contain_text(shown)


def test_a_damaged_file_leaves_the_others_alone(server, opened):
    (server.folder / "torn.toml").write_text("schema = 1\nname = ", "utf-8")
    page = opened(server).go(server.url)
    expect(page.locator(".st-key-card-torn")).to_contain_text("cannot be used")
    expect(page.locator(f".st-key-card-{MILL} img")).to_be_visible()


def test_printed_pages_leave_out_what_is_for_the_screen(server, opened):
    page = opened(server, dark=True).go(server.url + f"/level?profile={MILL}")
    page.emulate_media(media="print")
    expect(page.locator(".st-key-nav")).to_be_hidden()
    assert page.evaluate("getComputedStyle(document.querySelector('.stApp')).backgroundColor") == "rgb(255, 255, 255)"


RING = """() => {
    const at = document.activeElement, ringed = e => getComputedStyle(e).outlineStyle === 'solid';
    let ring = at;
    while (ring !== document.body && !ringed(ring)) ring = ring.parentElement;
    const inside = parseFloat(getComputedStyle(ring).outlineOffset) < 0;
    let cut = ring.getBoundingClientRect().width >= innerWidth;
    for (let e = ring.parentElement; e && !e.matches('[data-testid=stElementContainer]'); e = e.parentElement)
        cut ||= e.matches('[data-testid=stTextInputRootElement], [role=group][data-rac]');
    const again = at.matches('[data-seen], body');
    at.dataset.seen = 1;
    return [at.outerHTML.slice(0, 300), ringed(ring) && (inside || !cut), again];
}"""


def test_at_every_stop_of_tab_there_is_a_ring_that_nothing_cuts_off(server, opened):
    page = opened(server).go(server.url + f"/level?profile={MILL}")
    expect(page.get_by_label("Hitch, of those that fit")).to_be_visible()
    stops, again = 0, False
    while not again:
        page.keyboard.press("Tab")
        stop, whole, again = page.evaluate(RING)
        assert again or whole, stop
        stops += 1
    assert stops > 30
