"""Who is let in, asked of the middleware alone; tests/browser has it as a browser sees it."""

import asyncio
import json
from urllib.parse import parse_qs, urlsplit

import pytest

from planner.front.shell import launch
from planner.front.shell.access import ELSEWHERE, LOCKED, Keys

PORT = 8765
NAMES = ["localhost", "127.0.0.1"]
HOME = f"127.0.0.1:{PORT}"


class Asked:
    """What came back, and whether the app itself answered."""

    def __init__(self, messages):
        head = next((one for one in messages if one["type"].endswith("response.start")), {})
        self.status = head.get("status") or (403 if messages[-1]["type"] == "websocket.close" else 101)
        self.headers = {name.decode().lower(): value.decode() for name, value in head.get("headers", [])}
        self.words = b"".join(one.get("body", b"") for one in messages).decode("utf-8", "replace")

    @property
    def inside(self):
        return self.words == "app" or self.status == 101


async def app(scope, receive, send):
    """Stands for Streamlit."""
    if scope["type"] == "websocket":
        await send({"type": "websocket.accept"})
    else:
        await send({"type": "http.response.start", "status": 200, "headers": []})
        await send({"type": "http.response.body", "body": b"app"})


def ask(keys, address="/", kind="http", host=HOME, method="GET", client="127.0.0.1", **headers):
    """Ask a guarded app for an address."""
    stack = app
    for one in reversed(launch.request_guards(NAMES, PORT, keys, packed=False)):
        stack = one.cls(stack, *one.args, **one.kwargs)
    parts, sent = urlsplit(address), []
    named = {"host": host, "accept": "text/html"} | {name.replace("_", "-"): value for name, value in headers.items()}
    scope = {
        "type": kind,
        "method": method,
        "scheme": "http" if kind == "http" else "ws",
        "path": parts.path,
        "query_string": parts.query.encode(),
        "headers": [(name.encode(), value.encode("latin-1")) for name, value in named.items()],
        "server": ("127.0.0.1", PORT),
        "client": (client, 50_000),
        "extensions": {"websocket.http.response": {}},
    }

    async def send(message):
        sent.append(message)

    asyncio.run(stack(scope, None, send))
    return Asked(sent)


def cookie_of(answer):
    return answer.headers["set-cookie"].split(";")[0]


@pytest.fixture
def keys():
    return Keys()


PATHS = [
    "/level",
    "/level?profile=mill",
    "/?profile=mill",
    "/_stcore/health",
    "/_stcore/host-config",
    "/_stcore/metrics",
    "/media/a.png",
    "/static/js/index.js",
    "/index.html",
    "/manifest.webmanifest",
    "/icon-192.png",
    "//",
]


OURS = ["/manifest.webmanifest", "/icon-192.png"]  # answered without Streamlit

# What a tab asks while it waits for its server: it shows the words of a refusal in JSON, unless that is a 403.
ASKED_AGAIN = ["/_stcore/health", "/_stcore/host-config"]


@pytest.mark.parametrize("path", PATHS)
@pytest.mark.parametrize("cookie", ["", f"planner-{PORT}=", f"planner-{PORT}=é", f"planner-{PORT}=" + "0" * 32])
def test_without_the_token_nothing_is_served(keys, path, cookie):
    answer = ask(keys, path, cookie=cookie)
    assert answer.status == (401 if path in ASKED_AGAIN else 403)
    assert LOCKED in (json.loads(answer.words) if path in ASKED_AGAIN else answer.words)
    assert not answer.inside
    assert "set-cookie" not in answer.headers
    assert ask(keys, path, kind="websocket", cookie=cookie).status == 403


def test_the_bare_address_says_in_words_that_it_is_locked(keys):
    answer = ask(keys, "/")
    assert answer.status == 200
    assert LOCKED in answer.words
    assert "script" not in answer.words
    assert ask(keys, "/?token=wrong").status == 403


def test_what_a_script_asks_for_is_refused_in_bare_words(keys):
    assert ask(keys, "/media/a.png", accept="*/*").words == LOCKED


def test_the_first_address_leaves_a_strict_cookie_and_loses_its_token(keys):
    answer = ask(keys, f"/level?profile=mill&token={keys.token}")
    assert answer.status == 303
    assert answer.headers["location"] == f"http://{HOME}/level?profile=mill"
    assert answer.headers["cache-control"] == "no-store"
    name, *attributes = answer.headers["set-cookie"].split("; ")
    assert name == f"planner-{PORT}={keys.token}"
    assert {one.lower() for one in attributes} == {"httponly", "path=/", "samesite=strict"}


def test_with_the_cookie_every_path_is_the_app_s(keys):
    cookie = cookie_of(ask(keys, f"/?token={keys.token}"))
    for path in ["/", *PATHS]:
        answer = ask(keys, path, cookie=f"other=1; {cookie}")
        assert answer.inside or path in OURS, path
        assert answer.status == 200, path
    assert ask(keys, "/_stcore/stream", kind="websocket", cookie=cookie).status == 101


def test_the_token_goes_no_further_than_this_server(keys):
    answer = ask(keys, f"//attacker.example/?token={keys.token}")
    assert urlsplit(answer.headers["location"]).netloc == HOME


def test_led_here_from_another_site_the_way_goes_on_from_a_page_of_ours(keys):
    answer = ask(keys, f"/?profile=%22%3E%3Cb%3E&token={keys.token}", sec_fetch_site="cross-site")
    assert answer.status == 200
    assert cookie_of(answer).endswith(keys.token)
    assert f'content="0; url=http://{HOME}/?profile=%22%3E%3Cb%3E"' in answer.words
    assert keys.token not in answer.words


def test_the_code_for_the_browser_opens_once(keys):
    code = keys.code
    first, second = (ask(keys, f"/?token={code}") for _ in range(2))
    assert first.status == 303
    assert cookie_of(first).endswith(keys.token)
    assert second.status == 403
    assert ask(keys, f"/?token={keys.token}").status == 303


def test_a_link_for_a_phone_opens_once_and_then_there_is_another(keys):
    used = []
    assert ask(keys, "/?token=").status == 403
    keys.share(lambda: used.append(keys.link))
    link = keys.link
    assert ask(keys, f"/?token={link}", method="HEAD").status == 403  # a program that looks before a person opens it
    first, second = (ask(keys, f"/?token={link}") for _ in range(2))
    assert (first.status, second.status) == (303, 403)
    assert cookie_of(first) == f"planner-{PORT}={keys.token}"
    assert used == [keys.link] != [link]
    assert ask(keys, f"/?token={keys.link}").status == 303


@pytest.mark.parametrize(
    ("client", "near"),
    [
        *((near, True) for near in ("127.0.0.1", "192.168.7.20", "10.42.0.9", "169.254.3.4", "fe80::1")),
        *((far, False) for far in ("100.64.0.9", "8.8.8.8", "2001:4860:4860::8888")),
    ],
)
def test_the_internet_is_not_answered(client, near):
    assert ask(None, "/level", client=client).inside == near


def test_each_start_has_another_token():
    one, other = Keys(), Keys()
    assert len({one.token, one.code, other.token, other.code}) == 4
    assert ask(other, "/level", cookie=f"planner-{PORT}={one.token}").status == 403


def test_without_a_token_only_where_that_was_asked_for():
    assert ask(None, "/level").inside
    assert ask(None, "/?token=anything").inside


FOREIGN = [
    "http://attacker.example",
    "https://" + HOME,
    "http://127.0.0.1",
    f"http://127.0.0.1:{PORT + 1}",
    f"http://localhost:{PORT}",
    "null",
    "file://",
    "",
]


@pytest.mark.parametrize("origin", FOREIGN)
@pytest.mark.parametrize("kind", ["http", "websocket"])
def test_a_page_of_another_origin_is_refused_with_and_without_token(keys, origin, kind):
    assert ask(None, "/_stcore/stream", kind=kind, origin=origin).status == 403
    known = ask(keys, "/_stcore/stream", kind=kind, origin=origin, cookie=f"planner-{PORT}={keys.token}")
    assert known.status == 403
    assert kind == "websocket" or known.words == ELSEWHERE


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("kind", ["http", "websocket"])
def test_a_page_of_our_own_is_answered(name, kind):
    host = f"{name}:{PORT}"
    assert ask(None, "/", kind=kind, host=host, origin=f"http://{host}").inside


@pytest.mark.parametrize(
    "host", ["attacker.example", f"attacker.example:{PORT}", "127.0.0.1.attacker.example", "127.0.0.1:9@a", ""]
)
@pytest.mark.parametrize("kind", ["http", "websocket"])
def test_under_another_host_s_name_nothing_is_served_on_any_path(host, kind):
    """A name that a stranger points at 127.0.0.1 makes a stranger's page one of this origin (DNS rebinding)."""
    for path in ["/", *PATHS]:
        answer = ask(None, path, kind=kind, host=host, origin=f"http://{host}")
        assert answer.status == 403, path
        assert not answer.inside


@pytest.mark.parametrize("address", ["/", "/level", "/?token=wrong"])
@pytest.mark.parametrize("host", [HOME, "attacker.example"])
def test_every_answer_forbids_frames_and_whatever_is_not_the_app_s_own(keys, address, host):
    given = ask(keys, address, host=host).headers
    policy = {
        name: rest for name, _, rest in (one.partition(" ") for one in given["content-security-policy"].split("; "))
    }
    assert policy["default-src"] == policy["frame-ancestors"] == policy["base-uri"] == policy["form-action"] == "'none'"
    assert policy["script-src"].startswith("'self' 'sha256-")
    assert "unsafe" not in policy["script-src"]
    assert policy["connect-src"] == f"'self' ws://localhost:{PORT} ws://127.0.0.1:{PORT}"
    assert not [one for one in " ".join(policy.values()).split() if one in ("*", "http:", "https:")]
    assert given["x-frame-options"] == "DENY"
    assert given["x-content-type-options"] == "nosniff"
    assert given["referrer-policy"] == "same-origin"


def test_the_address_that_is_printed_holds_the_token_and_the_one_that_is_opened_the_code(keys):
    assert parse_qs(urlsplit(launch.address("127.0.0.1", PORT, keys.token)).query) == {"token": [keys.token]}
    assert launch.address("127.0.0.1", PORT, None) == f"http://{HOME}/"
