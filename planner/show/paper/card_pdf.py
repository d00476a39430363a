"""Cards for the cab as a PDF: a quarter of a sheet each, fonts inside, the numbers also as a code for a phone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final, NamedTuple

from fpdf import FPDF

from planner.errors import Refusal
from planner.plans.answer import AXLES, SIDES
from planner.show.drawings import body_shapes
from planner.show.drawings.corner_labels import NO_BAG
from planner.show.drawings.palette import LIGHT
from planner.show.paper.pen import MM_PER_POINT, Pen
from planner.show.paper.qr_code import QUIET, modules, runs
from planner.show.text.card import CAUTIONS, LEFT_OUT, Carried, PaperSize, cut_text, marked, said_text

PAPERS: Final[dict[PaperSize, tuple[float, float]]] = {"letter": (215.9, 279.4), "a4": (210.0, 297.0)}  # [mm]
FONTS: Final = Path(__file__).parent / "fonts"
MARGIN: Final = 7.0  # [mm] printers leave about 5 mm of a sheet's edge white
NAME, TEXT, SMALL, FINE = 15.0, 9.0, 8.0, 7.0  # [pt]
SIZES: Final = (40.0, 36.0, 32.0, 28.0, 24.0, 20.0)  # [pt] of the pressures, the largest that fits is taken
UNIT: Final = 12.0  # [pt]
HEIGHT: Final = 20.0  # [pt] of the hitch's heights
SKETCH: Final = (25.0, 71.0)  # [mm] from the top of the card to nose and end of the truck
BAND: Final = 21.0  # [mm] the truck's greatest width
CAP: Final = 0.73  # height of a figure, of the size of its type
CODE: Final = 28.0  # [mm] side of the code with its quiet zone
FINDING_LINES: Final = 5  # at most, of all that is found; below them the code begins
LONGEST_LINE: Final = 300  # characters told of what is wrong with a profile
SCAN: Final = "Scan: these numbers as text."


class Cell(NamedTuple):
    """The place of a card on its page. [mm]"""

    left: float
    top: float
    width: float
    height: float


def card_pdf(
    cards: Sequence[Carried], paper: PaperSize = "letter", *, sheet: bool | None = None, left_out: Sequence[str] = ()
) -> bytes:
    """Return cards as a PDF.

    Parameters
    ----------
    cards : at least one, if nothing is left out
    paper : whose quarter a card is
    sheet : four cards a page with lines to cut along, else a page each; where left out, a sheet for more than one.
        One card alone fills its sheet four times.
    left_out : lines on profiles that have no card, for a page of their own

    Raises
    ------
    ValueError
        If there is nothing to print.
    """
    if not cards and not left_out:
        raise Refusal("a PDF needs at least one card", "none", "name a profile")
    width, height = (side / 2.0 for side in PAPERS[paper])
    on_sheet = len(cards) > 1 if sheet is None else sheet
    pdf = _document((2 * width, 2 * height) if on_sheet else (width, height), len(cards))
    shown = [*cards] * 4 if on_sheet and len(cards) == 1 else [*cards]
    for place, card in enumerate(shown):
        across, down = (place % 2, place // 2 % 2) if on_sheet else (0, 0)
        if not across and not down:
            pdf.add_page()
            if on_sheet:
                _cutting_lines(Pen(pdf), width, height)
        _draw(Pen(pdf), Cell(across * width, down * height, width, height), card)
    if left_out:
        pdf.add_page()
        _left_out(Pen(pdf), Cell(0.0, 0.0, float(pdf.w), float(pdf.h)), left_out)
    return bytes(pdf.output())


def _document(size: tuple[float, float], cards: int) -> FPDF:
    """Return an empty document with its fonts."""
    pdf = FPDF(unit="mm", format=size)
    pdf.set_auto_page_break(False)
    pdf.set_margin(0)
    pdf.c_margin = 0.0  # text begins where it is put
    pdf.add_font("DejaVu", "", FONTS / "DejaVuSans.ttf")
    pdf.add_font("DejaVu", "B", FONTS / "DejaVuSans-Bold.ttf")
    pdf.set_text_shaping(True, features={"liga": False})  # joins Arabic, turns Hebrew round; no letters run together
    pdf.set_title("Cab card" if cards == 1 else "Cab cards")
    pdf.set_lang("en")
    return pdf


def _cutting_lines(pen: Pen, width: float, height: float) -> None:
    """Draw the lines to cut a sheet along."""
    for ends in ((width, 0.0, width, 2 * height), (0.0, height, 2 * width, height)):
        pen.line(*ends, LIGHT.soft, 0.2, dash=(1.5, 1.5))


def _draw(pen: Pen, cell: Cell, card: Carried) -> None:
    """Draw one card."""
    left, top, room = cell.left + MARGIN, cell.top, cell.width - 2 * MARGIN
    pen.text(card.name, left, top + 12.5, NAME, LIGHT.ink, bold=True, room=room)
    pen.text(card.outfit, left, top + 18.0, TEXT, LIGHT.soft, room=room)
    ends = _truck(pen, cell, card)
    _pressures(pen, cell, card, ends)
    _heights(pen, cell, card)
    _findings(pen, cell, card)
    _foot(pen, cell, card)


def _left_out(pen: Pen, page: Cell, lines: Sequence[str]) -> None:
    """Write which profiles have no card, as far as the page goes."""
    left, room, y = page.left + MARGIN, page.width - 2 * MARGIN, page.top + 12.5
    pen.text(LEFT_OUT, left, y, TEXT, LIGHT.brick, bold=True, room=room)
    for n, line in enumerate(lines):
        if y + 14.0 > page.height - MARGIN:
            pen.text(f"and {len(lines) - n} more", left, y + 4.0, SMALL, LIGHT.ink)
            return
        for words in pen.wrapped(cut_text(line, LONGEST_LINE), SMALL, room, 3):
            y += 4.0
            pen.text(words, left, y, SMALL, LIGHT.ink)
        y += 1.5


def _truck(pen: Pen, cell: Cell, card: Carried) -> tuple[float, float]:
    """Draw the truck from above, front up, to the scale of its own numbers; return where its axles are."""
    truck, body = card.truck, body_shapes.body(card.truck)
    tail = min(body.tail, card.hitch[0] if card.hitch else body.tail)
    nose, end = cell.top + SKETCH[0], cell.top + SKETCH[1]
    half = max(body_shapes.outer_half_width(axle) for axle, _ in body_shapes.axles(truck))
    scale = min((end - nose) / (body.nose - tail), BAND / (2 * half))
    middle, rear = cell.left + cell.width / 2, nose + body.nose * scale

    def at(x: float, y: float) -> tuple[float, float]:
        return middle - y * scale, rear - x * scale

    pen.arrow_up(middle, nose - 5.0, 3.6, LIGHT.soft)
    pen.text("front", middle + 2.0, nose - 2.0, FINE, LIGHT.soft)
    shoulder = body.nose - 0.55 * float(truck.front.tyres.unloaded_radius)
    left_side = [(body.tail, 1.0), (shoulder, 0.95), (body.nose, 0.6)]
    outline = [at(x, share * body.half_width) for x, share in left_side]
    outline += [at(x, -share * body.half_width) for x, share in reversed(left_side)]
    pen.shape(outline, LIGHT.ink, 0.45)
    cab = body_shapes.cab_back(truck)
    pen.line(*at(cab, body.half_width * 0.98), *at(cab, -body.half_width * 0.98), LIGHT.ink, 0.25)
    for axle, x in body_shapes.axles(truck):
        pen.line(*at(x, half), *at(x, -half), LIGHT.soft, 0.2, dash=(1.6, 0.7))
        for y in body_shapes.tyre_places(axle):
            radius, wide = float(axle.tyres.unloaded_radius), body_shapes.tyre_width(axle)
            corner = at(x + radius, y + wide / 2)
            pen.box(*corner, wide * scale, 2 * radius * scale, LIGHT.ink, 0.45)
    if card.hitch:
        x, y = at(*card.hitch)
        pen.line(x, min(y, rear - body.tail * scale), x, y, LIGHT.ink, 0.6)
        pen.dot(x, y, 0.9, LIGHT.ink)
    return rear - float(truck.wheelbase) * scale, rear


def _pressures(pen: Pen, cell: Cell, card: Carried, axle_lines: tuple[float, float]) -> None:
    """Write the four pressures beside the axles, as large as all of them fit."""
    column = (cell.width - 2 * MARGIN - BAND) / 2 - 2.0
    size = next((one for one in SIZES if _width(pen, card, one) <= column), SIZES[-1])
    baseline = axle_lines[0]
    for k, axle in enumerate(AXLES):
        tall = CAP * size * MM_PER_POINT
        baseline = max(axle_lines[k], cell.top + SKETCH[0] + 2.0 if k == 0 else baseline + 12.0) + tall / 2
        for i, side in enumerate(SIDES):
            x = cell.left + MARGIN if i == 0 else cell.left + cell.width - MARGIN
            pen.text(f"{axle} {side}", x, baseline - tall - 1.6, SMALL, LIGHT.soft, right=i == 1)
            _pressure(pen, card, (k, i), x, baseline, size)


def _width(pen: Pen, card: Carried, size: float) -> float:
    """Return how wide the widest of the pressures is with its unit. [mm]"""
    written = [one for row in card.rows for one in row if one is not None]
    return max(
        (pen.width(one.number, size, bold=True) + 1.2 + pen.width(one.unit, UNIT) for one in written), default=0.0
    )


def _pressure(pen: Pen, card: Carried, corner: tuple[int, int], x: float, y: float, size: float) -> None:
    """Write one pressure with its unit from the card's edge inwards, or that steel carries the corner."""
    written = card.rows[corner[0]][corner[1]]
    right = corner[1] == 1
    if written is None:
        pen.text(NO_BAG, x, y, SIZES[-1], LIGHT.soft, bold=True, right=right)
        return
    number, unit = pen.width(written.number, size, bold=True), pen.width(written.unit, UNIT)
    start = x - number - 1.2 - unit if right else x
    pen.text(written.number, start, y, size, LIGHT.ink, bold=True)
    pen.text(written.unit, start + number + 1.2, y, UNIT, LIGHT.soft)


def _heights(pen: Pen, cell: Cell, card: Carried) -> None:
    """Write how high the hitch is to back under and to tow, and what else backing under takes."""
    left, y = cell.left + MARGIN, cell.top + 77.5
    half = (cell.width - 2 * MARGIN) / 2
    for place, height in enumerate(card.heights):
        x = left + place * half
        pen.text(f"{card.part}, {height.when}", x, y, SMALL, LIGHT.soft, room=half)
        number = pen.width(height.written.number, HEIGHT, bold=True)
        pen.text(height.written.number, x, y + 7.0, HEIGHT, LIGHT.ink, bold=True)
        pen.text(height.written.unit, x + number + 1.2, y + 7.0, UNIT, LIGHT.soft)
    if not card.heights:
        pen.text("No trailer on the hitch.", left, y + 2.0, SMALL, LIGHT.soft)


def _findings(pen: Pen, cell: Cell, card: Carried) -> None:
    """Write the worst findings, a few lines each."""
    left, room, y = cell.left + MARGIN, cell.width - 2 * MARGIN, cell.top + 90.0
    if card.remark:
        pen.text(f"▲ {card.remark}", left, y, SMALL, LIGHT.ochre, room=room)
        y += 3.6
    lines = FINDING_LINES - bool(card.remark)
    for place, found in enumerate(card.worst, start=1):
        said = pen.wrapped(marked(found), SMALL, room, lines - 2 * (len(card.worst) - place))
        lines -= len(said)
        for words in said:
            pen.text(words, left, y, SMALL, LIGHT.of(found[0]))
            y += 3.6
    if not card.findings:
        pen.text("No findings.", left, y, SMALL, LIGHT.soft)
    if card.more_words:
        pen.text(card.more_words, left, y, FINE, LIGHT.soft, room=room - CODE)


def _foot(pen: Pen, cell: Cell, card: Carried) -> None:
    """Write the cautions and when it was saved, with the code beside them."""
    left, bottom = cell.left + MARGIN, cell.top + cell.height - MARGIN
    room = cell.width - 2 * MARGIN - CODE - 2.0
    lines = [*(f"▲ {caution}" for caution in CAUTIONS), *_last_lines(card)]
    y = bottom - 3.3 * (len(lines) - 1) - 1.0
    for words in lines:
        pen.text(words, left, y, FINE, LIGHT.ink if words.startswith("▲") else LIGHT.soft, room=room)
        y += 3.3
    _code(pen, cell.left + cell.width - MARGIN - CODE, bottom - CODE, said_text(card))


def _last_lines(card: Carried) -> Iterator[str]:
    """Yield what the card says of itself."""
    yield from card.last_lines
    yield SCAN


def _code(pen: Pen, x: float, y: float, said: str) -> None:
    """Draw the code, its quiet zone inside the square."""
    rows = modules(said)
    side = CODE / (len(rows) + 2 * QUIET)
    for row, column, length in runs(rows):
        pen.fill(x + (column + QUIET) * side, y + (row + QUIET) * side, length * side, side)
