"""The app without a browser: pages run as they are, on a copy of the demo."""

import os
import re
from collections.abc import Iterator, Sequence
from functools import cache
from html import unescape
from pathlib import Path

import pytest
from streamlit import config
from streamlit.components.v2 import manifest_scanner
from streamlit.testing.v1 import AppTest

from planner.front.shell import places
from planner.store.folder import demo_folder

MILL = "mill-on-the-hill-road"
DEEPER = ("map-box", "sure-box", "whatif-box")
PROFILES = len(list(demo_folder().glob("*.toml")))
BROKEN = "has a fault"  # of what a person sees when the planner itself fails


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Trace the first of a page's many bad values, names or profiles: on the page the others go the same way.

    Tracing makes a page twice as slow, streamlit and all.
    """
    seen: set[str] = set()
    for item in items:
        test, many, _ = item.nodeid.partition("[")
        if many and test in seen and Path(__file__).parent in item.path.parents:
            item.add_marker("no_cover")
        seen.add(test)


class Tab:
    """One browser tab: where it is, what it shows, what is done in it."""

    def __init__(self, page: str = "profiles", *, opened: Sequence[str] = (), **query: str) -> None:
        self.at = AppTest.from_file(str(places.ENTRY), default_timeout=300)  # which ends what hangs
        self.opened = opened
        for box in opened:
            self.at.session_state[box] = True
        self.moved = False  # once it was on another page
        self.go(page, **query)

    def go(self, page: str, **query: str) -> "Tab":
        """Follow a link to a page, as its query says."""
        if page != "profiles" or self.moved:
            self.at.switch_page(os.path.relpath(places.pages() / f"{page}.py", places.ENTRY.parent))
            self.moved = True
        self.at.query_params.clear()
        self.at.query_params.update(query)
        return self.run()

    def run(self) -> "Tab":
        """Run the page once, which must come through."""
        self.at.run()
        assert not self.at.exception
        return self

    def reloaded(self, page: str) -> "Tab":
        """Return what a reload gives: a new session at the same address, the same boxes opened."""
        return Tab(page, opened=self.opened, **self.query)

    @property
    def query(self) -> dict[str, str]:
        """What the address says."""
        found = self.at.query_params
        return {name: value[0] if isinstance(value, list) else value for name, value in found.items()}

    def field(self, key: str) -> object:
        """Return a field by its key, whatever the units and the generation."""
        every = [*self.at.text_input, *self.at.selectbox, *self.at.radio]
        found = [one for one in every if re.fullmatch(rf"{re.escape(key)}-(us|metric)-\d+", one.key or "")]
        assert len(found) == 1, f"{key}: {[one.key for one in every]}"
        return found[0]

    def type(self, key: str, value: str) -> "Tab":
        """Type into a field, or choose."""
        self.field(key).set_value(value)
        return self.run()

    def press(self, key: str) -> "Tab":
        """Press a button."""
        self.at.button(key=key).click()
        return self.run()

    def open(self, box: str) -> "Tab":
        """Open what lies behind a heading or a button."""
        self.at.session_state[box] = True
        return self.run()

    def buttons(self) -> set[str]:
        """Return the keys of the buttons there are."""
        return {button.key for button in self.at.button}

    def html(self) -> str:
        """Return all that is written as HTML."""
        return "\n".join(one.proto.body for one in self.at.get("html"))

    def pressures(self) -> list[str]:
        """Return the four pressures to set: front left, front right, rear left, rear right."""
        strip = next(one.proto.body for one in self.at.get("html") if 'class="strip' in one.proto.body)
        return re.findall(r"<b>(.*?)</b>", strip)

    def pictures(self) -> list[str]:
        """Return what the drawings say in words."""
        return [unescape(alt) for alt in re.findall(r'<img [^>]*alt="(.*?)"', self.html())]

    def errors(self) -> str:
        """Return what is said to be wrong."""
        return "\n".join(one.value for one in self.at.error)

    def words(self) -> str:
        """Return headings, texts and messages."""
        parts = [*self.at.title, *self.at.markdown, *self.at.error, *self.at.caption]
        return "\n".join(str(one.value) for one in parts) + self.html()


@pytest.fixture(autouse=True, scope="session")
def lean() -> Iterator[None]:
    """Spare what the app itself does once or never, and AppTest for every tab and element: it takes longer than pages.

    It looks through all installed packages for components, and measures each call for statistics that are never sent.
    """
    measured = config.get_option("browser.gatherUsageStats")
    config.set_option("browser.gatherUsageStats", False)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(manifest_scanner, "scan_component_manifests", cache(manifest_scanner.scan_component_manifests))
        yield
    config.set_option("browser.gatherUsageStats", measured)


@pytest.fixture
def level(folder: Path) -> Tab:
    """The Level page on the mill."""
    return Tab("level", profile=MILL)


@pytest.fixture
def deep(folder: Path) -> Tab:
    """The Level page on the mill, with all that goes deeper opened."""
    return Tab("level", opened=DEEPER, profile=MILL)


@pytest.fixture
def tab():
    """To open more tabs."""
    return Tab
