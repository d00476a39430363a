"""What is mended in Streamlit, and that it is broken without."""

import asyncio
import socket

import pytest
import streamlit as st
from streamlit import config, delta_generator, env_util
from streamlit.runtime.scriptrunner.script_runner import ScriptRunner
from streamlit.runtime.state.session_state import SessionState
from streamlit.testing.v1 import AppTest

from planner.front.shell import streamlit_patches


def hurried():
    """A page whose callback finds that the browser has asked for something newer before it has read what was typed."""
    import streamlit as st
    from streamlit.runtime.scriptrunner import RerunData, get_script_run_ctx

    def typed():
        ctx = get_script_run_ctx()
        ctx.script_requests.request_rerun(RerunData(page_script_hash=ctx.page_script_hash))
        st.session_state["read"] = st.session_state["weight"]

    st.session_state.setdefault("read", "")
    st.session_state["runs"] = st.session_state.get("runs", 0) + 1
    st.text_input("Weight", key="weight", on_change=typed)


def read_in_a_hurry():
    """Return what the callback read, and how often the page then ran."""
    page = AppTest.from_function(hurried, default_timeout=300).run()
    before = page.session_state["runs"]
    page.text_input(key="weight").set_value("900").run()
    return page.session_state["read"], page.session_state["runs"] - before


def test_settings_are_read_from_no_file(monkeypatch):
    monkeypatch.setattr(config, "get_config_files", config.get_config_files)
    assert config.get_config_files("config.toml")  # as Streamlit has it
    streamlit_patches.read_no_files()
    assert config.get_config_files("config.toml") == config.get_config_files("secrets.toml") == []


def test_a_streamlit_that_reads_them_otherwise_is_left_alone(monkeypatch):
    monkeypatch.delattr(config, "get_config_files")
    streamlit_patches.read_no_files()
    assert not hasattr(config, "get_config_files")


@pytest.fixture
def restored(monkeypatch):
    """Streamlit as it is, also afterwards."""
    for owner, name in ((SessionState, "_call_callbacks"), (ScriptRunner, "_maybe_handle_execution_control_request")):
        monkeypatch.setattr(owner, name, getattr(owner, name))


def test_what_was_typed_is_read_although_the_browser_already_asks_for_more(restored):
    assert read_in_a_hurry() == ("", 1)  # as Streamlit has it
    streamlit_patches.finish_callbacks()
    assert read_in_a_hurry() == ("900", 1)  # and the newer request ran, once


def test_a_streamlit_that_does_it_otherwise_is_left_alone(restored, monkeypatch):
    monkeypatch.delattr(SessionState, "_call_callbacks")
    streamlit_patches.finish_callbacks()
    assert ScriptRunner._maybe_handle_execution_control_request.__module__.startswith("streamlit.")


async def sends_at_once():
    """Tell whether a server on a socket that is bound as Streamlit binds it sends without waiting (TCP_NODELAY)."""
    found = asyncio.get_running_loop().create_future()

    class Accepted(asyncio.Protocol):
        def connection_made(self, transport):
            one = transport.get_extra_info("socket")
            found.set_result(one.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY) != 0)

    with socket.socket(family=socket.AF_INET) as listening:
        listening.bind(("127.0.0.1", 0))
        server = await asyncio.get_running_loop().create_server(Accepted, sock=listening)
        async with server:
            _, writer = await asyncio.open_connection(*listening.getsockname())
            told = await found
            writer.close()
    return told


async def mended_and_sends_at_once():
    streamlit_patches.send_at_once(asyncio.get_running_loop())
    return await sends_at_once()


def test_answers_are_sent_at_once():
    assert not asyncio.run(sends_at_once())  # as Streamlit has it
    assert asyncio.run(mended_and_sends_at_once())


def test_the_first_page_does_not_wait_for_what_streamlit_asks_of_a_console(monkeypatch):
    monkeypatch.setattr(delta_generator, "_use_warning_has_been_displayed", False)
    asked = []
    monkeypatch.setattr(env_util, "is_repl", lambda: asked.append(True))
    st.html("<p>as Streamlit has it</p>")
    assert asked
    monkeypatch.setattr(delta_generator, "_use_warning_has_been_displayed", False)
    streamlit_patches.skip_console_check()
    st.html("<p>mended</p>")
    assert asked == [True]


def test_scripts_of_what_a_first_page_has_are_there_to_be_loaded_ahead():
    """One of each: where Streamlit calls them otherwise, this tells which."""
    files = streamlit_patches.static_files()
    found = streamlit_patches.find_first_scripts(files)
    assert [address.rpartition("/")[2].split(".")[0] for address in found] == ["Html", "purify", "PageLink", "Button"]
    assert all(path.is_file() for path in files.values())
