"""Every page in its main states, for any engine: what the contact sheet shows, and what axe looks at."""

import json

from .conftest import MILL, RESTS
from .engines import Window
from .test_trim import READ, WHOLE

SHUT = "[...document.querySelectorAll('details:not([open]) > summary')].find(one => one.checkVisibility())"


def type_no_weight(window: Window) -> None:
    window.type('.st-key-field-weight input[type="text"]', "twelve")
    window.until("document.querySelector('.wrong')")


def open_all(window: Window) -> None:
    """Open all that is folded up, and what is folded up in it."""
    while window.ask(f"(one => one ? [one.click()].length : 0)({SHUT})"):
        window.until(f"({RESTS})()")


def open_menu(window: Window) -> None:
    window.press(f".st-key-more-{MILL} button")
    window.until("document.querySelector('.st-key-menu')")


def delete_and_open(window: Window) -> None:
    """A reply, the bin with something in it, all tools and another card's menu."""
    open_menu(window)
    window.press(f".st-key-delete-{MILL} button")
    window.said("is deleted")
    open_all(window)


def type_taken_name(window: Window) -> None:
    """A reply beside a field: saved, and then a name that another profile has."""
    window.press(".st-key-save button")
    window.said("is saved")
    open_all(window)
    window.type('input[aria-label="Save under a new name"]', "Slabs on Friday")
    window.until("document.body.innerText.includes('There is already Slabs on Friday.')")


def read_all(window: Window) -> None:
    """Type what gauge and tape say at every corner, until the answer to all of it is there."""
    for corner, numbers in READ.items():
        for place, text in enumerate(numbers, 1):
            column = f'[data-testid="stColumn"]:nth-child({place})'
            window.type(f".st-key-corner-{corner} {column} input", text)
    window.until(f"document.querySelector('.st-key-answer img')?.alt.includes({json.dumps(WHOLE)})")
    window.ready()


def read_and_open(window: Window) -> None:
    read_all(window)
    open_all(window)


STATES = {
    "list": ("/", None),
    "list, menu": ("/", open_menu),
    "list, deleted, all open": ("/", delete_and_open),
    "alone": (f"/?profile={MILL}", None),
    "alone, stop": ("/?profile=slabs-on-friday", None),
    "level": (f"/level?profile={MILL}", None),
    "level, stop": ("/level?profile=slabs-on-friday", None),
    "level, wrong": ("/level?profile=mill-bed-empty", type_no_weight),
    "level, saved, all open": (f"/level?profile={MILL}", type_taken_name),
    "level, nothing": ("/level?profile=no-such-profile", None),
    "hitch": (f"/hitch?profile={MILL}", None),
    "hitch, gooseneck": ("/hitch?profile=logs-on-the-gooseneck", None),
    "hitch, stop": ("/hitch?profile=slabs-on-friday", open_all),
    "hitch, lopsided": ("/hitch?profile=saw-crew-all-on-the-left", None),
    "weigh": ("/weigh", None),
    "weigh, slips": ("/weigh?slip=band-mill-at-the-quarry", open_all),
    "trim": (f"/trim?profile={MILL}", None),
    "trim, read": (f"/trim?profile={MILL}", read_and_open),
    "air": (f"/air?profile={MILL}", open_all),
    "trailer": ("/garage?trailer=log-deck", open_all),
    "trailer, mill": ("/garage?trailer=band-mill", None),
    "trailer, slabs": ("/garage?trailer=slab-hauler", None),
    "truck": ("/garage?truck=_new", None),
    "truck, own": ("/garage?truck=yard-truck", open_all),
    "method": ("/method", open_all),
}
