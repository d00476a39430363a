"""The app's colours and the few rules that Streamlit's theme settings cannot express.

What the rules in theme.css are for is measured by the browser tests, so that a change in Streamlit shows up as a
failing test.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

from planner.show.drawings.palette import DARK, LIGHT, Ink
from planner.show.drawings.svg import FONT
from planner.show.paper import CARD_RULES

RULES: Final = Path(__file__).with_suffix(".css")
# What cards need, which stand on the page before Streamlit does.
FIRST_RULES: Final = (Path(__file__).with_name("first_view.css"), CARD_RULES)

# A drawing board with its straight-edge and one level line.
_BOARD: Final = (
    f'<path d="M4 5H28L25 27H7Z" fill="{LIGHT.paper}" stroke="{LIGHT.ink}" stroke-width="2.4" stroke-linejoin="round"/>'
    f'<path d="M9 11H23M9.6 21.5H22.4" stroke="{LIGHT.ink}" stroke-width="1.6"/>'
    f'<path d="M1 16.5H31" stroke="{LIGHT.air}" stroke-width="3" stroke-linecap="round"/>'
)
ICON: Final = f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 32 32">{_BOARD}</svg>'
# For a home screen, which cuts its corners or a circle out of it: paper to the edge, the board well inside.
HOME_ICON: Final = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="-6 -6 44 44">'
    f'<path d="M-6-6h44v44h-44z" fill="{LIGHT.air_wash}"/>{_BOARD}</svg>'
)


def theme() -> dict[str, Any]:
    """Return Streamlit's theme settings: one paper by day, one by night, as the drawings have them.

    Both sections are given: a bare colour makes one fixed light theme, and the page no longer follows the device.
    """
    both = {
        "theme.font": FONT,
        "theme.headingFont": FONT,
        "theme.headingFontSizes": ["1.7rem", "1.1rem", "1rem"],
        "theme.baseRadius": "3px",
        "theme.showWidgetBorder": True,
    }
    return both | _colours("light", LIGHT) | _colours("dark", DARK)


def _colours(section: str, ink: Ink) -> dict[str, str]:
    """Return the colours of one section."""
    colours = {
        "primaryColor": ink.air,
        "backgroundColor": ink.paper,
        "secondaryBackgroundColor": ink.wash,
        "textColor": ink.ink,
        "linkColor": ink.air,
        "borderColor": ink.ground,
        "redTextColor": ink.brick,
        "redBackgroundColor": ink.brick_wash,
        "orangeTextColor": ink.ochre,
        "orangeBackgroundColor": ink.ochre_wash,
        "blueTextColor": ink.air,
        "blueBackgroundColor": ink.air_wash,
        "grayTextColor": ink.soft,
        "grayBackgroundColor": ink.wash,
    }
    return {f"theme.{section}.{name}": colour for name, colour in colours.items()}


def first_css() -> str:
    """Return the rules for what is first seen, and the colours of both papers: all of it turns dark with the device."""
    rules = "".join(path.read_text("utf-8") for path in FIRST_RULES)
    return f"{_variables(LIGHT)}@media (prefers-color-scheme:dark){{{_variables(DARK)}}}\n{rules}"


def css() -> str:
    """Return the rules of the pages, without those for what is first seen."""
    return RULES.read_text("utf-8")


def _variables(ink: Ink) -> str:
    """Return the colours of one paper as variables."""
    return ":root{" + "".join(f"--{name.replace('_', '-')}:{colour};" for name, colour in vars(ink).items()) + "}"
