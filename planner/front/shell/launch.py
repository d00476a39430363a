"""Start the app on a profiles folder, with every setting given here.

Nothing in the folder that the owner happens to stand in, and nothing in the environment, changes one.
"""

from __future__ import annotations

import asyncio
import contextlib
import gc
import importlib
import os
import socket
import sys
import threading
import time
import webbrowser
from collections.abc import AsyncIterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import click

from planner.front.shell import first_view, places, sharing, streamlit_patches, theme
from planner.front.shell.access import Headers, Keys, Lock, address
from planner.front.shell.environment import PROFILES, UNITS
from planner.front.shell.index_page import IndexPage
from planner.store import StoreError
from planner.store.transfer.zip_safety import MOST_MB

if TYPE_CHECKING:
    from planner.units.quantity import System

FIRST_PORT: Final = 8501
TRIED: Final = 50  # ports
HOME: Final = "127.0.0.1"
ANYWHERE: Final = "0.0.0.0"  # noqa: S104  # only with `share`, which the owner asked for
FIRST_PAGE: Final = 3.0  # [s] by when it is on the screen
GIVE_WAY: Final = 0.0003  # [s] how long imports keep a server waiting that hands out the browser's scripts meanwhile
TAB_KEPT: Final = 1800  # [s] a phone that sleeps finds its tab again
NUMPY_THREADS: Final = "OPENBLAS_NUM_THREADS"
SCREEN_VARIABLES: Final = ("DISPLAY", "WAYLAND_DISPLAY", "BROWSER")


def start(
    folder: Path,
    port: int | None = None,
    browser: bool = True,
    system: System = "us",
    *,
    token: bool = True,
    share: bool = False,
) -> None:
    """Serve the app until it is stopped, and print its address.

    Parameters
    ----------
    folder
        The profiles folder.
    port
        Where to listen; the first free one from 8501 if left out.
    browser
        Whether to open it in a browser, where there is a screen.
    system
        Units that a new tab starts with.
    token
        Whether only who has the printed address is let in; without it every user and program of this machine is.
    share
        Whether phones on this machine's own networks may reach it, each by a link that opens once; without it only
        this machine can.

    Raises
    ------
    StoreError
        If the port is taken, or it is to be shared and there is no network or no token.
    """
    if share and not token:
        raise StoreError("--share", "with --no-token would let in all of the network", "leave out one of them")
    for name in [name for name in os.environ if name.startswith("STREAMLIT_")]:
        del os.environ[name]
    os.environ[PROFILES] = str(folder)
    os.environ[UNITS] = system
    os.environ.setdefault(NUMPY_THREADS, "1")  # it starts one a core: a tenth of a second, for four equations
    port = free_port(port, ANYWHERE if share else HOME)
    keys = Keys() if token else None
    shared = sharing.begin(port, keys) if share and keys else None
    click.echo(f"Planner: {address(HOME, port, keys.token if keys else None)}  (Ctrl-C stops it)")
    if shared:
        shared.print_link()
    opening = address(HOME, port, keys.code if keys else None) if browser and has_screen() else None
    serve(port, keys, share=share, opening=opening)


def serve(port: int, keys: Keys | None, *, share: bool, opening: str | None) -> None:
    """Run Streamlit on the entry script."""
    gc.disable()  # until `warm_up` is through: what is imported stays, and looking for garbage in it takes a tenth
    import streamlit as st

    from planner.front.shell.crash_message import in_plain_words

    @contextlib.asynccontextmanager
    async def lifespan(_app: st.App) -> AsyncIterator[dict[str, Any]]:
        streamlit_patches.send_at_once(asyncio.get_running_loop())
        threading.Thread(target=warm_up, daemon=True).start()
        if opening:
            threading.Timer(0.3, webbrowser.open, (opening,)).start()
        yield {}
        first_view.keep_first_view()

    streamlit_patches.read_no_files()
    streamlit_patches.finish_callbacks()
    streamlit_patches.skip_console_check()
    # App.run puts the folder of this on Python's path, from where it must import nothing that lies about.
    sys.argv = [str(places.ENTRY)]
    must, nice = settings(port, share=share)
    app = st.App(
        places.ENTRY,
        lifespan=lifespan,
        middleware=request_guards(must["server.allowedHosts"], port, keys, packed=share),
        on_script_error=in_plain_words,
    )
    with contextlib.suppress(KeyboardInterrupt):
        while True:
            try:
                return app.run(config=must | nice)
            except st.errors.StreamlitAPIException as exc:  # a name it does not know: it is of another age than this
                unknown = next((name for name in nice if f"{name!r}" in str(exc)), None)
                if unknown is None:
                    raise
                del nice[unknown]


def settings(port: int, *, share: bool) -> tuple[dict[str, Any], dict[str, Any]]:
    """Return the settings that must hold, and those that are only nice."""
    beyond = sharing.own_names() if share else []
    must: dict[str, Any] = {
        "server.address": ANYWHERE if share else HOME,
        "server.port": port,
        "server.headless": True,  # `start` opens the browser
        "server.baseUrlPath": "",
        "server.enableCORS": True,
        "server.corsAllowedOrigins": [],
        "server.enableXsrfProtection": True,
        "server.xsrfCookieSameSite": "strict",
        "server.trustedUserHeaders": {},
        # Without this list any host name is let in, also one that a stranger's page points at 127.0.0.1.
        "server.allowedHosts": ["localhost", HOME, *beyond],
        "server.maxUploadSize": MOST_MB,  # of a whole request; past it the answer is a bare 413
        "server.enableStaticServing": False,
        "server.disconnectedSessionTTL": TAB_KEPT,
        "secrets.files": [],
        "browser.gatherUsageStats": False,
        "browser.serverAddress": HOME,
        "browser.serverPort": port,
        "client.allowedOrigins": [],  # else a page of these that frames ours, by message, sends uploads elsewhere
        "client.showErrorDetails": "none",
        "global.developmentMode": False,
        "theme.fontFaces": [],
    }
    nice = {
        "server.customComponentBaseUrlPath": "",
        "server.scriptHealthCheckEnabled": False,
        "server.runOnSave": False,
        "server.allowRunOnSave": False,
        "server.fileWatcherType": "none",
        "server.showEmailPrompt": False,
        "server.enableAgentApi": False,
        "client.toolbarMode": "viewer",
        "client.showErrorLinks": False,
        "client.showSidebarNavigation": False,
        "runner.magicEnabled": False,
        # One run of a tab at a time: two at once would both take what the tab remembers and lose each other's change.
        "runner.fastReruns": False,
        "logger.hideWelcomeMessage": True,
    }
    return must, nice | theme.theme()


def free_port(wanted: int | None, host: str = HOME) -> int:
    """Return the port that is wanted, or the first free one; StoreError if there is none."""
    tries = range(FIRST_PORT, FIRST_PORT + TRIED) if wanted is None else (wanted,)
    for port in tries:
        with socket.socket() as one, contextlib.suppress(OSError):
            if os.name != "nt":  # there it would let two servers share the port
                one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            one.bind((host, port))
            return int(one.getsockname()[1])
    if wanted is None:
        raise StoreError("--port", f"none from {tries[0]} to {tries[-1]} is free", "name another")
    raise StoreError("--port", "is taken", "name another, or leave it out", str(wanted))


def has_screen() -> bool:
    """Tell whether a browser can be opened; on a machine without a screen a text browser would take the terminal."""
    return sys.platform in ("win32", "darwin") or any(os.environ.get(name) for name in SCREEN_VARIABLES)


def warm_up() -> None:
    """Make ready what the first page needs while the browser still loads; and what others need once it is there."""
    usual = sys.getswitchinterval()
    sys.setswitchinterval(GIVE_WAY)
    try:
        for name in (first_view.MAKER, "PIL.Image", "planner.plans.level"):  # Streamlit asks PIL about every picture
            importlib.import_module(name)
    finally:
        gc.freeze()  # nor is it looked through again each time a page has run
        gc.enable()
        sys.setswitchinterval(usual)
    time.sleep(FIRST_PAGE)
    importlib.import_module("pandas")  # Streamlit does so for a field that waits for a pause in typing


def request_guards(names: list[str], port: int, keys: Keys | None, *, packed: bool) -> list[Any]:
    """Return what a request passes before Streamlit, the outermost first.

    Packing the scripts is for the way to a phone, of whose first visit it is the longest part.
    """
    from starlette.middleware import Middleware
    from starlette.middleware.gzip import GZipMiddleware

    outer = [Middleware(Headers, names=names, port=port), Middleware(Lock, names=names, port=port, keys=keys)]
    packing = [Middleware(GZipMiddleware, minimum_size=1000, compresslevel=6)] if packed else []
    return [*outer, *packing, Middleware(IndexPage, static=streamlit_patches.static_files())]
