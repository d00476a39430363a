"""Where Streamlit does otherwise than this app needs, and has no setting for it.

Each mend leaves Streamlit as it is where it does not find what it mends: a newer one may not need it.
"""

from __future__ import annotations

import asyncio
import contextlib
import socket
import threading
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final

FIRST_DRAWN: Final = ("Html", "purify.es", "PageLink", "Button")  # the scripts of what a first page has on top

# What files of Streamlit's are, by how their names end; what Windows says of that anybody may have changed.
STATIC_KINDS: Final = {".js": "text/javascript", ".css": "text/css", ".woff2": "font/woff2"}


def read_no_files() -> None:
    """Have Streamlit take its settings and secrets from us alone.

    It reads ``.streamlit/config.toml`` and ``secrets.toml`` of the current folder and of the home folder, and watches
    them: a folder unpacked from anywhere could open the server to other pages or have it load fonts from elsewhere. A
    setting given to ``App.run`` wins over a file, but one that is to stay at "none" cannot be given.
    """
    from streamlit import config

    def none(file_name: str) -> list[str]:  # noqa: ARG001
        return []

    if hasattr(config, "get_config_files"):
        config.get_config_files = none


def finish_callbacks() -> None:
    """Have what a widget calls run to its end although the browser already asks for something newer.

    Streamlit looks for a newer request at each touch of its memory and breaks the run off there. A callback broken off
    is not called again, so that what was typed stays on the screen and is never read: it happens to whoever goes from
    field to field quicker than the server answers. The newer request is found right after the callbacks.
    """
    from streamlit.runtime.scriptrunner.script_runner import ScriptRunner
    from streamlit.runtime.state import SessionState

    with contextlib.suppress(AttributeError):
        call, look = SessionState._call_callbacks, ScriptRunner._maybe_handle_execution_control_request
        inside = threading.local()

        def call_all(memory: SessionState, **options: Any) -> None:
            inside.callbacks = True
            try:
                call(memory, **options)
            finally:
                inside.callbacks = False

        def look_later(runner: ScriptRunner) -> None:
            if not getattr(inside, "callbacks", False):
                look(runner)

        SessionState._call_callbacks = call_all  # type: ignore[assignment, method-assign]
        ScriptRunner._maybe_handle_execution_control_request = look_later  # type: ignore[assignment, method-assign]


def skip_console_check() -> None:
    """Have Streamlit not look whether it was started from Python's console, to warn there.

    It does so at the first thing that is drawn: each module is asked for its file, 0.1 s while the page waits.
    """
    from streamlit import delta_generator

    if hasattr(delta_generator, "_use_warning_has_been_displayed"):
        delta_generator._use_warning_has_been_displayed = True


def send_at_once(loop: asyncio.AbstractEventLoop) -> None:
    """Have the server that is about to listen send each piece of an answer as it is written.

    Streamlit's socket does not name its protocol, so asyncio leaves Nagle's algorithm (RFC 896) on: the body of an
    answer waits until the browser has acknowledged its head, which it delays (RFC 1122, 4.2.3.2) by some 40 ms. A
    first visit makes a hundred requests. Accepted connections inherit the option from the socket that listens.
    """
    create = loop.create_server

    async def create_server(*args: Any, **kwargs: Any) -> asyncio.AbstractServer:
        if (listening := kwargs.get("sock")) is not None:
            listening.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        return await create(*args, **kwargs)

    loop.create_server = create_server  # type: ignore[assignment, method-assign]


def static_files() -> dict[str, Path]:
    """Return Streamlit's scripts, style sheets and fonts, none of which changes under its name, by address.

    It hands each out piece by piece from threads that wait for each other while our modules are imported.
    """
    import streamlit

    folder = Path(streamlit.__file__).parent / "static"
    found = (path for path in folder.glob("static/*/*") if path.suffix in STATIC_KINDS)
    return {f"/{path.relative_to(folder).as_posix()}": path for path in found}


def find_first_scripts(addresses: Iterable[str]) -> list[str]:
    """Return which scripts the browser is to load ahead of time.

    Streamlit's page asks for the script of a kind of element when it draws the first of that kind: one after the other,
    while the server is busy with the page.
    """
    return [one for name in FIRST_DRAWN for one in addresses if one.startswith(f"/static/js/{name}.")]
