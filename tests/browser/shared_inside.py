"""Run by test_share.py in a network of its own: a planner that is shared, and a phone in a second network beside it.

Started as: python -m tests.browser.shared_inside host FOLDER. One JSON object on standard output.
"""

import base64
import io
import json
import os
import re
import shutil
import subprocess
import sys
import time
from http.client import HTTPConnection
from pathlib import Path
from urllib.parse import urlsplit

import zxingcpp
from PIL import Image
from playwright.sync_api import expect, sync_playwright

from planner.show.text.hitching import WATCH

from .conftest import MILL, NAMES, PATIENCE, PROBE, QUIET, Watched

PORT = 8765
HOST, PHONE = "10.42.0.1", "10.42.0.2"  # as a laptop that is the hotspot has them
URL = f"http://{HOST}:{PORT}"
UPGRADE = {
    "Connection": "Upgrade",
    "Upgrade": "websocket",
    "Sec-WebSocket-Version": "13",
    "Sec-WebSocket-Key": "AAAAAAAAAAAAAAAAAAAAAA==",
}


def run(*command):
    subprocess.run(command, check=True)


def second_network():
    """Make a second network with a wire to this one; return the process that holds it."""
    hold = "ip link set lo up && echo made && exec cat"
    held = subprocess.Popen(["unshare", "--net", "sh", "-c", hold], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    held.stdout.readline()
    run("ip", "link", "set", "lo", "up")
    run("ip", "link", "add", "here", "type", "veth", "peer", "name", "there", "netns", str(held.pid))
    for name, address, place in (("here", HOST, []), ("there", PHONE, inside(held))):
        # No address of its own besides, which comes later: a browser that sees one come drops what it is fetching.
        run(*place, "ip", "link", "set", name, "addrgenmode", "none")
        run(*place, "ip", "address", "add", f"{address}/24", "dev", name)
        run(*place, "ip", "link", "set", name, "up")
    return held


def inside(held):
    return ["nsenter", f"--net=/proc/{held.pid}/ns/net"]


def host(folder):
    """Start the planner here and the phone there."""
    held = second_network()
    command = [sys.executable, "-m", "planner", "--share", "--no-browser", "--profiles", folder, "--port", str(PORT)]
    clean = os.environ | {"PYTHONIOENCODING": "ascii"}  # its code to scan is not printed
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=clean)
    try:
        said = ""
        while not (link := re.search(rf"On a phone: ({URL}/\S+)", said)):
            said += process.stdout.readline() or sys.exit(said)
        there = [*inside(held), sys.executable, "-m", __spec__.name, "phone", link[1]]
        subprocess.run(there, check=True)
    finally:
        process.kill()
        process.wait()
        held.kill()


def asked(path="/", **headers):
    """Ask from the phone's network, and return the status."""
    connection = HTTPConnection(HOST, PORT, timeout=PATIENCE)
    connection.putrequest("GET", path, skip_host=True)
    for name, value in ({"Host": f"{HOST}:{PORT}"} | headers).items():
        connection.putheader(name, value)
    connection.endheaders()
    status = connection.getresponse().status
    connection.close()
    return status


def refused(cookie):
    """Ask under foreign names, with all that a phone has that was let in."""
    known, stream = {"Cookie": cookie}, "/_stcore/stream"
    own = {"Origin": URL}
    return {
        "no cookie": asked("/level"),
        "no cookie, socket": asked(stream, **UPGRADE, **own),
        "foreign host": asked("/level", **known | {"Host": f"attacker.example:{PORT}"}),
        "any .local": asked("/level", **known | {"Host": f"attacker.local:{PORT}"}),
        "foreign origin": asked(stream, **UPGRADE, **known, Origin="http://attacker.example"),
        "origin of another port": asked(stream, **UPGRADE, **known, Origin=f"http://{HOST}:{PORT + 1}"),
        "upload of a stranger": asked("/_stcore/upload_file/x/y", **known, Origin="http://attacker.example"),
    }, asked(stream, **UPGRADE, **known, **own)


def context_of(browser):
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    context.set_default_timeout(PATIENCE * 1000)
    return context


def hitch(window):
    """Go from the list through a whole hitching by thumb; return the stages seen, each with what to beware of."""
    page = window.page
    page.locator(f".st-key-go-profiles-{MILL} a").tap()
    expect(page.locator(".st-key-alone .corners")).to_be_in_viewport(ratio=1)
    page.locator(".st-key-alone-links").get_by_role("link", name="Hitch up").tap()
    seen = []
    for place, stage in enumerate(WATCH, start=1):
        now = page.locator(f".st-key-now-{stage}")
        expect(now.get_by_role("heading", name=f"{place} of 4: {stage}")).to_be_visible()
        expect(now).to_contain_text(WATCH[stage])
        seen.append(now.locator("img").first.get_attribute("alt"))
        if place < len(WATCH):
            page.locator(".st-key-stage-next button").tap()
    page.reload()  # as a phone does that slept
    window.ready()
    expect(page.locator(".st-key-now-tow")).to_be_visible()
    return seen


def next_link(window):
    """Show the link for another phone on this one's screen, and read it as a camera does."""
    page = window.go(f"{URL}/?view=list")
    page.get_by_text("Open on a phone").tap()
    code = page.locator("img.qr")
    expect(code).to_be_visible()
    deadline = time.monotonic() + PATIENCE  # the page may still move under the camera
    while not (found := zxingcpp.read_barcodes(Image.open(io.BytesIO(code.screenshot())))):
        assert time.monotonic() < deadline
    return found[0].text


def bytes_of_a_visit(context, address):
    """Open a page anew in a browser that has been there; return what goes over the wire both ways. [bytes]"""
    page = context.new_page()
    devtools, counts = context.new_cdp_session(page), []
    devtools.send("Network.enable")
    devtools.on("Network.loadingFinished", lambda told: counts.append(told["encodedDataLength"]))
    for way in ("Received", "Sent"):
        devtools.on(f"Network.webSocketFrame{way}", lambda told: counts.append(length_of(told["response"])))
    Watched(page, []).go(address)
    expect(page.locator(".st-key-alone .corners")).to_be_visible()
    page.close()
    return sum(counts)


def length_of(frame):
    """The length of a frame, of which the binary ones are told in base64. [bytes]"""
    data = frame["payloadData"]
    return len(base64.b64decode(data)) if frame["opcode"] == 2 else len(data.encode())


def phone(link):
    """Be the phone."""
    with sync_playwright() as playwright:
        path = next(found for name in NAMES if (found := shutil.which(name)))
        browser = playwright.chromium.launch(executable_path=path, args=QUIET)
        context = context_of(browser)
        window = Watched(context.new_page(), [])
        faults = window.faults
        window.page.on("request", lambda request: faults.append(request.url) if is_far(request.url) else None)
        window.page.on("console", lambda message: faults.append(message.text) if is_fault(message) else None)
        window.page.on("pageerror", lambda error: faults.append(str(error)))
        window.go(link)
        address = window.page.url
        seen = hitch(window)
        (cookie,) = [one for one in context.cookies() if one["name"].startswith("planner-")]
        status, own = refused(f"{cookie['name']}={cookie['value']}")
        size = bytes_of_a_visit(context, f"{URL}/?profile={MILL}")
        other = context_of(browser).new_page()
        used = other.goto(link).status
        second = next_link(window)
        Watched(other, []).go(second)
        found = {
            "address": address,
            "stages": seen,
            "cookie": [cookie["httpOnly"], cookie["sameSite"]],
            "refused": status,
            "own": own,
            "bytes": size,
            "used": used,
            "second": second,
            "faults": faults,
        }
        browser.close()
    sys.stdout.write(json.dumps(found))


def is_far(url):
    parts = urlsplit(url)
    return parts.scheme not in ("data", "blob") and parts.netloc != f"{HOST}:{PORT}"


def is_fault(message):
    if "Cross-Origin-Opener-Policy header has been ignored" in message.text:  # it is one for https only
        return False
    return message.type in ("error", "warning") and not PROBE.search(message.location.get("url", ""))


if __name__ == "__main__":
    {"host": host, "phone": phone}[sys.argv[1]](str(Path(sys.argv[2])) if sys.argv[1] == "host" else sys.argv[2])
