"""Profiles as one page for a phone: one file, nothing from outside, no script; a name is tapped and its numbers stand.

It is for the ramp where there is no network, so nothing is left for the planner: pressures, heights, every finding,
each stage of hitching, the way off the trailer. A profile and each of its stages is a ``details`` element: it opens
without a script, a style sheet or a link that has to be followed, in whatever a phone shows a saved file with. Where
the browser can, the others go away while one is open: who stands at the valves does not read another's numbers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from typing import Final

from planner.errors import Refusal
from planner.show.drawings.palette import DARK, LIGHT, MARKS, Ink
from planner.show.paper import card_html
from planner.show.paper.card_html import bidi
from planner.show.text.card import CAUTIONS, LEFT_OUT, UNHITCHED, Carried, CarriedStage, cut_text
from planner.show.text.hitching import UNHITCHING
from planner.show.text.words import AIR_MOVES

MOST_BYTES: Final = 300_000  # so that it is sent and opened at once by any phone
MOST_PROFILES: Final = 100  # that are worked out for a page: more than fit of those with a trailer
LONGEST_LINE, MOST_TOLD = 300, 60  # characters, and lines, on profiles left out
NO_ROOM: Final = "{} more: this page holds no more, choose fewer profiles"
BACK: Final = "Unhitch, the same way back"

_STYLE: Final = """
:root{color-scheme:light dark;LIGHT}
@media (prefers-color-scheme:dark){:root{DARK}}
*{box-sizing:border-box}
body{margin:0 auto;padding:.8rem;max-width:44rem;background:var(--paper);color:var(--ink);
font:1.1rem/1.4 system-ui,sans-serif;overflow-wrap:anywhere}
h1{font-size:1.4rem;margin:.2rem 0}
p{margin:.3rem 0}
.soft{color:var(--soft)}
details{border-top:1px solid var(--soft)}
summary{position:relative;cursor:pointer;padding:.9rem .2rem;min-height:3.5rem;font-size:1.3rem;
font-weight:650;list-style-position:inside}
summary small{display:block;font-size:1.05rem;font-weight:400}
summary .stop{color:var(--brick)}
details[open]>summary{padding-right:3.6rem}
details[open]>summary::after{content:"close";position:absolute;right:.2rem;top:1rem;
font-size:1.05rem;font-weight:400;color:var(--air)}
summary:focus-visible{outline:3px solid var(--air)}
body:has(main>details[open]) main>details:not([open]){display:none}
body:has(main>details[open]) header{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
.ramp:has(>details[open])>:not(details,.halt){display:none}
footer{border-top:1px solid var(--soft);margin-top:1rem;padding-top:.4rem}
footer ul{list-style:none;margin:.6rem 0;padding:0}
footer b{color:var(--ochre)}
@media print{main>details:not([open]){display:none}details::details-content{content-visibility:visible}}
"""
POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'"  # whatever a name holds, nothing is fetched or run


def pocket(cards: Sequence[Carried], left_out: Sequence[str] = ()) -> str:
    """Return one HTML page with all profiles given, in their order.

    Parameters
    ----------
    cards : at least one, if nothing is left out
    left_out : lines on profiles that are not in it

    Raises
    ------
    ValueError
        If there is nothing to show, or the page would be larger than 300 kB.
    """
    if not cards and not left_out:
        raise Refusal("a page for a phone needs at least one profile", "none", "name a profile")
    profiles = (_profile(card, place, single=len(cards) == 1) for place, card in enumerate(cards))
    page = "\n".join((*_head(), *profiles, *_foot(left_out)))
    if (size := len(page.encode())) > MOST_BYTES:
        fit = max(int(len(cards) * MOST_BYTES / size), 1)
        got = f"{size // 1000} kB for {len(cards)} profiles"
        raise Refusal(f"a page for a phone must be <= {MOST_BYTES // 1000} kB", got, f"choose about {fit}")
    return page


def fitting(cards: Sequence[Carried], left_out: Sequence[str] = (), *, beyond: int = 0) -> str:
    """Return one HTML page with the first profiles given, as many as fit; it tells what it leaves out.

    ``beyond`` is the number of profiles after the last card that were not even looked at.
    """
    told = [cut_text(line, LONGEST_LINE) for line in left_out[:MOST_TOLD]]
    room, kept = MOST_BYTES - len("\n".join((*_head(), *_foot([*told, NO_ROOM.format(10**9)]))).encode()), 0
    for card in cards:
        room -= len(_profile(card, kept, single=True).encode()) + 1
        if room < 0:
            break
        kept += 1
    beyond += len(cards) - kept + len(left_out) - len(told)
    return pocket(cards[:kept], [*told, NO_ROOM.format(beyond)] if beyond else told)


def _head() -> Iterator[str]:
    """Everything before the first profile."""
    yield '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
    yield '<meta name="viewport" content="width=device-width,initial-scale=1">'
    yield f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'
    yield "<title>Bag pressures</title>"
    style = _STYLE.replace("LIGHT", ink_variables(LIGHT)).replace("DARK", ink_variables(DARK))
    yield f"<style>{style}{card_html.STYLE}</style></head><body>"
    yield '<header><h1>Bag pressures</h1><p class="soft">Tap a name; its numbers need no network.</p></header><main>'


def ink_variables(ink: Ink) -> str:
    """Return the inks of a paper as the style sheet names them."""
    names = ("paper", "ink", "soft", "air", "ochre", "brick")
    return ";".join(f"--{name}:{getattr(ink, name)}" for name in names)


def _foot(left_out: Sequence[str]) -> Iterator[str]:
    """Everything after the last profile."""
    if left_out:
        lines = "".join(f"<li>{bidi(cut_text(line, LONGEST_LINE))}</li>" for line in left_out)
        yield f'<p class="stop">{escape(LEFT_OUT)}</p><ul class="soft">{lines}</ul>'
    cautions = "".join(f"<li><b>{MARKS['caution']}</b> {escape(words)}</li>" for words in CAUTIONS)
    yield f"</main><footer><ul>{cautions}</ul></footer></body></html>\n"


def _profile(card: Carried, place: int, *, single: bool) -> str:
    """Return a profile: its name to tap, its numbers behind it; the only one stands open."""
    mark = f'<span class="stop">{MARKS["stop"]} </span>' if card.stopped else ""
    summary = f"<summary>{mark}{bidi(card.name)}<small>{bidi(card.outfit)}</small></summary>"
    return (
        f'<details name="profile"{" open" if single else ""}>{summary}'
        f'<div class="ramp{" halted" if card.stopped else ""}">{"".join(_parts(card, place))}</div></details>'
    )


def _parts(card: Carried, place: int) -> Iterator[str]:
    """All of a profile: what says stop before any number, numbers, findings, the way on and off the trailer."""
    yield card_html.halt(card)
    yield card_html.stale(card.stale)
    yield card_html.corners(card.rows)
    yield card_html.hazard(AIR_MOVES)
    yield card_html.heights(card)
    yield card_html.listed(card.others) or ("" if card.stopped else '<p class="soft">No findings.</p>')
    for count, one in enumerate(card.stages, start=1):
        height = "" if one.height is None else f": {card.part} at {one.height}"
        yield _opening(f"{count} {one.name}{height}", card_html.stage(card, one), place)
    if card.unhitched is not None:
        yield _opening(BACK, _way_back(card, card.unhitched), place)
    for words in (*card.last_lines, card.trimmed_words):
        yield f"<p>{escape(words)}</p>"


def _opening(words: str, inside: str, place: int) -> str:
    """Return what opens under a heading; of one profile one at a time."""
    return f'<details name="stage-{place}"><summary>{escape(words)}</summary>{inside}</details>'


def _way_back(card: Carried, unhitched: CarriedStage) -> str:
    """Return the way off the trailer, with the pressures that it goes through."""
    steps = "".join(f"<li>{escape(step)}</li>" for step in UNHITCHING)
    alone = f"<h2>{UNHITCHED.capitalize()}</h2>{card_html.stage(card, unhitched)}"
    return f"<ol>{steps}</ol>{card_html.stage_table(card)}{alone}"
