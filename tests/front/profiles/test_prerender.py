"""The Profiles page as HTML: what the page itself says, and links that lead where its own do."""

import re
import shutil
from html.parser import HTMLParser

import pytest

from planner.front.profiles.prerender import MOST, prerender
from planner.front.shell import environment
from planner.store import favourites
from planner.store.folder import demo_folder

MILL = "mill-on-the-hill-road"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A copy of the demo, to work in."""
    copy = shutil.copytree(demo_folder(), tmp_path / "profiles")
    monkeypatch.setenv(environment.PROFILES, str(copy))
    return copy


class Elements(HTMLParser):
    """Elements of a page, each with what it has; all that were opened must be closed in turn."""

    def __init__(self, text):
        super().__init__()
        self.open, self.all = [], []
        self.feed(text)
        assert not self.open

    def handle_starttag(self, tag, attrs):
        self.all.append((tag, dict(attrs)))
        if tag != "img":
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


def test_the_cards_come_in_the_list_s_order_with_their_words_and_links(folder):
    favourites.with_favourite(folder, "weekly-mill-run", True)
    found = Elements(prerender({})).all
    alts = [more["alt"] for tag, more in found if tag == "img"]
    names = ("Weekly", "Logs on", "Mill on", "Mill, bed", "Saw crew", "Slabs")  # a favourite first
    assert len(alts) == MOST
    assert all(alt.startswith(name) for alt, name in zip(alts, names, strict=True))
    links = [more["href"] for tag, more in found if tag == "a"]
    assert links[:2] == ["/", "/level"]
    assert f"/?profile={MILL}" in links
    assert f"/level?profile={MILL}" in links


def test_saved_pressures_that_are_out_of_date_are_told_with_the_card(folder):
    words = re.sub("<[^>]*>", " ", prerender({}))
    assert "Re-level:" in words
    assert "Worked out just now; no pressures saved." in words


def test_one_profile_alone_has_its_numbers_in_the_units_asked_for(folder):
    assert "<b>37</b><i> psi</i>" in prerender({"profile": MILL})
    metric = prerender({"profile": MILL, "units": "metric"})
    assert "<b>2.55</b><i> bar</i>" in metric
    assert 'href="/level?units=metric"' in metric
    assert 'class="cards"' in prerender({"profile": MILL, "view": "list"})


def test_a_name_is_text(folder):
    file = folder / f"{MILL}.toml"
    file.write_text(file.read_text("utf-8").replace("Mill on the hill road", "<b onclick=x></script>"), "utf-8")
    for query in ({}, {"profile": MILL}, {"units": "<script>"}):
        made = prerender(query)
        Elements(made)
        assert "<script" not in made
        assert "</script" not in made
        assert "<b onclick" not in made


def test_nothing_stands_there_before_there_is_a_profile(folder):
    for file in folder.glob("*.toml"):
        file.unlink()
    assert prerender({}) == ""
