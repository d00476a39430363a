"""A fleet as one page of HTML: one file, nothing from outside, no script; a trailer is tapped and its trucks stand."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from typing import Final

from planner.errors import Refusal
from planner.plans.fleet import Fleet
from planner.show.drawings.fleet_matrix import SAID, SIGNS, WORDS, look_of
from planner.show.drawings.palette import DARK, LIGHT
from planner.show.drawings.svg import clean
from planner.show.paper.phone_page import POLICY, ink_variables
from planner.show.text.fleet import BARE, Pair, by_most_taken, fleet_line, pair_sentences, trucks_for
from planner.show.text.numbers import say
from planner.units.quantity import System

MOST_PAIRS: Final = 20_000  # some 8 MB; a browser lays out no more in one go
_STYLE: Final = """
:root{color-scheme:light dark;LIGHT}
@media (prefers-color-scheme:dark){:root{DARK}}
*{box-sizing:border-box}
body{margin:0 auto;padding:.8rem;max-width:80rem;background:var(--paper);color:var(--ink);
font:1rem/1.4 system-ui,sans-serif;font-variant-numeric:tabular-nums;overflow-wrap:anywhere}
h1{font-size:1.4rem;margin:.2rem 0}h2{font-size:1.15rem;margin:1.4rem 0 .3rem}
p{margin:.3rem 0}.soft{color:var(--soft)}
.wide{overflow:auto;max-height:85vh}
table{border-collapse:collapse}
th,td{padding:.3rem .5rem;border-bottom:1px solid var(--soft);text-align:left;vertical-align:bottom;font-weight:400}
thead :is(th,td){position:sticky;top:0;background:var(--paper);z-index:1;min-width:4.5rem}
.matrix th[scope=row]{position:sticky;left:0;background:var(--paper);max-width:11rem}
.matrix td{text-align:center}
.level,.stays{color:var(--air);font-weight:650}.stopped{color:var(--brick)}.none{color:var(--soft)}
ul{list-style:none;margin:0;padding:0;display:grid;gap:.6rem 2rem;
grid-template-columns:repeat(auto-fill,minmax(20rem,1fr))}
li,li[class]{color:var(--ink);font-weight:400;margin-bottom:.5rem}
li.stopped b{color:var(--brick)}
details{border-top:1px solid var(--soft)}
summary{cursor:pointer;padding:.7rem .2rem;font-weight:650}
summary small{font-weight:400;color:var(--soft)}
summary:focus-visible{outline:3px solid var(--air)}
@media (max-width:40rem){th,td{padding:.3rem .25rem;font-size:.9rem}}
@media print{.wide{overflow:visible;max-height:none}}
"""


def fleet_page(fleet: Fleet, system: System) -> str:
    """Return a fleet as one HTML page: the matrix, then the trucks of each trailer.

    Raises
    ------
    Refusal
        If it has more pairs than a browser shows.
    """
    refuse_long(fleet.done * len(fleet.trailers))
    return "\n".join((*_head(fleet), *_matrix(fleet), *_lists(fleet, system), *_foot()))


def refuse_long(pairs: int) -> None:
    """Refuse a page of more pairs than a browser shows."""
    if pairs > MOST_PAIRS:
        raise Refusal(f"a page of a fleet must have <= {MOST_PAIRS:,} pairs", f"{pairs:,}", "write a .csv or .parquet")


def _head(fleet: Fleet) -> Iterator[str]:
    style = _STYLE.replace("LIGHT", ink_variables(LIGHT)).replace("DARK", ink_variables(DARK))
    yield '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
    yield '<meta name="viewport" content="width=device-width,initial-scale=1">'
    yield f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">'
    yield f"<title>Trucks and trailers</title><style>{style}</style></head><body>"
    yield f"<header><h1>Trucks and trailers</h1><p>{escape(fleet_line(fleet))}.</p>"
    yield f'<p class="soft">{escape(BARE)}</p></header><main>'


def _matrix(fleet: Fleet) -> Iterator[str]:
    """Yield who takes what, the trucks that take most first."""
    key = "; ".join(f"{sign} {WORDS[look]}" for look, sign in SIGNS.items())
    heads = "".join(f'<th scope="col">{_name(one.name)}</th>' for one in fleet.trailers)
    yield f"<h2>Who takes what</h2><p>{escape(key)}.</p>"
    yield f'<div class="wide"><table class="matrix"><thead><tr><td></td>{heads}</tr></thead><tbody>'
    for truck in by_most_taken(fleet):
        looks = [look_of(fleet, truck, trailer) for trailer in range(len(fleet.trailers))]
        cells = "".join(f'<td class="{look}" title="{WORDS[look]}">{SIGNS[look]}</td>' for look in looks)
        yield f'<tr><th scope="row">{_name(fleet.trucks[truck].name)}</th>{cells}</tr>'
    yield "</tbody></table></div>"


def _lists(fleet: Fleet, system: System) -> Iterator[str]:
    """Yield the trucks of each trailer."""
    yield "<h2>Who takes this trailer</h2>"
    for n, trailer in enumerate(fleet.trailers):
        pairs = trucks_for(fleet, n, system)
        count = sum(one.takes for one in pairs)
        words = f"{say(trailer.weight, 'weight', system)}, {count} of {len(pairs)} trucks"
        yield f"<details><summary>{_name(trailer.name)} <small>{escape(words)}</small></summary>"
        yield f"<ul>{''.join(_line(fleet, one, system) for one in pairs)}</ul></details>"


def _line(fleet: Fleet, one: Pair, system: System) -> str:
    """Return a truck's line: whether it takes the trailer, and what there is to say of it."""
    look = look_of(fleet, one.truck, one.trailer)
    name = f"<b>{SIGNS[look]} {_name(fleet.trucks[one.truck].name)}</b>"
    return f'<li class="{look}">{name} {SAID[look]}<br><span>{escape(pair_sentences(one, system))}</span></li>'


def _name(name: str) -> str:
    return f"<bdi>{escape(clean(name))}</bdi>"


def _foot() -> Iterator[str]:
    yield "</main></body></html>\n"
