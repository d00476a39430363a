"""Where the app's own files lie: in an installed package, or in a checkout beside it."""

from __future__ import annotations

from pathlib import Path

ENTRY = Path(__file__).parent / "entry" / "app.py"
# Scripts of ours that stand in Streamlit's page.
FIRST_SCRIPT = Path(__file__).with_name("first_view.js")
STOPPED_SCRIPT = Path(__file__).with_name("stopped.js")
_PACKAGE = Path(__file__).resolve().parents[2]


def pages() -> Path:
    """Return the folder of the page scripts.

    The package's own comes first: beside an installed package lies whatever else is installed, which may have a folder
    of that name too.
    """
    inside = _PACKAGE / "_pages"
    return inside if inside.is_dir() else _PACKAGE.parent / "pages"
