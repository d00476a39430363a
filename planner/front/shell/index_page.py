"""Streamlit's one page as this app hands it out: title, icons, our style sheet, scripts to load ahead, a first view.

The first view stands on the page until Streamlit's scripts have drawn theirs.

W3C Web Application Manifest. It is opened with the browser's own bar (`minimal-ui`): a phone that gives an app on the
home screen a window and cookies of its own would lock its owner out, with no address to type the token in. The icons
are drawn by `theme.HOME_ICON`; tests/browser/test_index_page.py makes the files and looks whether they are still it.
"""

from __future__ import annotations

import asyncio
import json
import re
from collections.abc import Callable, Mapping
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from starlette.datastructures import MutableHeaders, QueryParams
from starlette.responses import Response

from planner.front.shell import first_view, places, theme
from planner.front.shell.streamlit_patches import STATIC_KINDS, find_first_scripts
from planner.show.drawings.palette import LIGHT

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

ICONS: Final = Path(__file__).parent / "icons"
SIZES: Final = (192, 512, 180)  # [px] what a manifest is asked for, and an Apple phone
STYLE_SHEET: Final = "/planner.css"
TITLE: Final = "Planner"
MANIFEST: Final[dict[str, Any]] = {
    "id": "/",
    "name": "Trailer-setup planner",
    "short_name": TITLE,
    "lang": "en",
    "start_url": "/",
    "scope": "/",
    "display": "minimal-ui",
    "background_color": LIGHT.paper,
    "theme_color": LIGHT.paper,
    "icons": [
        {"src": f"/icon-{size}.png", "sizes": f"{size}x{size}", "type": "image/png", "purpose": purpose}
        for size in SIZES[:2]
        for purpose in ("any", "maskable")
    ],
}
# A manifest is fetched without cookies unless the link says otherwise, and without one it is not handed out.
_LINES: Final = (
    '<link rel="manifest" href="/manifest.webmanifest" crossorigin="use-credentials">'
    f'<link rel="apple-touch-icon" href="/icon-{SIZES[2]}.png">'
    f'<meta name="apple-mobile-web-app-title" content="{TITLE}"><meta name="application-name" content="{TITLE}">'
)
_TITLE, _END = "<title>Streamlit</title>", "</body>"  # by which Streamlit's page is known
_SHEET: Final = re.compile(r'<link rel="stylesheet"[^>]*>')
_FONT: Final = re.compile(r'<link\s+rel="preload"[^>]*as="font"[^>]*>')  # which none of our pages is set in
_DAY: Final = 86_400  # [s]
_FOR_EVER: Final = "public, immutable, max-age=31536000"


class IndexPage:
    """Serve manifest, icons and style sheet, and name them in Streamlit's page, and scripts to load ahead of time.

    Parameters
    ----------
    app
        What answers all else.
    static
        Files by address that never change, which are handed out here.
    """

    def __init__(self, app: ASGIApp, static: Mapping[str, Path]) -> None:
        self.app, self.static = app, static
        style = theme.css().encode()
        ahead = "".join(f'<link rel="modulepreload" crossorigin href="{one}">' for one in find_first_scripts(static))
        self.head = f"<title>{TITLE}</title>{_LINES}{ahead}"
        # After Streamlit's own rules, which it puts into the head: of two that weigh the same, ours holds.
        self.rules = f"<style>{theme.first_css()}</style>"
        self.script, self.stopped = (
            f"<script>{script.read_text('utf-8')}</script>" for script in (places.FIRST_SCRIPT, places.STOPPED_SCRIPT)
        )
        self.sheet = f'<link rel="stylesheet" href="{STYLE_SHEET}?{sha256(style).hexdigest()[:12]}">'
        self.files = {f"/icon-{size}.png": ((ICONS / f"icon-{size}.png").read_bytes(), "image/png") for size in SIZES}
        self.files[STYLE_SHEET] = (style, "text/css")
        self.files["/manifest.webmanifest"] = (json.dumps(MANIFEST).encode(), "application/manifest+json")

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer for a file of our own; hand on what is asked else, and add to a page that comes back."""
        if scope["type"] == "websocket":
            try:
                await self.app(scope, receive, send)
            finally:  # a tab was closed
                first_view.keep_soon()
        elif scope["type"] != "http":
            await self.app(scope, receive, send)
        elif scope["path"] in self.files and scope["method"] in ("GET", "HEAD"):
            content, kind = self.files[scope["path"]]
            answer = Response(content, media_type=kind, headers={"Cache-Control": f"private, max-age={_DAY}"})
            await answer(scope, receive, send)
        elif scope["path"] in self.static and scope["method"] == "GET":
            path = self.static[scope["path"]]
            answer = Response(
                path.read_bytes(), media_type=STATIC_KINDS[path.suffix], headers={"Cache-Control": _FOR_EVER}
            )
            await answer(scope, receive, send)
        else:  # Streamlit is to pack nothing: what is packed cannot be added to, and for phones it is done outside
            asked = [(name, value) for name, value in scope["headers"] if name != b"accept-encoding"]
            await self.app({**scope, "headers": asked}, receive, _Rewritten(send, await self._rewrite(scope)))

    async def _rewrite(self, scope: Scope) -> Callable[[str], str]:
        """Return what makes our page of Streamlit's.

        What is first seen waits for no file: style sheets stand below it.
        """
        view = ""
        if scope["path"] == "/" and scope["method"] == "GET":
            view = await asyncio.to_thread(first_view.find_first_view, QueryParams(scope["query_string"]))
        first = f'<div id="first-view">{view}</div>{self.script}' if view else ""

        def rewrite(page: str) -> str:
            below = "".join((self.rules, first, self.stopped, *_SHEET.findall(page), self.sheet, _END))
            return _SHEET.sub("", _FONT.sub("", page)).replace(_TITLE, self.head, 1).replace(_END, below, 1)

        return rewrite


class _Rewritten:
    """Send an answer on; a whole page of HTML as it is to be."""

    def __init__(self, send: Send, rewrite: Callable[[str], str]) -> None:
        self.send, self.rewrite, self.page = send, rewrite, b""
        self.held: Message | None = None

    async def __call__(self, message: Message) -> None:
        """Send a part of an answer on, or keep it until the page is whole."""
        if message["type"] == "http.response.start" and message["status"] == 200 and _is_html(message):
            self.held = message
        elif self.held is None:
            await self.send(message)
        else:
            self.page += message.get("body", b"")
            if not message.get("more_body", False):
                await self._send_page(self.held)

    async def _send_page(self, start: Message) -> None:
        """Send the page; the browser is to keep no copy by the mark of the page as it was."""
        page = self.rewrite(self.page.decode()).encode()
        headers = MutableHeaders(scope=start)
        del headers["etag"], headers["last-modified"]
        if "content-length" in headers and self.page:  # to HEAD it is told without a body
            headers["content-length"] = str(len(page))
        await self.send(start)
        await self.send({"type": "http.response.body", "body": page})


def _is_html(message: Message) -> bool:
    """Tell whether an answer is a page."""
    return MutableHeaders(scope=message).get("content-type", "").startswith("text/html")
