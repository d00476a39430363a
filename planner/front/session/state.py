"""What the pages share: the records open in a browser tab. The only module that touches Streamlit's session state.

The draft is the truth and the widgets are views of it. A widget's own value dies when its page is left, so each is
seeded from the draft when it comes up, and its callback puts what was typed back into the draft. The generation is part
of every widget's key: another draft makes new widgets, which start from it.

A reload makes a new session, and a phone reloads whenever it likes; only the address survives. So the address names
the record, and whatever is not saved is a draft on disk by the end of each run.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, Final

import streamlit as st
from pydantic import ValidationError

from planner.forms import choices
from planner.forms.draft import D, enter_text, field_of, step_field, text_of
from planner.forms.own_values import confirm, confirmed
from planner.forms.profile_draft import ProfileDraft
from planner.front.session.open_record import OpenRecord
from planner.front.session.tab import AS_BEFORE, DISK, Tab, Undo, View
from planner.front.shell import environment
from planner.plans.hitching_stages import STAGES, StageName
from planner.records import BadInput, Problem
from planner.units.quantity import Refusal, System

if TYPE_CHECKING:
    from planner.forms.slip_form import SlipDraft
    from planner.forms.trailer_form import TrailerDraft
    from planner.forms.truck_form import TruckDraft

PROFILE: Final = "profile"  # in the address, as each kind of record is by its name
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


def profile() -> OpenRecord[ProfileDraft]:
    """Return the profile that is open in this tab."""
    return tab().profile


def trailer() -> OpenRecord[TrailerDraft]:
    """Return the trailer that is open in this tab."""
    return tab().trailer


def truck() -> OpenRecord[TruckDraft]:
    """Return the truck that is open in this tab."""
    return tab().truck


def slip() -> OpenRecord[SlipDraft]:
    """Return the scale slip that is open in this tab."""
    return tab().slip


def work() -> ProfileDraft:
    """Return the profile this tab works on; a page that has none stops before it asks."""
    return tab().profile.work


def system() -> System:
    """Return the units this tab shows."""
    return tab().system


# A run of the script


def begin(page: str) -> None:
    """Follow the address, then look whether the disk has moved on; what was said on another page is no news here."""
    now, asked = tab(), st.query_params
    now.told = False  # the run before may have been broken off
    if now.page != page:
        now.page, now.problems = page, ()
        for one in now.records:
            one.notes = ()
        now.said = now.said if now.undo else ""
        now.written = asked.to_dict()  # the browser goes to another page and to its query at once
    elif asked.to_dict() != now.written:
        now.written = None  # a link within a page gives the script its query, not the address; or it was a step back
    now.system, now.view = system_asked(asked, now.system), view_asked(asked)
    slug = asked.get(PROFILE)
    with DISK:
        before = now.profile.asked
        now.profile.visit(slug or "")
    if now.profile.asked != before:
        now.stage = "clear"
    now.stage = next((stage for stage in STAGES if stage == asked.get(STAGE)), now.stage)


def system_asked(query: Mapping[str, str], now: System) -> System:
    """Return the units that an address asks for, those there are now where it asks for none."""
    asked = query.get(UNITS)
    return "metric" if asked == "metric" else "us" if asked == "us" else now


def view_asked(query: Mapping[str, str]) -> View:
    """Return whether an address asks for one profile alone or for the list."""
    return "alone" if query.get(PROFILE) and query.get(VIEW) != LIST else "list"


def write_drafts() -> None:
    """Keep what is not saved; where that could not be done before, try again."""
    with DISK:
        for one in tab().records:
            one.keep()


def write_address() -> None:
    """Write profile, view and units into the address, unless it says so already.

    What is written just when somebody goes on to another page would be laid over that page's address, as a step back
    that leads nowhere: so nothing is without need, nor by a run that is broken off.
    """
    now = tab()
    now.first = False
    draft = now.profile.draft
    slug = draft.slug if draft else str(st.query_params.get(PROFILE, "")) if now.profile.trouble else ""
    query = query_of(slug, now.system, listed=now.page == HOME and now.view == "list" and bool(slug))
    kept: dict[str, str] = {STAGE: now.stage} if STAGE in st.query_params and now.page != HOME else {}
    if (address := query | kept | now.address.get(now.page, {})) != now.written:
        st.query_params.from_dict(address)
        now.written = address


def link(page: str, slug: str | None = None) -> dict[str, str]:
    """Return the query of a link to a page: this tab's profile, or another one, which the profiles page shows alone."""
    now = tab()
    if slug is not None:
        return query_of(slug, now.system)
    mine = now.profile.draft.slug if now.profile.draft else ""
    return query_of(mine, now.system, listed=page == HOME) | now.address.get(page, {})


def query_of(slug: str, system: System, *, listed: bool = False) -> dict[str, str]:
    """Return profile, view and units as the address has them, in one order."""
    units = "" if system == environment.default_system() else system
    query = {PROFILE: slug, VIEW: LIST if listed else "", UNITS: units}
    return {name: value for name, value in query.items() if value}


# What callbacks do


def press(at: str, act: Callable[..., object], *args: object) -> None:
    """Do what a button is for; what is to be said of it is said at a place of the page."""
    act(*args)
    tab().at = at


def put(record: OpenRecord[D], new: D) -> None:
    """Take a changed draft; the last action is no longer the last."""
    record.draft = new
    tab().forget_action()


def replace_draft(record: OpenRecord[D], new: D) -> None:
    """Take another draft, whose fields are seeded anew."""
    put(record, new)
    record.seed_anew()


def typed(record: OpenRecord[Any], key: str, name: str) -> None:
    """Put what was typed into a widget, or chosen in it, into its field."""
    value = st.session_state[name]
    put(record, enter_text(record.work, key, "" if value is None else str(value), system()))
    record.drawn[name] = text_of(record.work, key, system())  # so that the field stays as it was typed


def put_text(record: OpenRecord[Any], key: str, name: str, text: str) -> None:
    """Put a text into a field, and into its widget."""
    put(record, enter_text(record.work, key, text, system()))
    st.session_state[name] = text


def put_back(record: OpenRecord[Any], key: str) -> None:
    """Let go of a text that is no value, so that its field shows the last good one again."""
    put(record, record.work.without_typed(key))


def take_as_own(record: OpenRecord[Any], key: str) -> None:
    """Make a typical value the owner's own, so that it can be taken back."""
    path, label = record.form.path_of(key), field_of(record.work, key).label
    act(record, lambda draft: confirm(draft, path), f"Yours now: {label}")


def take_trailer_as_own(path: str, label: str) -> None:
    """Make a typical value of the profile's trailer its owner's own, in its file, so that it can be taken back."""
    store, slug, before = tab().store, work().profile.trailer, work().trailer
    assert slug is not None
    assert before is not None  # else no field of it is drawn
    after = confirmed(before, path)

    def act() -> str:
        store.write(after, slug, expected=before)
        return f"Yours now: {label} of {after.name}."

    attempt(act, lambda: store.write(before, slug, expected=after))


def stepped(record: OpenRecord[Any], key: str, name: str, up: bool) -> None:
    """Move a field one step, and its widget with it."""
    put(record, step_field(record.work, key, up, system()))
    st.session_state[name] = text_of(record.work, key, system())


def chosen(key: str, name: str) -> None:
    """Put a choice of truck, trailer or hitch into the profile; what there is to choose from changes with it."""
    put(profile(), choices.chosen(tab().store, work(), key, str(st.session_state[name] or "")))


def act(record: OpenRecord[D], change: Callable[[D], D], said: str) -> None:
    """Do something with a record that can be taken back; what cannot be done is said."""
    before = record.work
    try:
        new = change(before)
    except (Refusal, ValidationError) as exc:
        refusal = record.form.refusal(exc) if isinstance(exc, ValidationError) else exc
        tab().forget_action()
        tab().problems = (Problem(before.record.name, "", refusal.got, refusal.rule, refusal.remedy),)
        return
    put(record, new)
    did(said, lambda: replace_draft(record, before))


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


def drop(name: str) -> None:
    """Have the address say nothing of something."""
    st.query_params.pop(name, None)


def did(said: str, undo: Callable[[], object], undone: str = AS_BEFORE) -> None:
    """Say what was done with the work, how to take it back, and what is so then."""
    tab().undo = Undo(said, undo, undone)
    tab().said = said


def named(slug: str, name: str) -> None:
    """Keep another name typed on a profile's card."""
    tab().names[slug] = str(st.session_state[name] or "")


def attempt(action: Callable[[], str], undo: Callable[[], object] | None = None, undone: str = AS_BEFORE) -> bool:
    """Do something with files: say what it did, or why it could not be done; nothing is half done.

    undone : what is so once it was taken back
    """
    now = tab()
    now.forget_action()
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
        now.undo = Undo(now.said, undo, undone)
    return True


def save(record: OpenRecord[Any], name: str | None) -> None:
    """Save a record in its file, or under a name as a new one, and say so."""
    if attempt(lambda: record.save(name, system())):
        st.query_params[record.kind] = record.work.slug


def discard(record: OpenRecord[Any]) -> None:
    """Drop what is not saved of a record, so that it can be put back."""
    before = record.work
    attempt(record.discard, lambda: replace_draft(record, before), "The unsaved changes are back.")


def settle(record: OpenRecord[Any], keep: bool) -> None:
    """Settle a clash with another tab."""
    with DISK:
        record.keep_mine() if keep else record.take_theirs()
    if record.draft is not None:
        st.query_params[record.kind] = record.draft.slug
    else:
        st.query_params.pop(record.kind, None)


def opened(record: OpenRecord[Any], slug: str | None) -> None:
    """Open a record anew from disk, or none, and put it into the address."""
    if slug is None:
        record.close()
        st.query_params.pop(record.kind, None)
        return
    with DISK:
        record.load(slug)
    st.query_params[record.kind] = slug
    tab().stage = "clear"


def open_any() -> None:
    """Open a profile if the address names none: the first one that can be read, else a new one."""
    now = profile()
    if now.draft is None and not now.trouble:
        with DISK:
            now.open_any()


def change_truck(slug: str) -> None:
    """Open the profile whose truck cannot be read on another truck, on a hitch of it that fits if there is one."""
    now = tab()

    def act() -> str:
        now.profile.open_with(truck=slug)
        new = work()
        fit = choices.fitting(new.truck, new.trailer)
        if new.profile.hitch not in fit and fit:
            replace_draft(profile(), new.with_profile(hitch=fit[0]))
        return f"{new.profile.name} is on {new.truck.name} now. Nothing is saved yet."

    attempt(act)


# What widgets need


def widget(key: str) -> str:
    """Return the key of a widget that is a view of a field of the profile."""
    return tab().profile.name_widget(key, tab().system)


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


def close_reply() -> None:
    """Let go of what is said of the last action, and with it of the way back."""
    tab().forget_action()


def undo() -> None:
    """Take the last action back."""
    last, at = tab().undo, tab().at
    if last is not None:
        press(at, attempt, lambda: _undone(last))


def _undone(last: Undo) -> str:
    """Run what takes an action back, and say what is so now."""
    last.act()
    was = f" Taken back: {last.said}" if last.undone == AS_BEFORE else ""
    return f"Undone: {last.undone}{was}"
