"""The Profiles page as HTML, for the browser to show while it still reads Streamlit's scripts.

It has what is read and the links, as the page itself has them and in their places; fields and menus come with the page.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final
from urllib.parse import urlencode

from planner.forms.draft import NEW
from planner.forms.search import find_profiles
from planner.front.profiles import card, profile_list
from planner.front.session import draft_files, state
from planner.front.shell import environment, navigation
from planner.front.widgets.text import html
from planner.records import Profile
from planner.show.text.card import Carried
from planner.store import PROFILE, Entry, Store
from planner.store.favourites import read_favourites
from planner.units.quantity import System

MOST: Final = 6  # cards that a wide screen shows without scrolling


def prerender(query: Mapping[str, str]) -> str:
    """Return the page at the bare address with a query, as HTML; empty where there is no card to show.

    Raises
    ------
    BadInput, OSError
        If what it needs cannot be read, which the page itself says.
    """
    store, system = environment.store(), state.system_asked(query, environment.default_system())
    alone = state.view_asked(query) == "alone"
    body = _alone(store, query[state.PROFILE], system) if alone else _list(store, system)
    if not body:
        return ""
    links = "".join(
        f'<a href="{_address(name, "", system)}" class="{"here" if name == "profiles" else "there"}">{html(title)}</a>'
        for name, title in navigation.TITLES.items()
    )
    return f'<main class="page{" alone" if alone else ""}"><nav>{links}<span></span></nav>{body}</main>'


def _alone(store: Store, slug: str, system: System) -> str:
    """Return one profile alone."""
    carried = card.read_carried(store, slug, system)
    return card.html_alone(carried) if isinstance(carried, Carried) else ""


def _list(store: Store, system: System) -> str:
    """Return the cards on top of the list, as it comes up."""
    entries, handy = store.entries(PROFILE), read_favourites(store.folder)
    if not entries:
        return ""
    drawn = "".join(_card(store, one, system) for one in find_profiles(entries, handy, "", "", {})[:MOST])
    new = profile_list.name_new_load(draft_files.kept(store.folder))
    soft = "" if handy.used else f'<p class="soft">{html(profile_list.WHAT_FOR)}</p>'
    narrow = '<div class="narrow"></div>' if len(entries) > 1 else ""
    top = f'<div class="top"><h1>Profiles</h1>{_link("level", NEW, new, system)}</div>'
    return f'{top}{soft}{narrow}<div class="cards">{drawn}</div>'


def _card(store: Store, entry: Entry[Profile], system: System) -> str:
    """Return one card, or that its profile cannot be used: why is on the page itself."""
    face = card.read_face(store, entry, system)
    if face.drawing is None:
        return f"<div>{card.html_of_unusable(entry.name)}</div>"
    links = _link("profiles", entry.slug, "Set these", system) + _link("level", entry.slug, "Level this", system)
    return f'<div>{card.html_of_card(face)}<div class="foot">{links}</div></div>'


def _link(name: navigation.Name, slug: str, words: str, system: System) -> str:
    """Return a link to a page with a profile, which looks like a button."""
    return f'<a class="go {name}" href="{_address(name, slug, system)}">{html(words)}</a>'


def _address(name: navigation.Name, slug: str, system: System) -> str:
    """Return the address of a page with a profile, as HTML."""
    query = urlencode(state.query_of(slug, system))
    return html(f"/{navigation.path(name)}{f'?{query}' if query else ''}")
