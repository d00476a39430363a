"""The history of a profile's pressures on a page of its own, without a browser."""

import re

import pytest
from streamlit.testing.v1 import AppTest

from planner.forms.profile_form import open_profile
from planner.forms.saving import save_profile
from planner.records import Pressures
from planner.store import history

from .conftest import MILL, Tab

FIRST = Pressures(front_left="40 psi", front_right="38 psi", rear_left="60 psi", rear_right="58 psi")
SECOND = Pressures(front_left="40 psi", front_right="36 psi", rear_left="64 psi", rear_right="58 psi")


class Page:
    """A page with the piece on it."""

    def __init__(self, slug=MILL):
        script = (
            "from planner.front.level import history\nfrom planner.front.widgets import reply\n"
            f"history.draw_history({slug!r})\nreply.draw_left_over()\n"
        )
        self.at = AppTest.from_string(script, default_timeout=300)
        self.run()

    def run(self):
        self.at.run()
        assert not self.at.exception
        return self

    def press(self, key):
        self.at.button(key=key).click()
        return self.run()

    def choose(self, which, place):
        self.at.selectbox(key=f"history-{which}-{MILL}").set_value(place)
        return self.run()

    @property
    def tables(self):
        """Return the cells of each table, row by row, without the heads."""
        found = [one.proto.body for one in self.at.get("html") if "<table" in one.proto.body]
        return [[re.findall(r"<t[dh][^>]*>(.*?)</t[dh]>", row) for row in body.split("<tr>")[2:]] for body in found]

    @property
    def words(self):
        parts = [*self.at.markdown, *self.at.error]
        return "\n".join([*(str(one.value) for one in parts), *(one.proto.body for one in self.at.get("html"))])


@pytest.fixture
def twice(store):
    """The mill, saved twice."""
    for pressures, reason, note in ((FIRST, "saved", ""), (SECOND, "trimmed", "<b>yard</b>")):
        history.write_profile(store, store.read_profile(MILL).replaced(pressures=pressures), MILL, reason, note=note)
    return store


def test_a_profile_without_pressures_says_so(store):
    page = Page()
    assert "No pressures have been saved" in page.words
    assert not page.at.button


def test_the_newest_is_first_and_the_last_two_are_compared(twice):
    page = Page()
    listed, compared = page.tables
    when = r"\d{4}-\d\d-\d\d \d\d:\d\d<br>"
    assert [[row[0], re.sub(when, "", row[1]), *row[2:]] for row in listed] == [
        ["2", "Trimmed: &lt;b&gt;yard&lt;/b&gt;", "40 psi<br>64 psi", "36 psi<br>58 psi"],
        ["1", "Saved", "40 psi<br>60 psi", "38 psi<br>58 psi"],
    ]
    assert all(re.match(when, row[1]) for row in listed)
    assert compared == [
        ["Front left", "40 psi", "40 psi", "the same"],
        ["Front right", "38 psi", "36 psi", "down 2 psi"],
        ["Rear left", "60 psi", "64 psi", "up 4 psi"],
        ["Rear right", "58 psi", "58 psi", "the same"],
    ]


def test_any_two_are_compared(twice):
    history.write_profile(twice, twice.read_profile(MILL).replaced(pressures=None), MILL)
    page = Page().choose("one", 0).choose("other", 2)
    assert page.tables[1][0] == ["Front left", "40 psi", "–", "–"]
    assert page.choose("other", 1).tables[1][1] == ["Front right", "38 psi", "36 psi", "down 2 psi"]


def test_one_is_restored_and_that_is_undone(twice):
    page = Page().press(f"history-restore-{MILL}")
    assert twice.read_profile(MILL).pressures == FIRST
    assert "again" in page.words
    assert [row[1].split("<br>")[1].split(":")[0] for row in page.tables[0]] == ["Restored", "Trimmed", "Saved"]
    assert page.at.button(key=f"history-restore-{MILL}").disabled
    page.press("undo")
    assert twice.read_profile(MILL).pressures == SECOND
    assert len(page.tables[0]) == 4


def test_what_no_longer_fits_is_refused(twice, folder):
    truck = folder / "trucks/ridge-truck.toml"
    truck.write_text(re.sub(r"\[front\.bag\].*?(?=\n\[)", "", truck.read_text("utf-8"), flags=re.DOTALL), "utf-8")
    page = Page().press(f"history-restore-{MILL}")
    assert page.at.error
    assert twice.read_profile(MILL).pressures == SECOND


def test_a_damaged_history_says_so_and_the_rest_is_there(twice, folder):
    file = folder / f"history/{MILL}.jsonl"
    file.write_bytes(file.read_bytes() + b"torn\n")
    page = Page()
    assert "1 of 3 lines that cannot be read" in page.words
    assert len(page.tables[0]) == 2


@pytest.mark.parametrize("slug", ["nothing-here", "../etc", "<b>", "x" * 500])
def test_a_profile_that_is_not_there_has_none(store, slug):
    page = Page(slug)
    assert "<b>" not in page.words.replace("**", "")
    assert not page.tables


def test_units_are_those_of_the_page(twice, monkeypatch):
    from planner.front.shell import environment

    monkeypatch.setenv(environment.UNITS, "metric")
    assert Page().tables[1][1] == ["Front right", "2.62 bar", "2.48 bar", "down 0.14 bar"]


def test_saving_on_the_level_page_is_in_the_history(store, level):
    level.press("save")
    (first,) = history.read_history(store, MILL).kept
    assert (first.reason, first.pressures) == ("saved", store.read_profile(MILL).pressures)
    copy = save_profile(store, open_profile(store, MILL), "Another mill", None, "")
    (first,) = history.read_history(store, copy.slug).kept
    assert first.pressures == copy.profile.pressures
    assert "is saved" in Tab("level", profile=MILL).press("save").words()
    assert len(history.read_history(store, MILL).kept) == 1  # the same pressures once more
