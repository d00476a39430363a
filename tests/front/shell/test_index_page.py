"""What is added to Streamlit's page, asked of the middleware alone."""

import asyncio
import re
from pathlib import Path

import pytest

from planner.front.shell import first_view, theme
from planner.front.shell.index_page import IndexPage

STYLE = Path(theme.__file__).with_suffix(".css")
SHEET = b'<link rel="stylesheet" crossorigin href="./static/css/index.1.css">'
FONT = b'<link rel="preload" href="./static/media/a.woff2" as="font">'
PAGE = [b"<head>" + FONT + b"<title>Stream", b"lit</title>" + SHEET + b"</head>", b'<body><div id="root"></div></body>']


def answered(kind, parts, status=200, path="/level"):
    """Return head and body of an answer that passed."""
    sent = []

    async def app(scope, receive, send):
        assert dict(scope["headers"]) == {b"accept": b"*/*"}  # or Streamlit packs some pages, and nothing can be added
        length = str(sum(map(len, parts))).encode()
        headers = [(b"content-type", kind), (b"content-length", length), (b"etag", b"1")]
        await send({"type": "http.response.start", "status": status, "headers": headers})
        for part in parts:
            await send({"type": "http.response.body", "body": part, "more_body": part is not parts[-1]})

    async def send(message):
        sent.append(message)

    page = IndexPage(app, {"/static/js/Html.1.js": STYLE})
    headers = [(b"accept", b"*/*"), (b"accept-encoding", b"gzip")]
    asked = {"type": "http", "method": "GET", "path": path, "query_string": b"profile=any", "headers": headers}
    asyncio.run(page(asked, None, send))
    return dict(sent[0]["headers"]), b"".join(one["body"] for one in sent[1:])


@pytest.mark.parametrize(("path", "first"), [("/", True), ("/level", False)])
def test_what_is_first_seen_waits_for_no_file(monkeypatch, path, first):
    monkeypatch.setattr(first_view, "find_first_view", lambda query: f"<p>{query['profile']}</p>")
    _, body = answered(b"text/html", PAGE, path=path)
    found = re.findall(rb'<style|<div id="first-view">|<script>|<link rel="stylesheet"', body)
    view = [b'<div id="first-view">', b"<script>"] if first else []
    assert found == [b"<style", *view, b"<script>", b'<link rel="stylesheet"', b'<link rel="stylesheet"']
    assert (b"<p>any</p>" in body) is first
    assert body.index(b'id="root"') < body.index(b"<style")  # where the script looks for it
    assert b'as="font"' not in body


def test_a_page_in_pieces_has_our_title_and_its_true_length():
    headers, body = answered(b"text/html; charset=utf-8", PAGE)
    assert b"<title>Planner</title>" in body
    assert b'rel="manifest"' in body
    assert b'<link rel="modulepreload" crossorigin href="/static/js/Html.1.js">' in body
    assert body.endswith(b"</body>")
    assert body.index(b"<body>") < body.index(b'<link rel="stylesheet" href="/planner.css?')  # after Streamlit's rules
    assert int(headers[b"content-length"]) == len(body)
    assert b"etag" not in headers


@pytest.mark.parametrize(("kind", "status"), [(b"text/javascript", 200), (b"text/html", 304)])
def test_anything_else_passes_as_it_is(kind, status):
    headers, body = answered(kind, PAGE, status)
    assert body == b"".join(PAGE)
    assert headers[b"etag"] == b"1"


def test_what_never_changes_is_handed_out_at_once_and_kept_by_the_browser():
    headers, body = answered(b"text/html", PAGE, path="/static/js/Html.1.js")
    assert body == STYLE.read_bytes()
    assert headers[b"content-type"] == b"text/css; charset=utf-8"
    assert b"immutable" in headers[b"cache-control"]
