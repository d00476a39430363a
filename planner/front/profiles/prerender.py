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
from planner.store.atomic_write import written_on
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
    store, units = environment.store(), query.get(state.UNITS, "")
    system: System = "metric" if (units or environment.default_system()) == "metric" else "us"
    kept = {state.UNITS: units} if units else {}
    slug = query.get(state.PROFILE, "")
    alone = bool(slug) and query.get(state.VIEW) != state.LIST
    body = _alone(store, slug, system) if alone else _list(store, system, kept)
    if not body:
        return ""
    links = "".join(
        f'<a href="/{navigation.path(name)}{_query(kept)}" class="{"here" if name == "profiles" else "there"}">'
        f"{html(title)}</a>"
        for name, title in navigation.TITLES.items()
    )
    return f'<main class="page{" alone" if alone else ""}"><nav>{links}<span></span></nav>{body}</main>'


def _alone(store: Store, slug: str, system: System) -> str:
    """Return one profile alone."""
    outfit = store.read_outfit(slug)
    carried = card.carried_of(outfit, system, written_on(store.folder / PROFILE.file(slug)))
    return card.html_alone(carried) if isinstance(carried, Carried) else ""


def _list(store: Store, system: System, kept: Mapping[str, str]) -> str:
    """Return the cards on top of the list, as it comes up."""
    entries, handy = store.entries(PROFILE), read_favourites(store.folder)
    if not entries:
        return ""
    drawn = "".join(_card(store, one, system, kept) for one in find_profiles(entries, handy, "", "", {})[:MOST])
    new = profile_list.name_new_load(draft_files.kept(store.folder))
    soft = "" if handy.used else f'<p class="soft">{html(profile_list.WHAT_FOR)}</p>'
    narrow = '<div class="narrow"></div>' if len(entries) > 1 else ""
    top = f'<div class="top"><h1>Profiles</h1>{_link("level", NEW, new, kept)}</div>'
    return f'{top}{soft}{narrow}<div class="cards">{drawn}</div>'


def _card(store: Store, entry: Entry[Profile], system: System, kept: Mapping[str, str]) -> str:
    """Return one card, or that its profile cannot be used: why is on the page itself."""
    face = card.read_face(store, entry, system)
    if face.drawing is None:
        return f"<div>{card.html_of_unusable(entry.name)}</div>"
    links = _link("profiles", entry.slug, "Set these", kept) + _link("level", entry.slug, "Level this", kept)
    return f'<div>{card.html_of_card(face)}<div class="foot">{links}</div></div>'


def _link(name: navigation.Name, slug: str, words: str, kept: Mapping[str, str]) -> str:
    """Return a link that looks like a button."""
    address = f"/{navigation.path(name)}{_query({state.PROFILE: slug, **kept})}"
    return f'<a class="go {name}" href="{html(address)}">{html(words)}</a>'


def _query(query: Mapping[str, str]) -> str:
    """Return the query of an address, with its mark."""
    return f"?{urlencode(query)}" if query else ""
