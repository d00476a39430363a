"""What the pages share: one profile a browser tab. The only module that touches Streamlit's session state.

The work is the truth and the widgets are views of it. A widget's own value dies when its page is left, so each is
seeded from the work when it comes up, and its callback puts what was typed back into the work. The generation is part
of every widget's key: other work makes new widgets, which start from it.

A reload makes a new session, and a phone reloads whenever it likes; only the address survives. So the address names
the profile, and whatever is not saved is a draft on disk by the end of each run.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any, Final

import streamlit as st

from planner.forms import choices, profile_form
from planner.forms.profile_draft import NEW, Work, draft_of
from planner.front.session import draft_files
from planner.front.session.tab import DISK, Tab, Undo, follow_disk, keep_draft, load_draft, slug_in
from planner.front.session.trailer_tab import keep_draft as keep_trailer
from planner.front.shell import environment
from planner.plans.hitching_stages import STAGES, StageName
from planner.records import BadInput, Problem
from planner.units.quantity import System

PROFILE: Final = "profile"  # in the address
UNITS: Final = "units"
VIEW: Final = "view"
STAGE: Final = "stage"
LIST: Final = "list"
HOME: Final = ""  # the page at the bare address: Profiles


def tab() -> Tab:
    """Return this tab's memory."""
    found = st.session_state.get("_tab")  # one look: a page asks some hundred times, and Streamlit's is slow
    if found is None:
        found = st.session_state["_tab"] = Tab(environment.store(), environment.default_system())
    assert isinstance(found, Tab)
    return found


def work() -> Work:
    """Return what this tab works on; a page that has none stops before it asks."""
    found = tab().work
    assert found is not None
    return found


def system() -> System:
    """Return the units this tab shows."""
    return tab().system


def dark() -> bool:
    """Tell whether the page is on dark paper."""
    return st.context.theme.type == "dark"


# A run of the script


def begin(page: str) -> None:
    """Follow the address, then look whether the disk has moved on; what was said on another page is no news here."""
    now, asked = tab(), st.query_params
    if now.page != page:
        now.page, now.problems = page, ()
        now.said = now.said if now.undo else ""
        now.written = asked.to_dict()  # the browser goes to another page and to its query at once
    elif asked.to_dict() != now.written:
        now.written = None  # a link within a page gives the script its query, not the address; or it was a step back
    if asked.get(UNITS) in ("us", "metric"):
        now.system = "metric" if asked[UNITS] == "metric" else "us"
    slug = asked.get(PROFILE)
    now.view = "recall" if slug and asked.get(VIEW) != LIST else "list"
    with DISK:
        if slug and (now.work is None or slug != now.work.slug):
            load_draft(now, slug_in(now.store, slug))
        elif now.work is not None:
            follow_disk(now, now.work)
    now.stage = next((stage for stage in STAGES if stage == asked.get(STAGE)), now.stage)


def write_draft() -> None:
    """Keep what is not saved; where that could not be done before, try again."""
    now = tab()
    with DISK:
        if now.work is not None and now.clash is None:
            keep_draft(now, now.work)
        if now.bench.unkept:
            keep_trailer(now.bench, now.store)


def write_address() -> None:
    """Write profile, view and units into the address, unless it says so already.

    What is written just when somebody goes on to another page would be laid over that page's address, as a step back
    that leads nowhere: so nothing is without need, nor by a run that is broken off.
    """
    now = tab()
    slug = now.work.slug if now.work else str(st.query_params.get(PROFILE, "")) if now.trouble else ""
    query = _query(slug, listed=now.page == HOME and now.view == "list" and bool(slug))
    kept: dict[str, str] = {STAGE: now.stage} if STAGE in st.query_params and now.page != HOME else {}
    if (address := query | kept | now.address.get(now.page, {})) != now.written:
        st.query_params.from_dict(address)
        now.written = address


def link(page: str, slug: str | None = None) -> dict[str, str]:
    """Return the query of a link to a page: this tab's profile, or another one, which the profiles page recalls."""
    now = tab()
    if slug is not None:
        return _query(slug, listed=False)
    return _query(now.work.slug if now.work else "", listed=page == HOME) | now.address.get(page, {})


def _query(slug: str, *, listed: bool) -> dict[str, str]:
    """Return profile, view and units as the address has them, in one order."""
    units = "" if tab().system == environment.default_system() else tab().system
    query = {PROFILE: slug, VIEW: LIST if listed else "", UNITS: units}
    return {name: value for name, value in query.items() if value}


# What callbacks do


def put(new: Work) -> None:
    """Take changed work; the last action is no longer the last."""
    now = tab()
    now.work = new
    now.said, now.problems, now.undo = "", (), None


def typed(key: str, name: str) -> None:
    """Put what was typed into a widget into its field."""
    put(profile_form.enter_text(work(), key, str(st.session_state[name] or ""), system()))


def stepped(key: str, name: str, up: bool) -> None:
    """Move a field one step, and its widget with it."""
    put(profile_form.step_field(work(), key, up, system()))
    st.session_state[name] = profile_form.text_of(work(), key, system())


def chosen(key: str, name: str) -> None:
    """Put a choice of truck, trailer or hitch into the work."""
    put(choices.chosen(tab().store, work(), key, str(st.session_state[name] or "")))
    tab().generation += 1  # what there is to choose from has changed with it


def replace_work(new: Work) -> None:
    """Take other work, whose fields are seeded anew."""
    put(new)
    tab().generation += 1


def switch_units(name: str) -> None:
    """Show the other units from now on, in this tab."""
    tab().system = "metric" if st.session_state[name] == "metric" else "us"
    st.query_params[UNITS] = tab().system


def go_to(stage: StageName) -> None:
    """Show another stage of hitching; it is in the address, so that a reload comes back to it."""
    tab().stage = stage
    st.query_params[STAGE] = stage


def asked(name: str) -> str:
    """Return what the address says of something; empty where it says nothing."""
    return str(st.query_params.get(name, ""))


def ask(name: str, value: str) -> None:
    """Make the address say something, so that the next run and a reload follow it."""
    st.query_params[name] = value


def did(said: str, undo: Callable[[], object]) -> None:
    """Say what was done with the work, and how to take it back."""
    tab().undo = Undo(said, undo)
    tab().said = said


def named(slug: str, name: str) -> None:
    """Keep another name typed on a profile's card."""
    tab().names[slug] = str(st.session_state[name] or "")


def attempt(action: Callable[[], str], undo: Callable[[], object] | None = None) -> bool:
    """Do something with files: say what it did, or why it could not be done; nothing is half done."""
    now = tab()
    now.said, now.problems, now.undo = "", (), None
    try:
        with DISK:
            now.said = action()
    except BadInput as exc:
        now.problems = exc.problems
        return False
    except OSError as exc:
        file, rule = str(exc.filename or now.store.folder), exc.strerror or type(exc).__name__
        now.problems = (Problem(file, "", "", f"the disk refuses: {rule}", "check the disk and try again"),)
        return False
    if undo is not None:
        now.undo = Undo(now.said, undo)
    return True


def in_step() -> bool:
    """Tell whether the files are still those that this tab's work began from; called inside an attempt."""
    now, mine = tab(), work()
    follow_disk(now, mine)
    return now.clash is None and not now.trouble and work().base == mine.base


def saved(new: Work) -> None:
    """Take work that has just been written: no draft of it is left, nor of what it was made from."""
    now = tab()
    for slug in {new.slug, now.work.slug if now.work else new.slug}:
        draft_files.remove_draft(now.store.folder, slug)
    now.work, now.tag, now.kept, now.clash, now.unkept = new, draft_files.GONE, draft_of(new), None, ()
    now.generation += 1
    st.query_params[PROFILE] = new.slug


def opened(slug: str | None) -> None:
    """Open a profile anew from disk, or none."""
    now = tab()
    now.work, now.clash, now.answered = None, None, None
    if slug is None:
        st.query_params.pop(PROFILE, None)
    else:
        st.query_params[PROFILE] = slug
        load_draft(now, slug)


def open_any() -> None:
    """Open a profile if the address names none: the first one that can be read, else a new one."""
    now = tab()
    if now.work is None and not now.trouble:
        with DISK:
            for slug in (*now.store.profiles(), NEW):
                load_draft(now, slug)
                if now.work is not None:
                    break


def take_theirs() -> None:
    """Settle a clash: drop what was changed here."""
    mine = work()
    opened(mine.slug if mine.slug == NEW or mine.slug in tab().store.profiles() else None)


def keep_mine() -> None:
    """Settle a clash: what was changed here stands, knowing of the other; saving will then write over it."""
    now, mine = tab(), work()
    now.work = replace(mine, base=now.clash.theirs if now.clash else mine.base)
    now.clash, now.kept = None, None
    now.tag = draft_files.tag_of(now.store.folder, mine.slug)


# What widgets need


def widget(key: str) -> str:
    """Return the key of a widget that is a view of a field."""
    return f"{key}-{tab().system}-{tab().generation}"


def seed(name: str, value: object) -> str:
    """Give a widget its value if it has just come up, and return its key."""
    if name not in st.session_state:
        st.session_state[name] = value
    return name


def value(name: str) -> Any:
    """Return the value of a widget, None if it is not there."""
    return st.session_state.get(name)


def show(name: str, value: object) -> None:
    """Make a widget show a value, whatever it showed."""
    st.session_state[name] = value


def undo() -> None:
    """Take the last action back."""
    last = tab().undo
    if last is not None:
        attempt(lambda: _undone(last))


def _undone(last: Undo) -> str:
    """Run what takes an action back, and say so."""
    last.act()
    return f"Undone: {last.said}"
