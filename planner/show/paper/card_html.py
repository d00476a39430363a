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
from planner.show.text.card import UNHITCHED, Carried, CarriedStage, Rows
from planner.show.text.numbers import Written

LEVELS_NOW: Final = ("", "saved", "levels it now")
CHANGED: Final = "truck, trailer or load changed since these pressures were saved."
LOADED: Final = "Unhitched, with the load that the truck carries:"
_SHORT: Final = 2  # characters of a number that are set largest: "46"; longer ones smaller, so that both sides fit

_TRUCK: Final = '<em class="truck" aria-hidden="true"></em>'  # tells the corners apart; not to scale
# Sizes follow the width there is; where a browser does not know cqw, the width of the screen.
STYLE: Final = """
.ramp{container-type:inline-size;color:var(--ink);font-size:1.1rem;line-height:1.35;
font-variant-numeric:tabular-nums;overflow-wrap:anywhere}
.ramp h2{font-size:1.4rem;line-height:1.2;font-weight:650;margin:0;padding:0}
.ramp p{margin:.3rem 0;font-size:inherit}
.ramp .soft{color:var(--soft)}
.ramp .halt{border:3px solid var(--brick);padding:.35rem .6rem;margin:0 0 .6rem}
.ramp .halt>p{font-size:1.35rem;text-wrap:balance;line-height:1.2;font-weight:650}
.ramp ul,.ramp ol{margin:.4rem 0;padding:0;font-size:inherit}
.ramp ul{list-style:none}
.ramp ol{padding-left:1.5rem}
.ramp li{margin:0 0 .35rem;padding:0;font-size:inherit}
.ramp .mark.stop,.ramp .stop b{color:var(--brick)}
.ramp .mark.caution,.ramp .caution b{color:var(--ochre)}
.ramp .note b{color:var(--soft)}
.ramp .hazard{border-left:4px solid var(--ochre);padding:.1rem 0 .1rem .7rem}
.corners{display:grid;grid-template-columns:1fr minmax(0,11%) 1fr;gap:.7rem .4rem;margin:.5rem 0}
.truck{grid-area:1/2/3/3;position:relative;justify-self:center;width:1.6rem;margin:.4rem 0;
border:2px solid var(--soft);border-radius:.8rem .8rem 2px 2px/1.2rem 1.2rem 2px 2px}
.truck::before,.truck::after{content:"";position:absolute;left:-.7rem;right:-.7rem;height:1.5rem;
border:solid var(--soft);border-width:0 .4rem}
.truck::before{top:16%}
.truck::after{bottom:10%}
.corners>div:nth-of-type(even){text-align:right}
.corners span,.heights span{display:block}
.corners b{white-space:nowrap;font-size:min(20vw,8.5rem);font-size:min(22cqw,8.5rem);line-height:1;font-weight:650}
.corners.long b{font-size:min(12.5vw,5.6rem);font-size:min(13cqw,5.6rem)}
.corners b.steel{font-size:1.6rem;font-weight:400;line-height:1.4}
.halted .corners b,.corners.less b{font-size:min(14vw,4.2rem);font-size:min(14cqw,4.2rem)}
.halted .corners.long b,.corners.less.long b{font-size:min(11vw,3.2rem);font-size:min(11cqw,3.2rem)}
.halted .corners b.steel,.corners.less b.steel{font-size:1.3rem}
.corners i,.heights i{font-style:normal}
.heights{display:grid;grid-template-columns:1fr 1fr;gap:.4rem;margin:.3rem 0}
.heights b{font-size:1.9rem;line-height:1.1;font-weight:650}
.ramp table{border-collapse:collapse;width:100%;margin:.3rem 0;font-size:1.05rem}
.ramp caption{text-align:left;padding:0 0 .1rem;color:var(--ink);font-size:inherit}
.ramp th,.ramp td{text-align:right;vertical-align:bottom;padding:.2rem 0 .2rem .3rem;font-weight:400;
border:0;border-top:1px solid var(--soft);line-height:1.15;color:var(--ink)}
.ramp th:first-child{text-align:left;padding-left:0;white-space:nowrap}
.ramp td{font-weight:650;white-space:nowrap}
.stale td:nth-child(2){font-weight:400}
@container (max-width:23rem){.ramp table{font-size:1rem}.ramp th,.ramp td{padding-left:.2rem}}
"""


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
    heads = "".join(f'<th scope="col">{words}</th>' for words in LEVELS_NOW)
    rows = "".join(
        f'<tr><th scope="row">{escape(corner)}</th><td>{escape(old)}</td><td>{escape(new)}</td></tr>'
        for corner, old, new in outdated
    )
    said = f'<p class="caution"><b>{MARKS["caution"]} Re-level:</b> {CHANGED}</p>'
    return f'{said}<table class="stale"><tr>{heads}</tr>{rows}</table>'


def named(card: Carried) -> str:
    """Return whose numbers these are: the profile, its truck and trailer, when it was saved and trimmed."""
    return (
        f"<h2>{bidi(card.name)}</h2><p>{bidi(card.outfit)}</p><p>{escape(card.status)} {escape(card.trimmed_words)}</p>"
    )


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
