"""The head of Streamlit's page: the app's title and icons, as a phone's home screen asks for them, and scripts to load.

W3C Web Application Manifest. It is opened with the browser's own bar (`minimal-ui`): a phone that gives an app on the
home screen a window and cookies of its own would lock its owner out, with no address to type the token in. The icons
are drawn by `theme.HOME_ICON`; tests/browser/test_home_screen.py makes the files and looks whether they are still it.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from starlette.datastructures import MutableHeaders
from starlette.responses import Response

from planner.show.drawings.palette import LIGHT

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Message, Receive, Scope, Send

ICONS: Final = Path(__file__).parent / "icons"
SIZES: Final = (192, 512, 180)  # [px] what a manifest is asked for, and an Apple phone
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
_DAY: Final = 86_400  # [s]


class HomeScreen:
    """Serve manifest and icons, and name them in the head of Streamlit's page, and scripts to load ahead of time."""

    def __init__(self, app: ASGIApp, scripts: Sequence[str] = ()) -> None:
        self.app = app
        ahead = "".join(f'<link rel="modulepreload" crossorigin href="{one}">' for one in scripts)
        self.head = f"<title>{TITLE}</title>{_LINES}{ahead}".encode()
        self.files = {f"/icon-{size}.png": ((ICONS / f"icon-{size}.png").read_bytes(), "image/png") for size in SIZES}
        self.files["/manifest.webmanifest"] = (json.dumps(MANIFEST).encode(), "application/manifest+json")

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer for a file of our own; hand on what is asked else, and add to a page that comes back."""
        if scope["type"] == "http" and scope["path"] in self.files and scope["method"] in ("GET", "HEAD"):
            content, kind = self.files[scope["path"]]
            answer = Response(content, media_type=kind, headers={"Cache-Control": f"private, max-age={_DAY}"})
            await answer(scope, receive, send)
        else:
            await self.app(scope, receive, _Titled(send, self.head) if scope["type"] == "http" else send)


class _Titled:
    """Send an answer on; a whole page of HTML with our lines in its head."""

    def __init__(self, send: Send, head: bytes) -> None:
        self.send, self.head, self.body = send, head, b""
        self.held: Message | None = None

    async def __call__(self, message: Message) -> None:
        """Send a part of an answer on, or keep it until the page is whole."""
        if message["type"] == "http.response.start" and message["status"] == 200 and _is_html(message):
            self.held = message
        elif self.held is None:
            await self.send(message)
        else:
            self.body += message.get("body", b"")
            if not message.get("more_body", False):
                await self._send_page(self.held)

    async def _send_page(self, start: Message) -> None:
        """Send the page with our lines; the browser is to keep no copy by the mark of the page without them."""
        page = self.body.replace(b"<title>Streamlit</title>", self.head, 1)
        headers = MutableHeaders(scope=start)
        del headers["etag"], headers["last-modified"]
        if "content-length" in headers and self.body:  # to HEAD it is told without a body
            headers["content-length"] = str(len(page))
        await self.send(start)
        await self.send({"type": "http.response.body", "body": page})


def _is_html(message: Message) -> bool:
    """Tell whether an answer is a page."""
    return MutableHeaders(scope=message).get("content-type", "").startswith("text/html")
