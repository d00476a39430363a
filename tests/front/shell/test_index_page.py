"""What is added to Streamlit's page, asked of the middleware alone."""

import asyncio
from pathlib import Path

import pytest

from planner.front.shell import theme
from planner.front.shell.index_page import IndexPage

STYLE = Path(theme.__file__).with_suffix(".css")
PAGE = [b"<head><title>Stream", b"lit</title></head>", b"<body></body>"]


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
    asyncio.run(page({"type": "http", "method": "GET", "path": path, "headers": headers}, None, send))
    return dict(sent[0]["headers"]), b"".join(one["body"] for one in sent[1:])


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
