"""The cards as printed: opened by poppler, text against the planner's numbers, fonts inside, code read by a reader."""

import os
import re
import shutil
import subprocess
from dataclasses import replace

import numpy as np
import pytest
import zxingcpp
from PIL import Image

from planner.show.paper.card_pdf import PAPERS, card_pdf
from planner.show.paper.qr_code import modules, runs
from planner.show.text.card import CAUTIONS, LEFT_OUT, said_text
from tests.show.carrying import MILL, NAMES, SLABS, demo_card, demo_cards, named_card
from tests.show.conftest import DEMO_PROFILES

DPI = 200


@pytest.fixture
def poppler(tmp_path):
    """Return a function that writes a PDF and runs one of poppler's tools on it."""
    if shutil.which("pdftotext") is None:
        missing = "poppler-utils is not on this machine: pdftotext, pdffonts, pdftoppm"
        if os.environ.get("CI"):
            pytest.fail(missing)
        pytest.skip(missing)
    file = tmp_path / "card.pdf"

    def run(data, tool, *options, after=()):
        file.write_bytes(data)
        to = ["-"] if tool == "pdftotext" else after
        done = subprocess.run([tool, *options, str(file), *to], capture_output=True, check=True)
        assert not done.stderr, done.stderr
        return done.stdout.decode()

    return run


def words_of(text):
    """Return text without regard to how lines and columns are set."""
    return " ".join(text.split())


def picture(run, tmp_path, data, page=1):
    run(data, "pdftoppm", "-r", str(DPI), "-gray", "-f", str(page), "-l", str(page), after=[str(tmp_path / "page")])
    return Image.open(next(tmp_path.glob("page-*.pgm")))


@pytest.mark.parametrize("slug", DEMO_PROFILES)
@pytest.mark.parametrize("system", ["us", "metric"])
def test_poppler_reads_the_planner_s_numbers_in_their_places(poppler, slug, system):
    card = demo_card(slug, system)
    data = card_pdf([card], "letter" if system == "us" else "a4")
    text = words_of(poppler(data, "pdftotext"))
    for part in (
        card.name,
        card.outfit,
        *card.last_lines,
        *CAUTIONS,
        *(str(height.written) for height in card.heights),
    ):
        assert part in text
    laid_out = poppler(data, "pdftotext", "-layout")
    rows = [[one.split()[0] for one in (card.corner(k, 0), card.corner(k, 1))] for k in (0, 1)]
    for left, right in rows:  # left of its right one, on the same line
        assert re.search(rf"(?m)^\s*{re.escape(left)}\b.*\s{re.escape(right)}\b", laid_out), laid_out
    assert laid_out.index("front left") < laid_out.index("rear left")


def test_findings_are_on_it_with_mark_and_word(poppler):
    card = demo_card(SLABS)
    text = words_of(poppler(card_pdf([card]), "pdftotext"))
    assert text.count("■ Stop:") == 2
    assert card.findings[0][1] in text
    assert card.more_words in text


def test_what_backing_under_takes_beside_air_is_on_it(poppler):
    card = replace(demo_card(SLABS), remark="Put the trailer's jack up by 5.1 in to back under.")
    text = words_of(poppler(card_pdf([card]), "pdftotext"))
    assert f"▲ {card.remark}" in text
    assert text.count("■ Stop:") == 2


def test_all_fonts_are_inside(poppler):
    lines = poppler(card_pdf(demo_cards()), "pdffonts").splitlines()[2:]
    assert len(lines) == 2
    for line in lines:
        assert "DejaVuSans" in line
        assert re.search(r"\byes\s+yes\s+yes\b", line)  # embedded, a subset, with a map to text


@pytest.mark.parametrize("paper", PAPERS)
def test_a_card_is_a_quarter_of_a_sheet_and_four_fill_one(poppler, paper):
    def pages(data):
        info = poppler(data, "pdfinfo")
        size = re.search(r"Page size:\s+([\d.]+) x ([\d.]+) pts", info)
        return int(re.search(r"Pages:\s+(\d+)", info)[1]), [float(one) * 25.4 / 72 for one in size.groups()]

    width, height = PAPERS[paper]
    card, six = demo_card(MILL), demo_cards()
    assert pages(card_pdf([card], paper)) == (1, pytest.approx([width / 2, height / 2], abs=0.1))
    assert pages(card_pdf([card], paper, sheet=True)) == (1, pytest.approx([width, height], abs=0.1))
    assert pages(card_pdf(six[:4], paper)) == (1, pytest.approx([width, height], abs=0.1))
    assert pages(card_pdf(six, paper)) == (2, pytest.approx([width, height], abs=0.1))
    assert pages(card_pdf(six, paper, sheet=False)) == (6, pytest.approx([width / 2, height / 2], abs=0.1))
    alone = poppler(card_pdf([card], paper, sheet=True), "pdftotext")
    assert words_of(alone).count(card.name) == 4


def test_nothing_comes_nearer_to_the_edge_than_printers_reach(poppler, tmp_path):
    for n, card in enumerate([demo_card(SLABS), demo_card(MILL, "metric"), named_card("W" * 120)]):
        folder = tmp_path / str(n)
        folder.mkdir()
        page = np.asarray(picture(poppler, folder, card_pdf([card])))
        edge = int(5.0 / 25.4 * DPI)
        inner = page[edge:-edge, edge:-edge]
        assert (page < 128).sum() == (inner < 128).sum() > 1000


@pytest.mark.parametrize("name", [None, *NAMES])
def test_the_code_is_read_from_the_printed_page_and_is_the_numbers(poppler, tmp_path, name):
    card = demo_card(SLABS, "metric") if name is None else named_card(name)
    read = zxingcpp.read_barcodes(picture(poppler, tmp_path, card_pdf([card])))
    assert [one.text for one in read] == [said_text(card)]


def test_every_card_of_a_sheet_has_its_own_code(poppler, tmp_path):
    cards = demo_cards()[:4]
    read = zxingcpp.read_barcodes(picture(poppler, tmp_path, card_pdf(cards)))
    assert {one.text for one in read} == {said_text(card) for card in cards}


def test_the_strokes_of_a_code_are_its_dark_modules():
    rows = modules("ball: tow 19 in")
    drawn = np.zeros((len(rows), len(rows)), bool)
    for y, x, length in runs(rows):
        assert not drawn[y, x : x + length].any()
        drawn[y, x : x + length] = True
    assert drawn.tolist() == rows


@pytest.mark.parametrize("name", NAMES)
def test_a_hostile_name_is_plain_text_or_a_square_for_what_the_font_lacks(poppler, recwarn, name):
    card = named_card(name)
    data = card_pdf([card])
    text = poppler(data, "pdftotext")
    assert not [one for one in recwarn if "glyph" in str(one.message)]
    for number in ("psi", *(row.number for half in card.rows for row in half)):
        assert number in text
    if name.startswith(("<", "**")):
        assert card.name[:24] in text
    assert b"/URI" not in data
    assert b"/JavaScript" not in data


def test_what_the_font_lacks_is_seen_to_be_missing(poppler):
    assert "□□ logs" in poppler(card_pdf([named_card("🪵🪚 logs")]), "pdftotext")
    assert "שלום" in poppler(card_pdf([named_card("שלום עולם")]), "pdftotext")


def test_profiles_that_are_left_out_are_told_of(poppler):
    text = words_of(poppler(card_pdf([demo_card(MILL)], left_out=["broken.toml: is not valid TOML"]), "pdftotext"))
    assert f"{LEFT_OUT} broken.toml: is not valid TOML" in text
    many = poppler(card_pdf([], left_out=["x" * 10_000] * 500), "pdftotext")
    assert LEFT_OUT in many
    assert re.search(r"and 4\d\d more", many)
    with pytest.raises(ValueError, match="at least one card"):
        card_pdf([])
