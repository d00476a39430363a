"""Who gets in, and what gets out, as a browser has it."""

import re
import signal
import threading
import zipfile
from functools import partial
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from importlib.resources import files

import pytest
from playwright.sync_api import expect

from planner.store.folder import demo_folder
from planner.store.transfer.zip_safety import MOST_MB, MOST_ZIPPED

from .conftest import MILL, PATIENCE, started
from .test_accessibility import RUN

LINKS = "http://attacker.example www.attacker.example me@attacker.example"
ALL_PAGES = ["/", f"/?profile={MILL}", f"/level?profile={MILL}", f"/hitch?profile={MILL}", "/garage?trailer=log-deck"]


@pytest.fixture
def stranger():
    """A page of another site: its address, and a function that says what is on it."""
    content = [""]

    class Page(BaseHTTPRequestHandler):
        def do_GET(self):
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write(content[0].encode())

        def log_message(self, *_):
            pass

    with ThreadingHTTPServer(("127.0.0.1", 0), Page) as http:
        threading.Thread(target=http.serve_forever, daemon=True).start()
        # The name makes it another site than 127.0.0.1: cookies know no ports.
        yield f"http://localhost:{http.server_address[1]}", partial(content.__setitem__, 0)
        http.shutdown()


@pytest.fixture
def context(browser):
    """A browser that has no cookie yet."""
    context = browser.new_context()
    context.set_default_timeout(PATIENCE * 1000)
    yield context
    context.close()


def ready(page):
    expect(page.locator(".st-key-nav")).to_be_visible()


def test_the_first_address_opens_it_and_loses_its_token(server, context):
    page = context.new_page()
    page.goto(server.url)
    expect(page.get_by_text("This planner is locked")).to_be_visible()
    assert page.goto(f"{server.url}/level?profile={MILL}").status == 403
    page.goto(server.first)
    ready(page)
    assert "token" not in page.url
    (cookie,) = [one for one in context.cookies() if one["name"].startswith("planner-")]
    assert cookie["httpOnly"]
    assert cookie["sameSite"] == "Strict"
    assert cookie["value"] not in page.evaluate("document.cookie + document.documentElement.outerHTML + history.state")
    other = context.new_page()
    other.goto(f"{server.url}/level?profile={MILL}")
    expect(other.locator(".st-key-answer img").first).to_be_visible()


def test_it_opens_from_a_link_on_another_site_too(server, context, stranger):
    address, show = stranger
    show(f'<a href="{server.first}">planner</a>')
    page = context.new_page()
    page.goto(address)
    page.get_by_text("planner").click()
    ready(page)
    assert page.url.startswith(server.url)
    assert "token" not in page.url


def test_a_tab_from_before_a_restart_says_what_to_do(demo, context):
    before = started(demo)
    page = context.new_page()
    page.goto(before.first)
    ready(page)
    before.process.send_signal(signal.SIGINT)
    before.process.communicate(timeout=PATIENCE)
    after = started(demo, "--port", before.url.rpartition(":")[2])
    try:
        assert after.url == before.url
        assert after.first != before.first
        dialog = page.get_by_role("dialog", name="The planner has stopped", exact=True)
        expect(dialog).to_contain_text("The planner has stopped")
        read = page.context.new_cdp_session(page).send("Accessibility.getFullAXTree")["nodes"]
        words = " ".join(one["name"]["value"] for one in read if one["role"]["value"] == "StaticText")
        assert "open it with the whole address that it prints" in words  # by the style sheet: in no element's text
        assert "Streamlit" not in words
        page.evaluate(files("axe_playwright_python").joinpath("axe.min.js").read_text("utf-8"))
        assert page.evaluate(RUN, None) == []
        page.reload()
        expect(page.get_by_text("This planner is locked")).to_be_visible()
        page.goto(after.first)
        ready(page)
    finally:
        after.process.kill()
        after.process.communicate()


def test_another_site_neither_frames_it_nor_reads_it_nor_talks_to_it(server, context, stranger):
    address, show = stranger
    page = context.new_page()
    page.goto(server.first)
    ready(page)
    show(f'<iframe src="{server.url}/"></iframe>')
    with page.expect_event("framenavigated", lambda frame: frame.url.startswith("chrome-error:")):
        page.goto(address)
    assert page.frames[1].url.startswith("chrome-error:")
    tried = page.evaluate(
        """async url => ({
            read: await fetch(url, {credentials: "include"}).then(() => "open", () => "shut"),
            blind: await fetch(url + "/favicon.png", {mode: "no-cors", credentials: "include"})
                .then(() => "open", () => "shut"),
            talk: await new Promise(done => {
                const socket = new WebSocket(url.replace("http", "ws") + "/_stcore/stream");
                socket.onopen = () => done("open");
                socket.onerror = () => done("shut");
            }),
        })""",
        server.url,
    )
    assert tried == {"read": "shut", "blind": "shut", "talk": "shut"}


def test_the_app_s_page_runs_fetches_and_shows_nothing_of_another_site(server, context, stranger):
    address, show = stranger
    show("window.taken = true")
    page = context.new_page()
    page.goto(server.first)
    ready(page)
    tried = page.evaluate(
        """async url => {
            const load = (tag, more) => new Promise(done => {
                const one = Object.assign(document.createElement(tag), more);
                one.onload = () => done("open");
                one.onerror = () => done("shut");
                document.head.append(one);
            });
            const inline = document.createElement("script");
            inline.textContent = "window.taken = true";
            document.head.append(inline);
            return {
                script: await load("script", {src: url}),
                style: await load("link", {rel: "stylesheet", href: url}),
                picture: await load("img", {src: url}),
                font: await new FontFace("far", `url(${url})`).load().then(() => "open", error => error.name),
                read: await fetch(url, {mode: "no-cors"}).then(() => "open", () => "shut"),
                inline: window.taken ? "open" : "shut",
            };
        }""",
        address,
    )
    assert tried == dict.fromkeys(("script", "style", "picture", "read", "inline"), "shut") | {"font": "NetworkError"}


def test_host_config_names_nobody_whose_messages_are_heard(server, context):
    answer = context.request.get(server.first)
    assert answer.ok
    assert context.request.get(f"{server.url}/_stcore/host-config").json()["allowedOrigins"] == []


def test_addresses_in_names_are_no_links_on_any_page(server, opened):
    for path in server.folder.rglob("*.toml"):
        named = re.sub(r'^((?:name|hitch) = "[^"]*)"', rf'\1 {LINKS}"', path.read_text("utf-8"), flags=re.MULTILINE)
        path.write_text(named, "utf-8")
    window = opened(server)
    shown = ""
    for address in [*ALL_PAGES, f"/level?profile={LINKS}", f"/?profile={LINKS}"]:
        page = window.go(server.url + address.replace(" ", "%20"))
        for box in page.locator("details summary").all():
            box.click()
        window.ready()
        shown += page.locator("body").inner_text()
        out = page.locator("a").evaluate_all(
            "(all, home) => all.map(a => a.href).filter(a => !a.startsWith(home))", server.url
        )
        assert out == [], address
    for part in LINKS.split():
        assert part in shown.replace("\u2060", "")


def test_a_zip_goes_out_and_comes_back_in_under_the_policy(server, opened):
    window = opened(server)
    page = window.go(server.url)
    page.get_by_text("Back up and restore").click()
    with page.expect_download() as got:
        page.get_by_role("button", name="Back up everything").click()
    server.store.delete(MILL)
    whole = {"name": "profiles.zip", "mimeType": "application/zip", "buffer": got.value.path().read_bytes()}
    page.locator("input[type=file]").set_input_files(whole)
    expect(page.get_by_role("button", name="Bring in 1 file")).to_be_visible()


def zipped_to(size, path):
    """Make a zip of at least so many bytes: the demo, and trucks with long comments that are not packed."""
    with zipfile.ZipFile(path, "w") as archive:
        for file in sorted(demo_folder().rglob("*.toml")):
            archive.write(file, file.relative_to(demo_folder()).as_posix())
        text = (demo_folder() / "trucks/ridge-truck.toml").read_text("utf-8")
        for number in range(size // 900_000 + 1):
            longer = f"{text.replace('Ridge truck', f'Truck {number}')}\n# {'x' * (900_000 - len(text))}\n"
            archive.writestr(f"trucks/truck-{number}.toml", longer)
    return path


def test_a_large_zip_comes_in_and_one_past_the_limit_is_refused_in_words(server, opened, tmp_path):
    window = opened(server)
    page = window.go(server.url)
    answers = []
    page.on("response", lambda answer: answers.append(answer.status))
    page.get_by_text("Back up and restore").click()
    large, larger = zipped_to(9_000_000, tmp_path / "large.zip"), zipped_to(17_000_000, tmp_path / "larger.zip")
    assert 2_000_000 < large.stat().st_size < MOST_ZIPPED < larger.stat().st_size
    chooser = page.locator("input[type=file]")
    expect(page.get_by_role("button", name="Upload", exact=True)).to_be_visible()
    window.ready()
    chooser.set_input_files(larger)
    expect(page.get_by_text(f"File must be {MOST_MB}.0MB or smaller")).to_be_visible()
    chooser.set_input_files(large)
    page.get_by_role("button", name="Bring in 11 files").click()
    expect(page.get_by_text("Brought in: 11 new.")).to_be_visible()
    assert "truck-10" in server.store.trucks()
    assert not [status for status in answers if status >= 400]
