"""Run in a network of its own by test_network.py: handshakes under foreign names, and what then leaves the machine.

Started as: python inside.py FOLDER answerless|answering. One JSON object on standard output.
"""

import json
import re
import socket
import subprocess
import sys
import threading
import time
from http.client import HTTPConnection
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

PORT = 8765
HOME = f"127.0.0.1:{PORT}"
OURS = "192.0.2.2"  # this machine's address on a network that leads nowhere; this one and those below: RFC 5737
NOBODY = "192.0.2.53"  # is asked for names, and never answers
BELIEVED = "203.0.113.9"  # what the fake service says our outside address is
LAST = "198.51.100.1"  # a packet to it is the last one
UPGRADE = {
    "Connection": "Upgrade",
    "Upgrade": "websocket",
    "Sec-WebSocket-Version": "13",
    "Sec-WebSocket-Key": "AAAAAAAAAAAAAAAAAAAAAA==",
}
ORIGINS = [
    "http://attacker.example",
    f"http://attacker.example:{PORT}",
    f"http://{BELIEVED}",
    f"http://{BELIEVED}:{PORT}",
    f"http://{OURS}",
    f"http://{OURS}:{PORT}",
    "http://localhost:9",
    "http://127.0.0.1:9",
    "http://0.0.0.0",
    "null",
]
HOSTS = [
    "attacker.example",
    f"attacker.example:{PORT}",
    BELIEVED,
    f"{BELIEVED}:{PORT}",
    f"{OURS}:{PORT}",
    f"0.0.0.0:{PORT}",
    f"127.0.0.1.attacker.example:{PORT}",
    f"localhost.attacker.example:{PORT}",
    f"127.0.0.2:{PORT}",
    "",
]


def run(*command):
    subprocess.run(command, check=True)


def make_network(folder, answering):
    """Set up a network where whatever leaves comes to nobody, and who is asked for names: nobody, or a liar here."""
    run("ip", "link", "set", "lo", "up")
    run("ip", "address", "add", f"{OURS}/32", "dev", "lo")
    run("ip", "route", "add", "default", "dev", "lo", "src", OURS)
    names = folder / "resolv.conf"
    names.write_text(f"nameserver {'127.0.0.1' if answering else NOBODY}\noptions timeout:1 attempts:1\n", "ascii")
    run("mount", "--bind", str(names), "/etc/resolv.conf")


class Watch:
    """Every packet to another machine (IPv4, RFC 791: the destination is bytes 16 to 19)."""

    def __init__(self):
        self.wire = socket.socket(socket.AF_PACKET, socket.SOCK_DGRAM, socket.htons(0x0800))
        self.left = []
        self.thread = threading.Thread(target=self._look, daemon=True)
        self.thread.start()

    def _look(self):
        while True:
            there = socket.inet_ntoa(self.wire.recv(65536)[16:20])
            if there == LAST:
                return
            if not there.startswith("127."):
                self.left.append(there)

    def end(self):
        """Return where packets went until now."""
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as one:
            one.sendto(b"", (LAST, 9))
        self.thread.join()
        return self.left


def tell_lies(asked):
    """Answer any name with 127.0.0.1 (RFC 1035), and any address there with BELIEVED."""
    names = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    names.bind(("127.0.0.1", 53))

    def name_server():
        while True:
            query, who = names.recvfrom(512)
            asked.append("a name")
            end = query.index(b"\0", 12) + 5
            found = query[end - 3 : end - 2] == b"\1"  # type A; none of any other
            head = query[:2] + b"\x81\x80\0\1" + (b"\0\1" if found else b"\0\0") + b"\0\0\0\0"
            names.sendto(head + query[12:end] + b"\xc0\x0c\0\1\0\1\0\0\0\1\0\4\x7f\0\0\1" * found, who)

    class Service(BaseHTTPRequestHandler):
        def do_GET(self):
            asked.append("our address")
            self.send_response(200)
            self.end_headers()
            self.wfile.write(BELIEVED.encode())

        def log_message(self, *_):
            pass

    threading.Thread(target=name_server, daemon=True).start()
    threading.Thread(target=ThreadingHTTPServer(("127.0.0.1", 80), Service).serve_forever, daemon=True).start()


def handshake(host, **more):
    """Ask for the socket, and return the answer's status and how long it took. [ms]"""
    start = time.perf_counter()
    connection = HTTPConnection("127.0.0.1", PORT, timeout=60)
    connection.putrequest("GET", "/_stcore/stream", skip_host=True)
    for name, value in ({"Host": host} | UPGRADE | more).items():
        connection.putheader(name, value)
    connection.endheaders()
    status = connection.getresponse().status
    connection.close()
    return status, round(1e3 * (time.perf_counter() - start), 1)


def main():
    """Print what came of it."""
    folder, answering = Path(sys.argv[1]), sys.argv[2] == "answering"
    make_network(folder, answering)
    asked, watch = [], Watch()
    tell_lies(asked)
    command = [sys.executable, "-m", "planner", "--profiles", str(folder / "profiles"), "--port", str(PORT)]
    process = subprocess.Popen([*command, "--no-browser", *sys.argv[3:]], stdout=subprocess.PIPE, text=True)
    try:
        token = re.search(r"token=(\w+)", process.stdout.readline())
        cookie = {"Cookie": f"planner-{PORT}={token[1]}"} if token else {}
        while socket.socket().connect_ex(("127.0.0.1", PORT)):
            time.sleep(0.05)
        found = {
            "own": handshake(HOME, Origin=f"http://{HOME}", **cookie),
            "origins": {origin: handshake(HOME, Origin=origin, **cookie) for origin in ORIGINS},
            "hosts": {host: handshake(host, Origin=f"http://{host}", **cookie) for host in HOSTS},
        }
        sys.stdout.write(json.dumps(found | {"left": watch.end(), "asked": asked}))
    finally:
        process.kill()
        process.wait()


if __name__ == "__main__":
    main()
