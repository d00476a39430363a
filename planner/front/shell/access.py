"""Who is let in, and what a browser may do with what it gets: asked before any of Streamlit sees a request.

Other programs and users of this machine reach 127.0.0.1 as easily as the owner does, and any page in the owner's
browser can send requests there. So a request must name this server as its host (against DNS rebinding), come from one
of its own pages where it says where it comes from (Origin, RFC 6454), and carry the token of this start: in the first
address, and from then on in a cookie that no script and no other site gets at. Without it nothing of the app is served.
"""

from __future__ import annotations

import base64
import hashlib
import re
import secrets
from collections.abc import Callable
from dataclasses import dataclass, field
from html import escape
from ipaddress import ip_address
from pathlib import Path
from typing import TYPE_CHECKING, Final

from starlette.datastructures import URL, MutableHeaders
from starlette.requests import HTTPConnection
from starlette.responses import HTMLResponse, JSONResponse, PlainTextResponse, RedirectResponse, Response
from starlette.websockets import WebSocketClose

from planner.front.shell import places

if TYPE_CHECKING:
    from collections.abc import Sequence

    from starlette.types import ASGIApp, Message, Receive, Scope, Send

PARAMETER: Final = "token"
POLICY_VIOLATION: Final = 1008  # close code of a socket, RFC 6455 section 7.4.1; a browser sees 403, as it never opened
LOCKED: Final = (
    "This planner is locked: open it with the whole address that was printed where it was started, which ends in "
    "?token=… Each start prints a new one, and a tab from before needs it too; a phone's link opens once. Saved files "
    "and drafts are kept."
)
ELSEWHERE: Final = "This planner answers to its own address and its own pages only."
_PAGE: Final = (
    '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width">'
    "<title>Planner</title>{head}"
    "<style>body{{font:1.1rem/1.5 sans-serif;max-width:36rem;margin:3rem auto;padding:0 1rem}}</style></head>"
    '<body><main><h1>Planner</h1><p>{words}</p><p><a href="{address}">{link}</a></p></main></body></html>'
)
_HOST: Final = re.compile(r"([a-z0-9._-]+)(?::[0-9]+)?")
_SCRIPT: Final = re.compile(r"<script>(.*?)</script>", re.DOTALL)


@dataclass
class Keys:
    """What opens the app: a token for as long as it runs, and texts that open it once.

    The code is for the browser that is started with the address: what a program is started with is read by any user of
    the machine, who is too late once the browser has used it. The link is for a phone, where the app is shared with
    phones; once it is used there is another one for the next.
    """

    token: str = field(default_factory=lambda: secrets.token_hex(16))
    code: str = field(default_factory=lambda: secrets.token_hex(16))
    link: str = ""
    _used: Callable[[], None] = field(default=lambda: None, repr=False)

    def share(self, used: Callable[[], None]) -> None:
        """Have a link for a phone, and call something each time it was used and there is a new one."""
        self.link, self._used = secrets.token_hex(16), used

    def opens(self, given: str) -> bool:
        """Tell whether a text is the token, or the code or the link for the first time."""
        if self.code and _same(given, self.code):
            self.code = ""
            return True
        if self.link and _same(given, self.link):
            self.link = secrets.token_hex(16)
            self._used()
            return True
        return _same(given, self.token)


def address(name: str, port: int, key: str | None) -> str:
    """Return the address to open first."""
    return f"http://{name}:{port}/" + (f"?{PARAMETER}={key}" if key else "")


def is_host(name: str) -> bool:
    """Tell whether a text can be the name of a server in a request and in a policy."""
    return _HOST.fullmatch(name) is not None


class Lock:
    """Serve nothing to the internet, under another host's name, to a page of another origin, nor without the token."""

    def __init__(self, app: ASGIApp, names: Sequence[str], port: int, keys: Keys | None) -> None:
        self.app, self.names, self.keys = app, names, keys
        self.cookie = f"planner-{port}"  # cookies know no ports, and two planners may run

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request that is not let in; hand on one that is."""
        answer = self._answer(HTTPConnection(scope)) if scope["type"] in ("http", "websocket") else None
        if answer is None:
            await self.app(scope, receive, send)
        elif scope["type"] == "websocket":
            await WebSocketClose(POLICY_VIOLATION)(scope, receive, send)
        else:
            answer.headers["Cache-Control"] = "no-store"
            await answer(scope, receive, send)

    def _answer(self, request: HTTPConnection) -> Response | None:
        """Return what is answered in the app's place, if it is not asked."""
        host, origin = request.headers.get("host", ""), request.headers.get("origin")
        if not _is_near(request) or not self._is_ours(host) or origin not in (None, f"http://{host}"):
            return PlainTextResponse(ELSEWHERE, 403)
        if self.keys is None:
            return None
        if given := request.query_params.get(PARAMETER):
            looked_at = request.scope.get("method") == "HEAD"  # by a program, before a person opens the link
            return self._enter(request) if not looked_at and self.keys.opens(given) else _locked(request)
        return None if _same(request.cookies.get(self.cookie, ""), self.keys.token) else _locked(request)

    def _is_ours(self, host: str) -> bool:
        """Tell whether a request asks this server by one of its names, whatever the port."""
        asked = _HOST.fullmatch(host.lower())
        return asked is not None and asked[1] in self.names

    def _enter(self, request: HTTPConnection) -> Response:
        """Return the way on to the address without the token, which is left in a cookie.

        Browsers keep a strict cookie back where another site led here, also along a redirect; from a page of our own
        they send it.
        """
        assert self.keys is not None
        there = URL(scope=request.scope).remove_query_params(PARAMETER)
        led = request.headers.get("sec-fetch-site", "none") not in ("none", "same-origin")
        answer = _onward(str(there)) if led else RedirectResponse(there, 303)
        answer.set_cookie(self.cookie, self.keys.token, httponly=True, samesite="strict")
        return answer


class Headers:
    """Tell the browser on every answer what it may do with it."""

    def __init__(self, app: ASGIApp, names: Sequence[str], port: int) -> None:
        self.app, self.headers = app, headers(names, port)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Hand a request on, and add to the head of its answer."""

        async def send_with(message: Message) -> None:
            if message["type"] in ("http.response.start", "websocket.http.response.start"):
                MutableHeaders(scope=message).update(self.headers)
            await send(message)

        await self.app(scope, receive, send_with)


def headers(names: Sequence[str], port: int) -> dict[str, str]:
    """Return the headers of every answer of a server with these names.

    Content Security Policy level 3: what is not named is refused. Streamlit needs more than 'self' for: its styles, set
    from scripts; the scripts in its page, two of them ours, let in by their hashes; pictures and fonts given as data;
    and sockets, which older browsers do not count as 'self'.
    """
    sockets = " ".join(f"ws://{name}:{port}" for name in names)
    policy = {
        "default-src": "'none'",
        "script-src": " ".join(["'self'", *_own_scripts()]),
        "style-src": "'self' 'unsafe-inline'",
        "img-src": "'self' data: blob:",
        "font-src": "'self' data:",
        "connect-src": f"'self' {sockets}",
        "manifest-src": "'self'",
        "base-uri": "'none'",
        "form-action": "'none'",
        "frame-ancestors": "'none'",
    }
    return {
        "Content-Security-Policy": "; ".join(f"{name} {value}" for name, value in policy.items()),
        "X-Frame-Options": "DENY",
        "X-Content-Type-Options": "nosniff",
        "Referrer-Policy": "same-origin",
        "Cross-Origin-Opener-Policy": "same-origin",
        "Cross-Origin-Resource-Policy": "same-origin",
    }


def _own_scripts() -> list[str]:
    """Return the hashes of the scripts that stand in Streamlit's page, with those that are put into it here."""
    import streamlit

    page = Path(streamlit.__file__).parent / "static" / "index.html"
    found = _SCRIPT.findall(page.read_text("utf-8")) if page.is_file() else []
    found += [script.read_text("utf-8") for script in (places.FIRST_SCRIPT, places.STOPPED_SCRIPT)]
    digests = (base64.b64encode(hashlib.sha256(script.encode()).digest()).decode() for script in found)
    return [f"'sha256-{digest}'" for digest in digests]


def _locked(request: HTTPConnection) -> Response:
    """Return what is said to whoever has no token; at the bare address it is a page like any other.

    A tab of an earlier start asks whether its server is there again; Streamlit's page shows what any refusal but a 403
    says, if it says it in JSON.
    """
    path = request.url.path
    if path.endswith(("/_stcore/health", "/_stcore/host-config")):
        return JSONResponse(LOCKED, 401, {"WWW-Authenticate": "Cookie"})
    bare = path == "/" and not request.url.query
    if bare or "text/html" in request.headers.get("accept", ""):
        return HTMLResponse(_PAGE.format(head="", words=LOCKED, address="", link="Try again"), 200 if bare else 403)
    return PlainTextResponse(LOCKED, 403)


def _onward(address: str) -> Response:
    """Return a page that leads on at once."""
    to = escape(address, quote=True)
    head = f'<meta http-equiv="refresh" content="0; url={to}">'
    return HTMLResponse(_PAGE.format(head=head, words="The planner opens.", address=to, link="Open it"))


def _is_near(request: HTTPConnection) -> bool:
    """Tell whether who asks is on this machine or on a private network (RFC 6890), not on the internet."""
    return request.client is None or ip_address(request.client.host).is_private


def _same(given: str, wanted: str) -> bool:
    """Compare two texts in a time that says nothing of where they differ."""
    return secrets.compare_digest(given.encode("utf-8", "replace"), wanted.encode())
