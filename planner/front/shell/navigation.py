"""The pages, and the row of links that leads to them."""

from __future__ import annotations

from typing import Any, Final, Literal
from urllib.parse import urlencode

import streamlit as st

from planner.forms.draft import NEW
from planner.front.session import state
from planner.front.session.open_record import OpenRecord
from planner.front.shell import places
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.text import html, plain
from planner.records import Problem
from planner.store import TRUCK

Name = Literal["profiles", "level", "hitch", "weigh", "trim", "air", "garage", "method"]
TITLES: dict[Name, str] = {
    "profiles": "Profiles",
    "level": "Level",
    "hitch": "Hitch up",
    "weigh": "Weigh",
    "trim": "Trim",
    "air": "Air",
    "garage": "Truck & trailers",
    "method": "Method",
}
QUESTION: Final = "question"  # in the address of a truck's form: the one that a narrow screen shows
HITCH: Final = "hitch"  # of them, the one about hitches
NOT_LEVEL = "It isn't level"
SYSTEMS = {"us": "US", "metric": "Metric"}


def page(name: Name) -> st.Page:
    """Return a page; the profiles page answers at the bare address."""
    return st.Page(places.pages() / f"{name}.py", title=TITLES[name], url_path=name, default=name == "profiles")


def path(name: Name) -> str:
    """Return a page's path in the address."""
    return state.HOME if name == "profiles" else name


def link(name: Name, slug: str | None = None, label: str | None = None) -> None:
    """Draw a link to a page that carries a profile along: this tab's, or the one named."""
    words = TITLES[name] if label is None else label
    st.page_link(page(name), label=words, query_params=state.link(path(name), slug))


def draw_page_button(name: Name, slug: str | None, label: str) -> None:
    """Draw a link that looks like the button it stands for."""
    with st.container(key=f"go-{name}-{slug or 'here'}", width="content"):
        link(name, slug, label)


def draw_trim_button(slug: str | None = None) -> None:
    """Draw the link from a page of pressures to what is to be done where they do not level the truck."""
    draw_page_button("trim", slug, NOT_LEVEL)


def draw_truck_button(label: str) -> None:
    """Draw a link to the form of a truck that has no file yet, which looks like a button."""
    with st.container(key="go-new-truck", width="content"):
        st.page_link(page("garage"), label=label, query_params={TRUCK.name: NEW})


def draw_hitch_button(truck: str) -> None:
    """Draw a link to where a hitch is added on a truck's form, which looks like a button.

    A plain one, as Streamlit's own know no place on a page.
    """
    there = {TRUCK.name: truck, QUESTION: HITCH}
    query = urlencode(there | state.link("garage") | there)  # whatever truck that page showed last
    st.html(f'<a class="go" href="garage?{html(query)}#{HITCH}">Add a hitch to the truck</a>')


def go_to_new_truck() -> None:
    """Go on to the form of a truck that has no file yet: a folder without any opens on it."""
    st.switch_page(page("garage"), query_params={TRUCK.name: NEW})


def draw_bar(here: str) -> None:
    """Draw the row of links, that to the page with the title `here` marked, and the switch of units."""
    # Beside one profile alone a phone has no room for the others.
    other = "aside" if here == TITLES["profiles"] and state.tab().view == "alone" else "there"
    for name, title in TITLES.items():
        kind = "here" if title == here else other
        with st.container(key=f"{kind}-{name}", width="content"):
            link(name)
    st.space("stretch")
    key = "units"
    state.show(key, state.system())
    st.segmented_control(
        "Units",
        list(SYSTEMS),
        key=key,
        format_func=SYSTEMS.__getitem__,
        required=True,
        label_visibility="collapsed",
        on_change=state.switch_units,
        args=(key,),
    )


def draw_news() -> None:
    """Settle what clashes of the profile, and say what is wrong with it."""
    mine = state.profile()
    draw_record_news(mine, mine.trouble if mine.draft is not None else ())


def draw_record_news(record: OpenRecord[Any], problems: tuple[Problem, ...]) -> None:
    """Settle what clashes, and say what is wrong with a record that is open."""
    if record.clash is not None:
        with st.container(key=record.name_key("clash"), border=True):
            st.markdown(f"**{plain(record.clash.said)}** Nothing is written until you choose.")
            with st.container(horizontal=True):
                for label, key, keep in (
                    ("Keep what is here", "keep", True),
                    ("Take the other" if record.clash.theirs else "Discard mine", "take", False),
                ):
                    st.button(label, key=record.name_key(key), on_click=state.settle, args=(record, keep))
    if found := tuple(dict.fromkeys((*problems, *record.notes))):
        draw_problems(found)
