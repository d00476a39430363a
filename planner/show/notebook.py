"""An answer as a notebook shows it: the truck from above, or HTML with nothing from outside and no script."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape
from typing import Final

from planner.plans.answer import AXLES, SIDES, Answer
from planner.plans.setup import Setup
from planner.show.drawings.corner_labels import NO_BAG, corner_rows
from planner.show.drawings.svg import Drawing, data_uri
from planner.show.drawings.top_view import from_above
from planner.show.text.numbers import say, sentence
from planner.show.text.report import outfit_line
from planner.show.text.words import marked, standing
from planner.units.quantity import System

WIDTH: Final = 300  # px of the picture


def draw_answer(answer: Answer) -> Drawing:
    """Return the truck from above with its pressures, in the units of its own gauge."""
    setup = _setup(answer)
    return from_above(setup, answer, _system(setup))


def answer_html(answer: Answer) -> str:
    """Return an answer as HTML: the pressures as the truck stands seen from above, its stance, findings, a picture.

    The picture is an image of its own (a data URI), so that its ids and styles touch nothing else on the page.
    """
    setup, drawn = _setup(answer), draw_answer(answer)
    system = _system(setup)
    return (
        '<div style="display:flex;flex-wrap:wrap;gap:1em;align-items:flex-start"><div style="max-width:36em">'
        f"<p><b>{escape(outfit_line(setup))}</b></p>"
        f"{''.join(_table(setup, answer, system))}<p>Stands {standing(answer.set.stance, setup, system)}.</p>"
        f"{''.join(_findings(answer, system))}</div>"
        f'<img width="{WIDTH}" alt="{escape(drawn.alt)}" src="{data_uri(drawn.svg)}"/></div>'
    )


def _setup(answer: Answer) -> Setup:
    assert answer.setup is not None  # the answer has asked
    return answer.setup


def _system(setup: Setup) -> System:
    return "us" if "psi" in setup.truck.instruments.gauge_step.text.lower() else "metric"


def _table(setup: Setup, answer: Answer, system: System) -> Iterator[str]:
    """Yield the pressures of the four corners, and what each stands on the ground with."""
    step = float(setup.truck.instruments.gauge_step)
    what = "Now reads, the valves shut" if answer.set.sealed else "Set"
    heads = [*SIDES, *(f"{side} tyre carries" for side in SIDES)]
    yield f"<table><caption>{what}, seen from above</caption><tr><td></td>{_cells('th', heads, 'col')}</tr>"
    for name, row, loads in zip(AXLES, corner_rows(answer.set.pressure, system, step), answer.tyre_load, strict=True):
        gauge = [str(one) if one else NO_BAG for one in row]
        tyres = [say(float(load), "load", system) for load in loads]
        yield f"<tr>{_cells('th', [name], 'row')}{_cells('td', [*gauge, *tyres])}</tr>"
    yield "</table>"


def _cells(kind: str, texts: Sequence[str], scope: str = "") -> str:
    start = f'<{kind} scope="{scope}">' if scope else f'<{kind} style="padding:.2em .6em">'
    return "".join(f"{start}{escape(text)}</{kind}>" for text in texts)


def _findings(answer: Answer, system: System) -> Iterator[str]:
    """Yield the findings, worst first."""
    if not answer.findings:
        yield "<p>No findings.</p>"
        return
    lines = (f"<li><b>{marked(one.level)}</b> {escape(sentence(one, system))}</li>" for one in answer.findings)
    yield f"<ul>{''.join(lines)}</ul>"
