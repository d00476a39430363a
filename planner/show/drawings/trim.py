"""A trim as the truck stands seen from above: at each corner what to set, and where it is and will be, to scale."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np

from planner.plans.answer import AXLES, CORNERS, SIDES
from planner.plans.trim import Trim
from planner.show.drawings.dimensioning import DASHES, arrow, chain
from planner.show.drawings.palette import LIGHT
from planner.show.drawings.svg import MARGIN, SMALL, WIDTH, Anchor, Drawing, document, line, tag, text
from planner.show.text.numbers import say, write
from planner.show.text.trim import off_words
from planner.units.quantity import System

TALL: Final = 208.0  # of a corner's part of the paper
REACH: Final = 52.0  # of the farthest height from the line where it is wanted
BIG: Final = 34.0
HEAD: Final = 26.0
SCALE: Final = 62.0  # from the outer edge to the line on which heights stand
LEAST_SPAN: Final = 0.0254  # [m] that the scale reaches at the least: a truck that is level is not to look wild
BAR: Final = 7.0  # half the width of a bar's end


def trim_view(found: Trim, system: System) -> Drawing:
    """Return a trim as a drawing, all heights of it to one scale.

    Parameters
    ----------
    found : Trim
    system : "us" or "metric"

    Returns
    -------
    Drawing
        400 wide. The line is where a corner is wanted; dashes are where it is, the solid mark where it will be, and the
        bar about it holds 95 of 100.
    """
    parts = [found.off_now, found.off_after - found.half_width, found.off_after + found.half_width]
    shown = parts if found.leave is None else [found.off_now]
    span = max(LEAST_SPAN, float(np.nanmax(np.abs(shown))))
    body = [
        text("front", WIDTH / 2, 14.0, LIGHT.soft, anchor="middle"),
        chain(WIDTH / 2, 20.0, WIDTH / 2, HEAD + 2 * TALL - 8.0),
    ]
    for k in (0, 1):
        for i in (0, 1):
            body += _corner(found, k, i, HEAD + k * TALL, REACH / span, system)
    y = HEAD + 2 * TALL + 6.0
    for part in _key(found):
        body.append(text(part, WIDTH / 2, y, LIGHT.soft, anchor="middle"))
        y += 18.0
    return document("trim", y - 4.0, "Trim, from above", _alt(found, system), body)


def _key(found: Trim) -> tuple[str, ...]:
    """Return what the marks mean, a line each."""
    if found.leave is None:
        return (
            "Line: where it is wanted. Dashes: now. Solid: then,",
            "within the bar 19 times in 20. One scale for all.",
        )
    return ("Line: where it is wanted. Dashes: now.", "One scale for all.")


def _corner(found: Trim, k: int, i: int, top: float, per_metre: float, system: System) -> Iterator[str]:
    """Yield one corner: its name, what to set, what was read, and its heights beside them."""
    outer, sign = (MARGIN, 1.0) if i == 0 else (WIDTH - MARGIN, -1.0)
    anchor: Anchor = "start" if i == 0 else "end"
    x = WIDTH / 2 - sign * (WIDTH / 2 - MARGIN - SCALE - 58.0)
    middle = top + 112.0
    yield text(f"{AXLES[k]} {SIDES[i]}", outer, top + 16.0, LIGHT.soft, anchor=anchor)
    yield from _number(found, k, i, outer, top, system)
    now, after = (float(off[k, i]) * per_metre for off in (found.off_now, found.off_after))
    yield line(x - 24.0, middle, x + 24.0, middle, LIGHT.air, 1.6)
    yield line(x - 20.0, middle - now, x + 20.0, middle - now, LIGHT.ink, 2.0, dash=DASHES)
    if found.leave is None:
        half = float(found.half_width[k, i]) * per_metre
        if np.isfinite(half):
            yield line(x, middle - after - half, x, middle - after + half, LIGHT.soft, 1.4)
            for end in (-half, half):
                yield line(x - BAR, middle - after + end, x + BAR, middle - after + end, LIGHT.soft, 1.4)
        yield tag("circle", cx=x, cy=middle - after, r=4.5, fill=LIGHT.air, stroke=LIGHT.paper, stroke_width=1.0)
        if abs(after - now) > 14.0:
            way = np.pi / 2 if after < now else -np.pi / 2
            side = x - sign * 30.0
            yield line(side, middle - now, side, middle - after, LIGHT.soft)
            yield arrow(side, middle - after, float(way), LIGHT.soft)
    now_words = f"now {off_words(float(found.off_now[k, i]), system)}"
    yield text(now_words, outer, top + TALL - 44.0, LIGHT.ink, anchor=anchor)
    if found.leave is None:
        yield text(_then(found, k, i, system), outer, top + TALL - 26.0, LIGHT.ink, anchor=anchor)


def _then(found: Trim, k: int, i: int, system: System) -> str:
    """Return how far off a corner will be, and how sure that is: "then 0.1 ± 0.5 in high"."""
    words, half = off_words(float(found.off_after[k, i]), system), float(found.half_width[k, i])
    if not np.isfinite(half):
        return f"then {words}"
    amount, _, unit_and_way = words.partition(" ")
    sure = write(half, "length", system)
    if not amount.replace(".", "").isdigit():
        return f"then {words} ± {sure}"
    return f"then {amount} ± {sure.number} {unit_and_way}"


def _number(found: Trim, k: int, i: int, outer: float, top: float, system: System) -> Iterator[str]:
    """Yield the pressure to set in large type, and under it the one that was read."""
    anchor: Anchor = "start" if i == 0 else "end"
    step = float(found.setup.truck.instruments.gauge_step)
    read, asked = float(found.read_pressure[k, i]), float(found.set[k, i])
    if not np.isfinite(asked):
        yield text("steel", outer, top + 48.0, LIGHT.ink, anchor=anchor, size=20.0, bold=True)
        return
    large = read if found.leave is not None and np.isfinite(read) else asked
    written = write(large, "pressure", system, step=step)
    yield text(written.number, outer, top + 50.0, LIGHT.ink, anchor=anchor, size=BIG, bold=True)
    same = abs(read - asked) < 0.5 * step
    was = "as read" if same else f"was {say(read, 'pressure', system, step=step)}" if np.isfinite(read) else "not read"
    under = written.unit if found.leave is not None else f"{written.unit}, {was}"
    yield text(under, outer, top + 50.0 + SMALL + 6.0, LIGHT.soft, anchor=anchor)


def _alt(found: Trim, system: System) -> str:
    """Return the drawing in words."""
    step, parts = float(found.setup.truck.instruments.gauge_step), []
    for place, corner in enumerate(CORNERS):
        k, i = divmod(place, 2)
        words = f"{corner.replace('_', ' ')} is {off_words(float(found.off_now[k, i]), system)}"
        if found.leave is None:
            if np.isfinite(found.set[k, i]):
                words += f", set {say(float(found.set[k, i]), 'pressure', system, step=step)}"
            words += f", then {off_words(float(found.off_after[k, i]), system)}"
            if np.isfinite(found.half_width[k, i]):
                words += f" give or take {say(float(found.half_width[k, i]), 'length', system)}"
        parts.append(words)
    return f"Trim: {'; '.join(parts)}."
