"""A drawing on a page: on light paper or on dark, whichever the device is on now, and on light where it is printed.

It is one image with both papers' pictures, and first_view.css shows the one that is wanted, with no run of the script.
A picture that looks for itself whether the device is dark (`prefers-color-scheme` inside the SVG) would be half the
size, but WebKit asks no such thing for an image (WebKitGTK 2.50). As plain HTML: `st.image` brings a viewer with it.
"""

from __future__ import annotations

import streamlit as st

from planner.front.widgets.text import html
from planner.show.drawings.svg import WIDTH, Drawing, data_uri, number


def draw_picture(drawing: Drawing) -> None:
    """Draw a drawing as wide as there is room, with its words for those who cannot see it."""
    st.html(html_of_picture(drawing))


def html_of_picture(drawing: Drawing) -> str:
    """Return a drawing as wide as there is room, with its words for those who cannot see it."""
    return (
        f'<img class="drawing" width="{number(WIDTH)}" height="{number(drawing.height)}" alt="{html(drawing.alt)}" '
        f'src="{data_uri(drawing.svg)}" style="--dark:url({data_uri(drawing.on_dark())})">'
    )
