"""The Method page: the whole text, and every source's figures."""

from html import escape

from planner.show.text import method

from .conftest import MILL, Tab


def test_it_shows_every_section_and_every_source(folder):
    tab = Tab("method", profile=MILL)
    headings = [one.value for one in tab.at.header]
    assert sorted(headings) == sorted([*method.read_sections(), method.CHECKED])
    shown = tab.html()
    assert all(escape(source.title) in shown for source in method.read_checks())


def test_it_opens_in_a_folder_without_trucks(folder):
    for path in [*folder.glob("*.toml"), *(folder / "trucks").glob("*.toml")]:
        path.unlink()
    assert Tab("method").at.title[0].value == "Method"
