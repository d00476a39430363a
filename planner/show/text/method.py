"""What the Method page says: the model in words and formulas, and how its figures stand beside published ones."""

from __future__ import annotations

import json
from dataclasses import dataclass
from functools import cache
from html import escape
from pathlib import Path
from typing import Final

CHECKS: Final = Path(__file__).with_name("method_checks.json")  # written by `python -m tests.published`
WORDS: Final = Path(__file__).with_name("method.md")
IN_SHORT, NOT_FOR, LEFT_OUT = "In short", "Do not trust it for", "What it leaves out"  # headings there
CHECKED: Final = "Our figures beside published ones"
EXACT: Final = 1e-6  # [-] of a figure: a tolerance under it is that of the arithmetic


@dataclass(frozen=True)
class Check:
    """A figure that somebody printed, and ours.

    Attributes
    ----------
    what : of what it is
    theirs, ours : both figures [unit]; ours with one digit below the tolerance
    unit : of both; empty for a ratio
    tolerance : by how much ours may be off [unit]
    """

    what: str
    theirs: float
    ours: float
    unit: str
    tolerance: float


@dataclass(frozen=True)
class Source:
    """Where figures were printed: title and place, how it was read and why so much tolerance, and the figures."""

    title: str
    note: str
    checks: tuple[Check, ...]


@cache
def read_checks() -> tuple[Source, ...]:
    """Return the comparisons that the tests made, by their sources."""
    found = json.loads(CHECKS.read_text("utf-8"))
    return tuple(Source(one["source"], one["note"], tuple(Check(**row) for row in one["checks"])) for one in found)


@cache
def read_sections() -> dict[str, str]:
    """Return the text in Markdown, its formulas in LaTeX, by its headings."""
    parts = WORDS.read_text("utf-8").split("\n## ")[1:]
    return {head.strip(): body.strip() for head, _, body in (part.partition("\n") for part in parts)}


def count_words(sources: tuple[Source, ...]) -> str:
    """Return how many figures of how many sources there are, in a sentence."""
    count = sum(len(one.checks) for one in sources)
    return (
        f"{count} figures of {len(sources)} sources, as the planner's own tests compare them. Ours is within "
        "the figure beside it: half of the last printed digit, or what its note explains."
    )


def source_html(source: Source) -> str:
    """Return the figures of a source as a table that opens."""
    rows = "".join(
        f'<tr><th scope="row">{escape(one.what)}</th><td>{_figure(one.theirs, one.unit)}</td>'
        f"<td>{_figure(one.ours, one.unit)}</td><td>{_off(one)}</td></tr>"
        for one in source.checks
    )
    heads = "".join(f'<th scope="col">{head}</th>' for head in ("Figure", "Theirs", "Ours", "May be off"))
    note = f'<p class="soft">{escape(source.note)}</p>' if source.note else ""
    return (
        f"<details><summary>{escape(source.title)} <b>{len(source.checks)}</b></summary>{note}"
        f'<table class="plate checks"><thead><tr>{heads}</tr></thead><tbody>{rows}</tbody></table></details>'
    )


def _off(check: Check) -> str:
    """Return by how much a figure of ours may be off."""
    return "none" if check.tolerance <= EXACT * abs(check.theirs) else _figure(check.tolerance, "")


def _figure(number: float, unit: str) -> str:
    """Return a number as a table has it: thousands apart, no power of ten."""
    text = f"{number:,.10f}".rstrip("0").rstrip(".")
    return escape(f"{text} {unit}".strip())
