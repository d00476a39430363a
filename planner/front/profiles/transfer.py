"""Taking profiles away and bringing them in: buttons for zips and a table, and what a zip would change before it does.

The files are made when a button is pressed, as those of `export_buttons` are; what cannot go into
one is told of in it. A zip that is brought in is looked at anew on each run, so the list is true when a button is
pressed; it is unpacked and read only once.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import streamlit as st

from planner import export
from planner.forms.search import find_called
from planner.front.profiles import csv_export
from planner.front.profiles.export_buttons import draw_download
from planner.front.profiles.import_progress import AT_ONCE, CALLED_OFF, Import
from planner.front.session import state
from planner.front.session.tab import Undo
from planner.front.widgets import fields, reply
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.text import html, plain
from planner.records import BadInput, Problem
from planner.store import PROFILE
from planner.store.os_errors import shown_name
from planner.store.slugs import is_slug
from planner.store.transfer.import_zip import Brought, import_files, take_back
from planner.store.transfer.preview import Choice, Coming, Item, Read, State, compare_with_folder, read_zip
from planner.store.transfer.zip_safety import MOST_MB

CHOICES: Final[dict[Choice, str]] = {
    "mine": "Keep mine",
    "theirs": "Take theirs, mine goes to the bin",
    "both": "Keep both, theirs under another name",
}
AS_ALL: Final = "As above"
TABLE: Final = "Table of all profiles (CSV)"
CSV: Final = "profiles.csv"
PART: Final = "profiles-in-part.csv"
MOST_LISTED: Final = 60  # files; the rest is counted
MOST_CHANGES: Final = 6  # of one file
MOST_ASKED: Final = 30  # files that have a choice of their own
WORDS: Final[dict[State, str]] = {
    "new": "new",
    "differs": "different from yours",
    "unusable": "not to be used",
    "same": "the same as here",
}
SIGNS: Final[dict[State, str]] = {"new": "+", "differs": "≠", "unusable": "■"}


def draw_transfer() -> None:
    """Draw all of it: what can be taken away, then what can be brought in."""
    _draw_export()
    _draw_import()


def _draw_export() -> None:
    """Draw what is taken away: one profile, everything, the table."""
    store, system = state.tab().store, state.system()
    names = find_called({entry.slug: entry.name for entry in store.entries(PROFILE) if is_slug(entry.slug)})
    st.header("Back up", anchor=False)
    with st.container(horizontal=True, vertical_alignment="bottom", key="take-all"):
        draw_download("Back up everything", "profiles.zip", "application/zip", lambda: export.zip_of_all(store))
        if 0 < len(names) <= csv_export.AT_ONCE:
            draw_download(TABLE, CSV, "text/csv", lambda: export.table_of(store, system))
    if len(names) > csv_export.AT_ONCE:
        _long_table(len(names))
    if names:
        with st.container(horizontal=True, vertical_alignment="bottom", key="take-one"):
            slug = fields.pick("One profile", list(names), "moving-one", names)
            words = "Export with its truck and trailer"
            draw_download(words, f"{slug}.zip", "application/zip", lambda: export.zip_of(store, slug))


def _long_table(count: int) -> None:
    """Draw what begins a table of many profiles, how far it is, or what saves it."""
    now = state.tab()
    if now.table is not None and now.table.system != state.system():
        now.table.stop()
        now.table = None  # it is in the other units
    with st.container(horizontal=True, vertical_alignment="bottom", key="take-table"):
        if now.table is None:
            st.button(f"{TABLE}, {count:,} lines", key="table-begin", on_click=_begin_table)
        elif now.table.under_way:
            _table_under_way()
        else:
            _table_made(now.table)


@st.fragment(run_every=1.0)
def _table_under_way() -> None:
    """Draw how far a table is, and what stops it."""
    making = state.tab().table
    if making is None or not making.under_way:
        st.rerun()
        return
    st.progress(making.share, f"{making.ready:,} of {making.of:,} profiles are in the table.")
    st.button("Stop", key="table-stop", on_click=making.stop)


def _table_made(made: csv_export.TableExport) -> None:
    """Draw what saves a table, whole or as far as it came."""
    if made.ready == made.of:
        words, file = f"Save the table as of {made.begun:%H:%M} (CSV)", CSV
    else:
        words, file = f"Save the first {made.ready:,} of {made.of:,} lines (CSV)", PART
    if made.ready:
        draw_download(words, file, "text/csv", made.data)
    if made.ready < made.of:
        st.button("Go on", key="table-go-on", on_click=made.go_on)
    st.button("Make it again", key="table-begin", on_click=_begin_table)


def _begin_table() -> None:
    """Begin a table of all profiles."""
    now = state.tab()
    now.table = csv_export.TableExport(now.store, state.system())


def _draw_import() -> None:
    """Draw what is brought in: a zip, what it would change, and the buttons."""
    st.header("Restore", anchor=False)
    if state.tab().importing is not None:
        _under_way()
    else:
        _draw_zip()
    reply.draw_reply("bring")


def _draw_zip() -> None:
    """Draw the choice of a zip, and what it would change."""
    words = f"A zip that the planner exported, up to {MOST_MB} MB"
    upload = st.file_uploader(words, "zip", key=_key("zip"), max_upload_size=MOST_MB)
    if upload is None:
        fields.soft("What it would change is shown first. Nothing is written until you say so.")
        return
    try:
        coming = compare_with_folder(_files(upload.getvalue(), shown_name(upload.name)), state.tab().store)
    except BadInput as exc:
        draw_problems(exc.problems)
        return
    _coming(coming)


@st.cache_resource(max_entries=2, show_spinner="Looking into the zip …")  # records are frozen: one copy serves all tabs
def _files(data: bytes, called: str) -> tuple[Read, ...]:
    """Return the files of a zip."""
    return read_zip(data, called)


def _coming(coming: Coming) -> None:
    """Draw what a zip would change, and what can be done."""
    st.markdown(plain(_summary(coming)))
    if any(item.state == "differs" for item in coming.items):
        overall = st.radio(
            "Where a file differs from yours", list(CHOICES), key=_key("all"), format_func=CHOICES.__getitem__
        )
    else:
        overall = "mine"
    each = _listed(coming, overall)
    writes = sum(item.is_written(each.get(item.file, overall)) for item in coming.items)
    words = f"Bring in {writes} {'file' if writes == 1 else 'files'}" if writes else "Nothing to bring in"
    args = (coming, overall, each)
    reply.button(words, "bring", _bring, args, at="bring", type="primary", disabled=not writes)


def _key(what: str) -> str:
    """Return the key of a widget that goes with one zip."""
    return f"moving-{what}-{state.profile().generation}"


def _summary(coming: Coming) -> str:
    """Return what a zip would change in one sentence."""
    counts = [f"{number} {words}" for what, words in WORDS.items() if (number := coming.count(what))]
    return f"{len(coming.items)} {'file' if len(coming.items) == 1 else 'files'}: {', '.join(counts)}."


def _listed(coming: Coming, overall: Choice) -> dict[str, Choice]:
    """Draw the files, those that would change something first; return what was chosen for single ones."""
    order = list(WORDS)
    items = sorted((one for one in coming.items if one.state != "same"), key=lambda item: order.index(item.state))
    same = [item.file for item in coming.items if item.state == "same"]
    st.html(f'<ul class="findings">{"".join(map(_row, items[:MOST_LISTED]))}</ul>')
    if len(items) > MOST_LISTED:
        fields.soft(f"and {len(items) - MOST_LISTED} more files")
    if same:
        more = f" and {len(same) - MOST_LISTED} more" if len(same) > MOST_LISTED else ""
        fields.soft(f"The same as here: {', '.join(same[:MOST_LISTED])}{more}.")
    differing = [item for item in coming.items if item.state == "differs"]
    if len(differing) < 2:
        return {}
    if len(differing) > MOST_ASKED:
        fields.soft(f"The choice above is for all {len(differing)} files that differ.")
        return {}
    with st.expander("Choose for single files"):
        return {item.file: choice for item in differing if (choice := _own_choice(item, overall))}


def _own_choice(item: Item, overall: Choice) -> Choice | None:
    """Ask what to do with one file; None for what is done with all."""
    chosen = st.selectbox(
        plain(item.file),
        [None, *CHOICES],
        key=_key(item.file),
        filter_mode=None,
        format_func=lambda choice: CHOICES[choice] if choice else f"{AS_ALL}: {CHOICES[overall]}",
    )
    return next((choice for choice in CHOICES if choice == chosen), None)


def _row(item: Item) -> str:
    """Return one file as a line of the list: what it is, how it stands to the folder, what to know of it."""
    level = {"unusable": "stop", "differs": "caution"}.get(item.state, "note")
    called = f" {html(item.name)}" if item.name != item.file else ""
    said = [f"{html(item.file)}{called}: {WORDS[item.state]}", *map(html, _differences(item))]
    said += [html(_problem_words(item, problem)) for problem in (*item.problems, *item.notes)]
    sign = f'<span class="mark" aria-hidden="true">{SIGNS[item.state]}</span>'
    return f'<li class="{level}">{sign}<b>{said[0]}</b>{"".join(f"<br>{words}" for words in said[1:])}</li>'


def _differences(item: Item) -> list[str]:
    """Return in words how a file differs from the one here."""
    if item.state != "differs":
        return []
    if not item.changes:
        return [] if item.notes else ["only in comments or layout"]
    told = [f"{one.field}: yours {one.was or 'nothing'}, theirs {one.now or 'nothing'}" for one in item.changes]
    more = [f"and {len(told) - MOST_CHANGES} more"] if len(told) > MOST_CHANGES else []
    return told[:MOST_CHANGES] + more


def _problem_words(item: Item, problem: Problem) -> str:
    """Return a problem in words, without the name of the file that it stands under."""
    return problem.line().removeprefix(f"{item.file}: ")


def _bring(coming: Coming, overall: Choice, each: dict[str, Choice]) -> None:
    """Bring in what was shown, many files on a thread of their own."""
    now = state.tab()
    if sum(item.is_written(each.get(item.file, overall)) for item in coming.items) > AT_ONCE:
        now.importing = Import(coming, now.store, overall, each)
    else:
        _take(lambda: import_files(coming, now.store, overall, each))


@st.fragment(run_every=1.0)
def _under_way() -> None:
    """Draw how far an import is, and what calls it off; once it has ended, say what it did."""
    running = state.tab().importing
    if running is None:
        return
    if not running.under_way:
        state.tab().importing = None
        _take(running.brought)
        st.rerun()
    st.progress(running.share, f"{running.ready} of {running.of} files are ready; then all are brought in at once.")
    st.button("Stop", key="call-off", on_click=running.stop)


def _take(bring_in: Callable[[], Brought | None]) -> None:
    """Say what an import did; undo takes it back."""
    store, done = state.tab().store, list[Brought]()

    def act() -> str:
        brought = bring_in()
        if brought is None:
            return CALLED_OFF
        done.append(brought)
        return brought.said

    if state.attempt(act) and done:
        state.tab().undo = Undo(done[0].said, lambda: take_back(done[0], store))
        state.tab().problems = done[0].notes
        state.tab().at = "bring"
        state.profile().seed_anew()  # pressed once more, a zip would bring the same in twice: choose it anew
