"""The app for phones on the owner's own network: what that means, under which names, and the address as a code to scan.

Nothing but the door is different: the same server listens on the machine's other addresses too, and the same `Lock`
stands before it. A phone gets in by a link that opens once, and is known by its cookie from then on.
"""

from __future__ import annotations

import socket
from contextlib import suppress
from dataclasses import dataclass
from ipaddress import ip_address
from typing import Final

import click

from planner.front.shell.access import Keys, address, is_host
from planner.show.text import console
from planner.store import StoreError

MEANS: Final = (
    "Shared with phones on this network until you stop the planner:",
    "- Anyone who opens the link below can read, change and delete your profiles.",
    "- Nothing is encrypted: use it on your own network or hotspot, never on a public one.",
    "- The link opens once; the next one is printed when it has been used.",
)


@dataclass(frozen=True)
class Sharing:
    """How phones reach this server: its addresses on its networks, the likeliest first, and what opens it."""

    addresses: tuple[str, ...]
    port: int
    keys: Keys

    def links(self) -> list[str]:
        """Return the link that opens once, by each address."""
        return [address(name, self.port, self.keys.link) for name in self.addresses]

    def print_link(self) -> None:
        """Print the link, and the first one as a code to scan where the terminal has the letters for it."""
        from planner.show.paper.qr_code import terminal_lines  # the start without --share does not wait for it

        first, *others = self.links()
        click.echo(f"On a phone: {first}")
        for other in others:
            click.echo(f"  or, on another network of this machine: {other}")
        if console.is_unicode():
            for line in terminal_lines(first):
                click.echo(click.style(line, fg="black", bg="bright_white"))


_shared: list[Sharing] = []


def begin(port: int, keys: Keys) -> Sharing:
    """Say what sharing means, and from now on have a link for the next phone; StoreError if there is no network."""
    if not (addresses := lan_addresses()):
        raise StoreError("--share", "found no network of your own here", "join one, or make a hotspot")
    for line in MEANS:
        click.echo(line)
    sharing = Sharing(tuple(addresses), port, keys)
    keys.share(sharing.print_link)
    _shared[:] = [sharing]
    return sharing


def current() -> Sharing | None:
    """Return how this server is shared; None if it is not."""
    return _shared[0] if _shared else None


def own_names() -> list[str]:
    """Return the names that this machine is asked by on its networks: its addresses, and its host name."""
    host = socket.gethostname().lower()
    names = [host, f"{host.partition('.')[0]}.local"]  # the second is what its network finds it by (RFC 6762)
    return [*lan_addresses(), *(name for name in names if is_host(name))]


def lan_addresses() -> list[str]:
    """Return this machine's addresses on private networks, not on the internet; nothing is sent.

    A laptop that is itself the hotspot has no way out, only its own small network, so the usual ranges of hotspots are
    asked for as well.
    """
    found: dict[str, None] = {}
    for there in ("192.0.2.1", "192.168.137.2", "10.42.0.2", "192.168.2.2", "172.20.10.2", "192.168.43.2"):
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as one, suppress(OSError):
            one.connect((there, 9))  # UDP: only asks the kernel which address it would use
            found[one.getsockname()[0]] = None
    return [name for name in found if ip_address(name).is_private and not ip_address(name).is_loopback]
