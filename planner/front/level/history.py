"""The history of a profile's pressures on the screen: what they were, when and why; compare two, restore one."""

from __future__ import annotations

from typing import Final

import streamlit as st

from planner.forms.profile_draft import ProfileDraft
from planner.front.session import state
from planner.front.widgets import fields, reply
from planner.front.widgets.problems import draw_problems
from planner.front.widgets.table import head_cells
from planner.front.widgets.text import html, plain
from planner.records import CORNERS, BadInput, Pressures
from planner.show.text.as_csv import CORNER_HEADS
from planner.show.text.numbers import say, write
from planner.store import history
from planner.store.history import CornerChange, Kept, Reason

WORDS: Final[dict[Reason, str]] = {
    "saved": "Saved",
    "trimmed": "Trimmed",
    "imported": "Brought in",
    "restored": "Restored",
    "by hand": "Changed in the file",
    "found": "Was there before",
}
MOST_LISTED: Final = 40  # the newest; all can be chosen
NOTHING: Final = "–"


def draw_history_box(work: ProfileDraft) -> None:
    """Draw the history of the profile that is worked on, behind its heading; nothing before it has a file."""
    if work.base is None:
        return
    with st.expander("History of the pressures", key="history-box", on_change="rerun") as box:
        if box.open:
            draw_history(work.slug)


def draw_history(slug: str) -> None:
    """Draw the history of a profile, by slug."""
    try:
        found = history.read_history(state.tab().store, slug)
    except BadInput as exc:
        draw_problems(exc.problems)
        return
    for problem in found.problems:
        fields.soft(f"{problem.file}: {problem.rule}: {problem.remedy}.")
    if not found.kept:
        fields.soft("No pressures have been saved with this profile yet.")
        return
    with st.container(key="history", gap="small"):
        _listed(found.kept)
        _chosen(slug, found.kept)


def _listed(kept: tuple[Kept, ...]) -> None:
    """Draw the changes, the newest first; pressures as the truck stands seen from above, front over rear."""
    heads = head_cells(("", "When and why", "Left", "Right"))
    rows = "".join(_row(len(kept) - place, one) for place, one in enumerate(kept[:MOST_LISTED]))
    st.html(f'<table class="plate"><tr>{heads}</tr>{rows}</table>')
    fields.soft("Of two pressures the upper one is the front.")
    if len(kept) > MOST_LISTED:
        fields.soft(f"and {len(kept) - MOST_LISTED} older ones, to choose from below")


def _row(number: int, one: Kept) -> str:
    """Return one change as a row."""
    why = WORDS[one.reason] + (f": {one.note}" if one.note else "")
    corners = [html(_pressure(getattr(one.pressures, corner, None))) for corner in CORNERS]
    sides = "".join(f'<td style="white-space:nowrap">{"<br>".join(corners[side::2])}</td>' for side in (0, 1))
    return f"<tr><td>{number}</td><td>{_when(one)}<br>{html(why)}</td>{sides}</tr>"


def _chosen(slug: str, kept: tuple[Kept, ...]) -> None:
    """Draw two to compare, and the button that restores the first."""
    places = range(len(kept))  # from the oldest: a place stays the same change while others are added
    with st.container(horizontal=True, vertical_alignment="bottom", key="history-two"):
        one = _choice("Compare", slug, "one", kept, max(len(places) - 2, 0))
        other = _choice("with", slug, "other", kept, len(places) - 1)
    _compared(history.compare_corners(one.pressures, other.pressures))
    now = kept[0].pressures
    reply.button(
        plain(f"Set the pressures of {_when(one)} again"),
        f"history-restore-{slug}",
        _restore,
        (slug, one),
        disabled=_texts(one.pressures) == _texts(now),
    )


def _choice(label: str, slug: str, which: str, kept: tuple[Kept, ...], place: int) -> Kept:
    """Ask for one of the changes; `place` is that of the first answer, from the oldest."""
    newest = len(kept) - 1
    key = f"history-{which}-{slug}"
    state.seed(key, place)
    if state.value(key) not in range(len(kept)):  # some went since
        state.show(key, place)
    chosen = st.selectbox(
        label,
        list(range(newest, -1, -1)),
        key=key,
        filter_mode=None,
        format_func=lambda at: f"{at + 1}: {_when(kept[newest - at])}, {WORDS[kept[newest - at].reason].lower()}",
    )
    return kept[newest - chosen]


def _compared(changes: tuple[CornerChange, ...]) -> None:
    """Draw the corners of two changes, and by how much they differ."""
    heads = "".join(f'<th scope="col">{head}</th>' for head in ("Corner", "Was", "Is", "Difference"))
    rows = "".join(
        f'<tr><th scope="row">{head}</th><td>{html(_pressure(one.old))}</td><td>{html(_pressure(one.new))}</td>'
        f"<td>{html(_difference(one))}</td></tr>"
        for head, one in zip(CORNER_HEADS, changes, strict=True)
    )
    st.html(f'<table class="plate"><tr>{heads}</tr>{rows}</table>')


def _when(one: Kept) -> str:
    """Return a time on the owner's own clock."""
    return f"{one.at.astimezone():%Y-%m-%d %H:%M}"


def _pressure(value: float | None) -> str:
    """Return a pressure in the units shown."""
    return NOTHING if value is None else say(value, "pressure", state.system())


def _difference(change: CornerChange) -> str:
    """Return how much more or less there is, in words that do not hang on a sign alone."""
    if change.difference is None:
        return NOTHING
    amount = write(abs(change.difference), "pressure", state.system())
    if not amount.number.strip("0.,"):
        return "the same"
    return f"{'up' if change.difference > 0 else 'down'} {amount}"


def _texts(pressures: Pressures | None) -> list[str]:
    """Return pressures as typed."""
    return [str(getattr(getattr(pressures, corner, None), "text", "")) for corner in CORNERS]


def _restore(slug: str, one: Kept) -> None:
    """Save the pressures of an earlier change again; undo saves those that were there until now."""
    store, before = state.tab().store, list[Pressures | None]()

    def act() -> str:
        before.append(history.restore(store, slug, one, f"as of {_when(one)}"))
        return f"{store.read_profile(slug).name} has the pressures of {_when(one)} again."

    state.attempt(act, lambda: history.put_pressures(store, slug, before[0], "restoring taken back"))
