"""Profiles as one page for a phone: one file, nothing from outside, no script; a name is tapped and its numbers stand.

A profile is a ``details`` element: it opens without a script, a style sheet or a link that has to be followed, in
whatever a phone shows a saved file with. Where the browser can, the others go away while one is open.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from typing import Final

from planner.errors import Refusal
from planner.plans.answer import AXLES, SIDES
from planner.show.drawings.corner_labels import NO_BAG
from planner.show.drawings.palette import DARK, LIGHT, MARKS, WORDS, Ink
from planner.show.text.card import CAUTIONS, LEFT_OUT, Carried, cut_text

MOST_BYTES: Final = 150_000  # so that it is sent and opened at once by any phone
MOST_PROFILES: Final = 400  # more than fit, however short their names
LONGEST_LINE, MOST_TOLD = 300, 60  # characters, and lines, on profiles left out
NO_ROOM: Final = "{} more: this page holds no more, choose fewer profiles"
_LONG: Final = 4  # characters of a number from which all are set smaller: "3.17"

# The little truck tells the corners apart; it is not to scale, and every profile uses this one drawing.
_TRUCK: Final = (
    '<svg width="0" height="0" style="position:absolute" aria-hidden="true"><symbol id="truck" viewBox="0 0 56 130">'
    '<g fill="none" stroke="currentColor" stroke-width="2" stroke-linejoin="round"><path d="M28 1v10M24 6l4-5 4 5"/>'
    '<path d="M12 124V28Q28 6 44 28V124ZM12 70H44"/><path d="M12 40H44M12 102H44" stroke-dasharray="7 3 2 3"/>'
    '<g fill="var(--paper)"><rect x="3" y="28" width="9" height="24" rx="3"/>'
    '<rect x="44" y="28" width="9" height="24" rx="3"/><rect x="3" y="90" width="9" height="24" rx="3"/>'
    '<rect x="44" y="90" width="9" height="24" rx="3"/></g></g></symbol></svg>'
)
_STYLE: Final = """
:root{color-scheme:light dark;LIGHT}
@media (prefers-color-scheme:dark){:root{DARK}}
*{box-sizing:border-box}
body{margin:0 auto;padding:.8rem;max-width:44rem;background:var(--paper);color:var(--ink);
font:1.15rem/1.4 system-ui,sans-serif;font-variant-numeric:tabular-nums;overflow-wrap:anywhere}
h1{font-size:1.4rem;margin:.2rem 0}
p{margin:.3rem 0}
.soft{color:var(--soft)}
details{border-top:1px solid var(--soft)}
summary{position:relative;cursor:pointer;padding:.9rem .2rem;min-height:3.5rem;font-size:1.3rem;
font-weight:650;list-style-position:inside}
details[open] summary{padding-right:3.6rem}
summary small{display:block;font-size:1.05rem;font-weight:400;color:var(--soft)}
summary:focus-visible{outline:3px solid var(--air)}
details[open] summary::after{content:"close";position:absolute;right:.2rem;top:1rem;
font-size:1.05rem;font-weight:400;color:var(--air)}
body:has(details[open]) details:not([open]),body:has(details[open]) header{display:none}
.corners{display:grid;grid-template-columns:1fr minmax(0,11vw) 1fr;
grid-template-rows:auto auto;gap:1.2rem .4rem;margin:.4rem 0}
.corners svg{grid-area:1/2/3/3;width:100%;height:100%;max-height:22rem;align-self:center;color:var(--soft)}
.corners>div:nth-of-type(even){text-align:right}
.corners span{display:block;color:var(--soft)}
.corners b{font-size:min(20vw,8.5rem);line-height:1}
.long b{font-size:min(12.5vw,5.6rem)}
.corners b.steel{font-size:min(9vw,4rem);color:var(--soft)}
.corners i,.heights i{font-style:normal;color:var(--soft)}
.heights{display:grid;grid-template-columns:1fr 1fr;gap:.4rem}
.heights span{display:block;color:var(--soft)}
.heights b{font-size:2.2rem;line-height:1.1}
ul{list-style:none;margin:.6rem 0;padding:0}
.stop{color:var(--brick)}.caution{color:var(--ochre)}.note{color:var(--soft)}
footer{border-top:1px solid var(--soft);margin-top:1rem;padding-top:.4rem}
@media print{details:not([open]){display:none}}
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
        If there is nothing to show, or the page would be larger than 150 kB.
    """
    if not cards and not left_out:
        raise Refusal("a pocket page needs at least one profile", "none", "name a profile")
    page = "\n".join((*_head(), *(_profile(card, single=len(cards) == 1) for card in cards), *_foot(left_out)))
    if (size := len(page.encode())) > MOST_BYTES:
        fit = max(int(len(cards) * MOST_BYTES / size), 1)
        got = f"{size // 1000} kB for {len(cards)} profiles"
        raise Refusal(f"a pocket page must be <= {MOST_BYTES // 1000} kB", got, f"choose about {fit}")
    return page


def fitting(cards: Sequence[Carried], left_out: Sequence[str] = (), *, beyond: int = 0) -> str:
    """Return one HTML page with the first profiles given, as many as fit; it tells what it leaves out.

    ``beyond`` is the number of profiles after the last card that were not even looked at.
    """
    told = [cut_text(line, LONGEST_LINE) for line in left_out[:MOST_TOLD]]
    room, kept = MOST_BYTES - len("\n".join((*_head(), *_foot([*told, NO_ROOM.format(10**9)]))).encode()), 0
    for card in cards:
        room -= len(_profile(card, single=True).encode()) + 1
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
    yield f"<style>{_STYLE.replace('LIGHT', ink_variables(LIGHT)).replace('DARK', ink_variables(DARK))}</style></head>"
    yield f"<body>{_TRUCK}"
    yield '<header><h1>Bag pressures</h1><p class="soft">Tap a name; its numbers need no network.</p></header><main>'


def ink_variables(ink: Ink) -> str:
    """Return the inks of a paper as the style sheet names them."""
    names = ("paper", "ink", "soft", "air", "ochre", "brick")
    return ";".join(f"--{name}:{getattr(ink, name)}" for name in names)


def _foot(left_out: Sequence[str]) -> Iterator[str]:
    """Everything after the last profile."""
    if left_out:
        lines = "".join(f"<li>{_bidi(cut_text(line, LONGEST_LINE))}</li>" for line in left_out)
        yield f'<p class="stop">{escape(LEFT_OUT)}</p><ul class="soft">{lines}</ul>'
    cautions = "".join(f'<li class="caution">{MARKS["caution"]} {escape(words)}</li>' for words in CAUTIONS)
    yield f"</main><footer><ul>{cautions}</ul></footer></body></html>\n"


def _profile(card: Carried, *, single: bool) -> str:
    """Return a profile: its name to tap, its numbers behind it; the only one stands open."""
    mark = f'<span class="stop">{MARKS["stop"]} </span>' if card.stopped else ""
    summary = f"<summary>{mark}<bdi>{escape(card.name)}</bdi><small>{_bidi(card.outfit)}</small></summary>"
    last = "".join(f'<p class="soft">{escape(words)}</p>' for words in (card.air, card.status) if words)
    parts = (_corners(card), _heights(card), _findings(card), last)
    return f'<details name="profile"{" open" if single else ""}>{summary}{"".join(parts)}</details>'


def _bidi(words: str) -> str:
    """Return a text that keeps to its own direction, whatever is around it."""
    return f"<bdi>{escape(words)}</bdi>"


def _corners(card: Carried) -> str:
    """Return the pressures as the truck stands seen from above, front at the top."""
    numbers = [len(one.number) for row in card.rows for one in row if one is not None]
    long = " long" if max(numbers, default=0) >= _LONG else ""
    cells = "".join(
        f"<div><span>{axle} {side}</span>{_pressure(card, k, i)}</div>"
        for k, axle in enumerate(AXLES)
        for i, side in enumerate(SIDES)
    )
    truck = '<svg aria-hidden="true"><use href="#truck"/></svg>'
    return f'<div class="corners{long}">{truck}{cells}</div>'


def _pressure(card: Carried, k: int, i: int) -> str:
    """Return one pressure in large type, or that steel carries the corner."""
    written = card.rows[k][i]
    if written is None:
        return f'<b class="steel">{NO_BAG}</b>'
    return f"<b>{escape(written.number)}</b><i> {escape(written.unit)}</i>"


def _heights(card: Carried) -> str:
    """Return how high the hitch is to back under and to tow, and what else backing under takes."""
    if not card.heights:
        return ""
    cells = "".join(
        f"<div><span>{escape(card.part)}, {escape(one.when)}</span><b>{escape(one.written.number)}</b>"
        f"<i> {escape(one.written.unit)}</i></div>"
        for one in card.heights
    )
    remark = f'<p class="caution">{MARKS["caution"]} {escape(card.remark)}</p>' if card.remark else ""
    return f'<div class="heights">{cells}</div>{remark}'


def _findings(card: Carried) -> str:
    """Return the worst findings, each with its mark and word."""
    if not card.findings:
        return '<p class="soft">No findings.</p>'
    lines = "".join(
        f'<li class="{severity}"><b>{MARKS[severity]} {WORDS[severity]}</b> {_bidi(words)}</li>'
        for severity, words in card.findings
    )
    more = f'<li class="soft">{escape(card.more_words)}</li>' if card.more else ""
    return f"<ul>{lines}{more}</ul>"
