"""A card as HTML: what to set at the ramp, read at arm's length in the sun.

The screen that shows one profile and the page for a phone are both made of these parts. Their colours are variables,
named as in `palette.Ink`, which the page around them sets; every number is in ink on paper, and nothing that is acted
upon is under 16 px.
"""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from typing import Final

from planner.plans.answer import AXLES, SIDES, Severity
from planner.show.drawings.corner_labels import NO_BAG
from planner.show.drawings.palette import MARKS, WORDS
from planner.show.paper import CARD_RULES
from planner.show.text.card import UNHITCHED, Carried, CarriedStage, Rows
from planner.show.text.numbers import Written

LEVELS_NOW: Final = ("", "saved", "levels it now")
CHANGED: Final = "truck, trailer or load changed since these pressures were saved."
LOADED: Final = "Unhitched, with the load that the truck carries:"
_SHORT: Final = 2  # characters of a number that are set largest: "46"; longer ones smaller, so that both sides fit

_TRUCK: Final = '<em class="truck" aria-hidden="true"></em>'  # tells the corners apart; not to scale
STYLE: Final = CARD_RULES.read_text("utf-8")


def halt(card: Carried) -> str:
    """Return what says do not drive like this, and each reason; empty where nothing does."""
    if not card.stopped:
        return ""
    reasons = "".join(f'<li class="stop">{_mark("stop")} {bidi(words)}</li>' for _, words in card.stops)
    return f'<div class="halt"><p>{_mark("stop")} {escape(card.stop_words)}</p><ul>{reasons}</ul></div>'


def stale(outdated: Sequence[tuple[str, str, str]]) -> str:
    """Return saved pressures that are out of date beside those that level the truck now; empty where none are."""
    if not outdated:
        return ""
    heads = "".join(f'<th scope="col">{words}</th>' if words else "<td></td>" for words in LEVELS_NOW)
    rows = "".join(
        f'<tr><th scope="row">{escape(corner)}</th><td>{escape(old)}</td><td>{escape(new)}</td></tr>'
        for corner, old, new in outdated
    )
    said = f'<p class="caution"><b>{MARKS["caution"]} Re-level:</b> {CHANGED}</p>'
    return f'{said}<table class="stale"><tr>{heads}</tr>{rows}</table>'


def named(card: Carried, heading: str = "h2") -> str:
    """Return whose numbers these are: the profile, its truck and trailer, when it was saved and trimmed."""
    name = f"<{heading}>{bidi(card.name)}</{heading}>"
    return f"{name}<p>{bidi(card.outfit)}</p><p>{escape(card.status)} {escape(card.trimmed_words)}</p>"


def corners(rows: Rows, *, less: bool = False) -> str:
    """Return pressures as the truck stands seen from above, front at the top; ``less`` large as one set of several."""
    lengths = [len(one.number) for row in rows for one in row if one is not None]
    names = ["corners", *(["less"] if less else []), *(["long"] if max(lengths, default=0) > _SHORT else [])]
    cells = "".join(
        f"<div><span>{axle} {side}</span>{_pressure(rows[k][i])}</div>"
        for k, axle in enumerate(AXLES)
        for i, side in enumerate(SIDES)
    )
    return f'<div class="{" ".join(names)}">{_TRUCK}{cells}</div>'


def heights(card: Carried) -> str:
    """Return how high the hitch is to back under and to tow, and what else backing under takes."""
    if not card.heights:
        return ""
    cells = "".join(_height(f"{card.part}, {one.when}", one.written) for one in card.heights)
    remark = f'<p class="caution">{_mark("caution")} {escape(card.remark)}</p>' if card.remark else ""
    return f'<div class="heights">{cells}</div>{remark}'


def stage_table(card: Carried) -> str:
    """Return the pressures and the hitch's height at every stage, and unhitched; empty with no trailer."""
    if not card.stages:
        return ""
    all_stages = (*card.stages, *([card.unhitched] if card.unhitched else []))
    axles = [k for k, row in enumerate(card.rows) if any(row)]  # one on steel has nothing to set, and takes room
    units = {one.unit for row in card.rows for one in row if one is not None}
    tall = {one.height.unit for one in all_stages if one.height is not None}
    corner_heads = "".join(f'<th scope="col">{AXLES[k]} {side}</th>' for k in axles for side in SIDES)
    lines = "".join(_table_line(stage, axles) for stage in all_stages)
    far = [f"{stage.name}: {stage.remark}" for stage in card.stages if stage.remark]
    said = "".join(f'<p class="caution">{_mark("caution")} {escape(words)}</p>' for words in far)
    heads = (
        f'<th scope="col">stage</th><th scope="col">{escape(", ".join((card.part, *sorted(tall))))}</th>{corner_heads}'
    )
    caption = f"<caption>Stage by stage, {escape(' '.join(sorted(units)))}</caption>"
    return f"<table>{caption}<tr>{heads}</tr>{lines}</table>{said}"


def stage(card: Carried, one: CarriedStage) -> str:
    """Return one stage: what to do, pressures, height, air and its time, what to beware of."""
    parts = [f"<p>{escape(one.to_do or LOADED)}</p>", corners(one.rows, less=True)]
    if one.height is not None:
        parts.append(f'<div class="heights">{_height(f"{card.part} above ground", one.height)}</div>')
    if one.air:
        parts.append(f"<p>{escape(one.air)}.</p>")
    if one.remark:
        severity: Severity = "stop" if one.name == UNHITCHED else "caution"
        parts.append(listed(((severity, one.remark),)))
    return "".join((*parts, hazard(one.watch) if one.watch else ""))


def listed(found: Sequence[tuple[Severity, str]]) -> str:
    """Return findings, each with its mark and word; empty where there are none."""
    lines = "".join(
        f'<li class="{severity}"><b>{MARKS[severity]} {WORDS[severity]}</b> {bidi(words)}</li>'
        for severity, words in found
    )
    return f"<ul>{lines}</ul>" if lines else ""


def hazard(words: str) -> str:
    """Return a caution where the hazard is."""
    return f'<p class="hazard caution"><b>{MARKS["caution"]} {WORDS["caution"]}</b> {escape(words)}</p>'


def bidi(words: str) -> str:
    """Return a text that keeps to its own direction, whatever is around it."""
    return f"<bdi>{escape(words)}</bdi>"


def _mark(severity: Severity) -> str:
    """Return a severity's mark."""
    return f'<span class="mark {severity}" aria-hidden="true">{MARKS[severity]}</span>'


def _pressure(written: Written | None) -> str:
    """Return one pressure in large type, or that steel carries the corner."""
    if written is None:
        return f'<b class="steel">{NO_BAG}</b>'
    return f"<b>{escape(written.number)}</b><i> {escape(written.unit)}</i>"


def _height(words: str, written: Written) -> str:
    """Return one height with what it is of."""
    number, unit = escape(written.number), escape(written.unit)
    return f"<div><span>{escape(words)}</span><b>{number}</b><i> {unit}</i></div>"


def _table_line(one: CarriedStage, axles: Sequence[int]) -> str:
    """Return one stage as a line of the table, its pressures those of the axles on bags."""
    cells = (NO_BAG if written is None else written.number for k in axles for written in one.rows[k])
    height = "" if one.height is None else f"{_mark('caution') if one.remark else ''} {escape(one.height.number)}"
    row = "".join(f"<td>{cell}</td>" for cell in (height, *cells))
    return f'<tr><th scope="row">{escape(one.name)}</th>{row}</tr>'
