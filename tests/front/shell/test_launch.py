import asyncio
import gc
import os
import re
import socket
import sys
import threading

import numpy as np
import pytest
import streamlit as st
import zxingcpp

from planner.front.shell import environment, launch, places, sharing, streamlit_patches, theme
from planner.front.shell.crash_message import in_plain_words
from planner.front.widgets.text import html, plain
from planner.show.drawings.palette import DARK, LIGHT
from planner.store import StoreError
from planner.store.transfer.zip_safety import MOST_ZIPPED
from tests.show.contrast import contrast


def test_only_this_machine_can_reach_the_app():
    must, _ = launch.settings(9000, share=False)
    assert must["server.address"] == "127.0.0.1"
    assert must["client.allowedOrigins"] == must["server.corsAllowedOrigins"] == must["secrets.files"] == []
    assert must["server.allowedHosts"] == ["localhost", "127.0.0.1"]
    assert must["browser.gatherUsageStats"] is False
    assert must["client.showErrorDetails"] == "none"


def test_a_zip_as_large_as_the_page_promises_reaches_it():
    must, _ = launch.settings(9000, share=False)
    frame = 500_000  # bytes that the browser may put around the file
    assert must["server.maxUploadSize"] * 1024 * 1024 >= MOST_ZIPPED + frame  # Streamlit counts the whole request


def test_the_network_is_let_in_by_choice_only_and_by_its_own_names(monkeypatch):
    monkeypatch.setattr(sharing, "lan_addresses", lambda: ["192.168.7.2"])
    monkeypatch.setattr(socket, "gethostname", lambda: "Bench.example")
    must, _ = launch.settings(9000, share=True)
    assert must["server.address"] == "0.0.0.0"  # noqa: S104  # this is what is tested
    assert must["server.allowedHosts"] == ["localhost", "127.0.0.1", "192.168.7.2", "bench.example", "bench.local"]
    monkeypatch.setattr(socket, "gethostname", lambda: "a;b *")
    assert launch.settings(9000, share=True)[0]["server.allowedHosts"][2:] == ["192.168.7.2"]


def test_streamlit_knows_every_setting_given():
    from streamlit import config

    must, nice = launch.settings(9000, share=False)
    unknown = (must | nice).keys() - config.get_config_options().keys()
    assert not unknown


def test_a_port_that_is_taken_is_said():
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        one.listen()
        port = one.getsockname()[1]
        with pytest.raises(StoreError, match=f"--port: is taken, got {port}: name another, or leave it out"):
            launch.free_port(port)


def test_the_next_free_port_is_taken(monkeypatch):
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        one.listen()
        first = one.getsockname()[1]
        monkeypatch.setattr(launch, "FIRST_PORT", first)
        assert first < launch.free_port(None) < first + launch.TRIED


def test_no_port_is_free(monkeypatch):
    monkeypatch.setattr(launch, "TRIED", 1)
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        one.listen()
        monkeypatch.setattr(launch, "FIRST_PORT", one.getsockname()[1])
        with pytest.raises(StoreError, match=r"^--port: none from \d+ to \d+ is free"):
            launch.free_port(None)


@pytest.mark.parametrize(
    ("platform", "variables", "screen"),
    [
        ("linux", {}, False),
        ("linux", {"DISPLAY": ":0"}, True),
        ("linux", {"BROWSER": "true"}, True),
        ("darwin", {}, True),
    ],
)
def test_a_browser_is_opened_where_there_is_a_screen(monkeypatch, platform, variables, screen):
    for name in launch.SCREEN_VARIABLES:
        monkeypatch.delenv(name, raising=False)
    for name, value in variables.items():
        monkeypatch.setenv(name, value)
    monkeypatch.setattr("sys.platform", platform)
    assert launch.has_screen() is screen


def test_the_addresses_on_the_network_are_not_this_machine_s_own():
    assert not any(address.startswith("127.") for address in sharing.lan_addresses())


def test_the_entry_stands_alone_and_the_pages_are_found():
    assert [one.name for one in places.ENTRY.parent.glob("*.py")] == ["app.py"]
    assert {"level.py", "profiles.py"} <= {one.name for one in places.pages().glob("*.py")}


@pytest.mark.parametrize("ink", [LIGHT, DARK])
def test_each_paper_has_its_rules_and_the_words_on_it_can_be_read(ink):
    assert f"--paper:{ink.paper};" in theme.first_css()
    for css in (theme.css(), theme.first_css()):
        assert css.count("{") == css.count("}")
    assert contrast(ink.brick, ink.paper) >= 4.5
    assert contrast(ink.soft, ink.paper) >= 4.5


@pytest.mark.parametrize(
    "name", ["![x](http://e.org/x.png)", "[a](b)", "<b>", "$x^2$", ":red[x]", "`x`", "a\nb", "# a"]
)
def test_a_name_is_shown_as_it_was_typed(name):
    shown = plain(name)
    assert shown.replace("\\", "").replace("\u2060", "") == " ".join(name.split()).replace("\\", "")
    assert not any(c in "!$:<[`#" and shown[i - 1 : i] != "\\" for i, c in enumerate(shown))
    assert "<" not in html(name)


@pytest.mark.parametrize(
    "label", ["Side bias: left share of hitch", "Tongue ratio, share of the trailer's weight (%)", "Cut-in"]
)
def test_a_label_in_words_has_no_backslash_that_a_screen_reader_would_say(label):
    assert plain(label) == label


# The beginnings that GitHub Flavored Markdown makes links of without brackets (0.29, 6.9), and the letter before that
# keeps it from doing so: it asks for a space or punctuation there, and for none within an e-mail address.
@pytest.mark.parametrize("name", ["http://e.org", "see HTTPS://e.org", "www.e.org", "a@e.org", "(http://e.org)"])
def test_an_address_is_no_link(name):
    shown = plain(name).replace("\\", "")
    assert shown.replace("\u2060", "") == name
    assert re.search(r"(?i)(?<!\u2060)(https?://|www\.)|[-.\w+]@", shown) is None


class Fake:
    """Stands for Streamlit's App: remembers what it was started with."""

    def __init__(self, entry, **given):
        self.entry, self.given, self.configs = entry, given, []
        Fake.last = self

    def run(self, config):
        self.configs.append(config)
        if refused := next((name for name in Fake.refuses if name in config), None):
            raise st.errors.StreamlitAPIException(f"Unrecognized config option: {refused!r}")
        asyncio.run(self._live())
        raise KeyboardInterrupt  # what Ctrl-C gives

    async def _live(self):
        async with self.given["lifespan"](self):
            for one in [one for one in threading.enumerate() if isinstance(one, threading.Timer)]:
                one.join()


@pytest.fixture
def fake(monkeypatch):
    for name in (environment.PROFILES, environment.UNITS, launch.NUMPY_THREADS):
        monkeypatch.setenv(name, "")  # so that what `start` sets is taken back
    monkeypatch.delenv(launch.NUMPY_THREADS)
    Fake.refuses, Fake.last, Fake.mended = (), None, []
    monkeypatch.setattr(st, "App", Fake)
    monkeypatch.setattr(streamlit_patches, "read_no_files", lambda: Fake.mended.append("files"))
    monkeypatch.setattr(streamlit_patches, "finish_callbacks", lambda: Fake.mended.append("callbacks"))
    monkeypatch.setattr(streamlit_patches, "skip_console_check", lambda: Fake.mended.append("console"))
    monkeypatch.setattr(streamlit_patches, "send_at_once", lambda loop: Fake.mended.append("sending"))
    monkeypatch.setattr(sys, "argv", ["planner"])
    monkeypatch.setattr(launch, "has_screen", lambda: True)
    opened = []
    monkeypatch.setattr("webbrowser.open", opened.append)
    return opened


def test_start_prints_the_address_once_and_hands_folder_and_units_on(fake, tmp_path, capsys):
    launch.start(tmp_path, system="metric")
    printed = capsys.readouterr().out
    port = Fake.last.configs[0]["server.port"]
    (line,) = printed.splitlines()
    told = re.fullmatch(rf"Planner: (http://127\.0\.0\.1:{port}/\?token=([0-9a-f]{{32}}))  \(Ctrl-C stops it\)", line)
    assert environment.store().folder == tmp_path
    assert environment.default_system() == "metric"
    (opened,) = fake
    assert opened.startswith(f"http://127.0.0.1:{port}/?token=")
    assert opened != told[1]  # what a program is started with, all users see: a code that opens once
    assert Fake.last.entry == places.ENTRY


def test_without_a_token_the_address_is_bare(fake, tmp_path, capsys):
    launch.start(tmp_path, token=False)
    port = Fake.last.configs[0]["server.port"]
    assert capsys.readouterr().out == f"Planner: http://127.0.0.1:{port}/  (Ctrl-C stops it)\n"
    assert fake == [f"http://127.0.0.1:{port}/"]


def test_nothing_is_imported_from_the_folder_the_owner_stands_in(fake, tmp_path):
    launch.start(tmp_path, browser=False)
    assert sys.argv == [str(places.ENTRY)]


def test_no_variable_of_streamlit_s_is_handed_on(fake, tmp_path, monkeypatch):
    monkeypatch.setenv("STREAMLIT_SERVER_COOKIE_SECRET", "known to a stranger")
    launch.start(tmp_path, browser=False)
    assert "STREAMLIT_SERVER_COOKIE_SECRET" not in os.environ


def test_streamlit_is_mended_where_it_has_no_setting(fake, tmp_path):
    launch.start(tmp_path, browser=False)
    assert Fake.mended == ["files", "callbacks", "console", "sending"]
    assert os.environ[launch.NUMPY_THREADS] == "1"


def test_no_browser_is_opened_where_none_is_wanted(fake, tmp_path):
    launch.start(tmp_path, browser=False)
    assert fake == []


@pytest.fixture
def network(monkeypatch):
    monkeypatch.setattr(sharing, "lan_addresses", lambda: ["192.168.7.2", "10.42.0.1"])
    monkeypatch.setattr(sharing, "_shared", [])


def test_shared_it_says_first_what_that_means_then_the_link_as_a_code(fake, network, tmp_path, capsys):
    launch.start(tmp_path, browser=False, share=True)
    printed = capsys.readouterr().out
    port = Fake.last.configs[0]["server.port"]
    assert Fake.last.configs[0]["server.address"] == "0.0.0.0"  # noqa: S104  # this is what is tested
    (link,) = re.findall(rf"On a phone: (http://192\.168\.7\.2:{port}/\?token=[0-9a-f]{{32}})\n", printed)
    assert link.partition("=")[2] in printed[printed.index(f"http://10.42.0.1:{port}/") :]
    means = [
        printed.index(words) for words in ("change and delete your profiles", "Nothing is encrypted", "opens once")
    ]
    assert max(means) < printed.index("Planner: http://127.0.0.1") < printed.index(link)
    token = re.search(r"Planner: \S+token=(\w+)", printed)[1]
    assert token not in link  # it opens once, and what it opens with is not what others open it with
    assert scanned(printed.splitlines()[-25:]) == link
    assert sharing.current().links()[0] == link
    assert sharing.current().keys.opens(link.partition("=")[2])
    again = capsys.readouterr().out
    assert link not in again
    assert scanned(again.splitlines()[-25:]) == sharing.current().links()[0] != link
    assert [one.cls.__name__ for one in Fake.last.given["middleware"]] == [
        "Headers",
        "Lock",
        "GZipMiddleware",
        "IndexPage",
    ]


def scanned(lines):
    """What a phone reads of a terminal whose letters are twice as high as wide."""
    rows = [[[letter in of for letter in line] for of in ("▀█", "▄█")] for line in lines if set(line) <= set(" ▀▄█")]
    dark = np.array([row for pair in rows for row in pair])
    (code,) = zxingcpp.read_barcodes(np.kron(np.where(dark, 0, 255), np.ones((4, 4))).astype(np.uint8))
    return code.text


def test_it_is_not_shared_without_a_token_nor_where_there_is_no_network(fake, network, tmp_path, monkeypatch):
    with pytest.raises(StoreError, match=r"^--share: with --no-token would let in all of the network: leave out one"):
        launch.start(tmp_path, browser=False, token=False, share=True)
    monkeypatch.setattr(sharing, "lan_addresses", list)
    with pytest.raises(StoreError, match=r"^--share: found no network of your own here: join one, or make a hotspot"):
        launch.start(tmp_path, browser=False, share=True)
    assert Fake.last is None
    assert sharing.current() is None


def test_a_setting_of_looks_that_streamlit_does_not_know_is_left_out(fake, tmp_path):
    Fake.refuses = ("theme.font", "server.enableAgentApi")
    launch.start(tmp_path, browser=False)
    whole, last = Fake.last.configs[0], Fake.last.configs[-1]
    assert whole.keys() - last.keys() == set(Fake.refuses)


def test_a_setting_that_must_hold_is_never_left_out(fake, tmp_path):
    Fake.refuses = ("server.allowedHosts",)
    with pytest.raises(st.errors.StreamlitAPIException, match="allowedHosts"):
        launch.start(tmp_path, browser=False)


def test_a_fault_of_the_planner_is_told_in_plain_words(monkeypatch):
    said = []
    monkeypatch.setattr(st, "error", said.append)
    assert in_plain_words(KeyError("x")) is True
    assert "your unsaved changes are kept" in said[0]
    assert "Traceback" not in said[0]


def test_warming_up_leaves_the_interpreter_as_it_was(monkeypatch):
    monkeypatch.setattr(launch, "FIRST_PAGE", 0.0)
    usual = sys.getswitchinterval()
    try:
        launch.warm_up()
        assert gc.isenabled()
        assert gc.get_freeze_count() > 0
        assert sys.getswitchinterval() == usual
        assert {"planner.plans.level", "PIL.Image"} <= set(sys.modules)
    finally:
        gc.unfreeze()
