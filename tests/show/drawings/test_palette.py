"""Both papers can be read: contrast by the formula of WCAG 2.2."""

import itertools

import pytest

from planner.plans.answer import SEVERITIES
from planner.show.drawings.palette import DARK, LIGHT, MARKS, WORDS
from tests.show.contrast import LINE_CONTRAST, TEXT_CONTRAST, contrast

PAPERS = {"light": LIGHT, "dark": DARK}


def test_contrast_is_that_of_the_standard():
    assert contrast("#ffffff", "#000000") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)  # the well-known grey that just fails
    assert contrast("#123456", "#123456") == 1.0


@pytest.mark.parametrize("theme", PAPERS)
@pytest.mark.parametrize("name", ["ink", "soft", "air", "ochre", "brick"])
def test_every_ink_reads_as_text_on_its_paper(theme, name):
    paper = PAPERS[theme]
    assert contrast(getattr(paper, name), paper.paper) >= TEXT_CONTRAST


@pytest.mark.parametrize("theme", PAPERS)
@pytest.mark.parametrize(
    ("line", "wash"),
    [
        ("air", "air_wash"),
        ("ochre", "ochre_wash"),
        ("brick", "brick_wash"),
        ("soft", "wash"),
        ("air", "wash"),
        ("ink", "wash"),
    ],
)
def test_every_line_shows_on_its_wash(theme, line, wash):
    paper = PAPERS[theme]
    assert contrast(getattr(paper, line), getattr(paper, wash)) >= LINE_CONTRAST


def test_severities_differ_in_word_and_mark_and_not_by_colour_alone():
    assert set(MARKS) == set(WORDS) == set(SEVERITIES)
    assert len(set(MARKS.values())) == len(set(WORDS.values())) == len(SEVERITIES)


@pytest.mark.parametrize("theme", PAPERS)
def test_each_severity_has_an_ink(theme):
    inks = [PAPERS[theme].of(severity) for severity in SEVERITIES]
    assert all(one != other for one, other in itertools.combinations(inks, 2))


def test_no_two_inks_of_the_light_paper_are_alike():
    """Else it would not be known which one of the dark paper is meant."""
    assert len(set(vars(LIGHT).values())) == len(vars(LIGHT))
