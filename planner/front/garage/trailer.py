"""The bench of one tab: the trailer it works on, what callbacks do with it, and the run of the page about it."""

from __future__ import annotations

from collections.abc import Callable

from planner.forms import trailer_form
from planner.forms.profile_draft import NEW
from planner.forms.trailer_draft import TrailerWork, open_trailer
from planner.front.session import draft_files, state, trailer_tab
from planner.front.session.tab import DISK
from planner.front.session.trailer_tab import Bench
from planner.records import BadInput, Problem
from planner.units.quantity import Refusal

TRAILER = "trailer"  # in the address
ELSEWHERE = Problem(
    "not saved", "", "", "the trailer was changed in another tab or on another device", "look at it again, then save"
)


def bench() -> Bench:
    """Return this tab's bench."""
    return state.tab().bench


def work() -> TrailerWork:
    """Return the trailer this tab works on; a page that has none stops before it asks."""
    found = bench().work
    assert found is not None
    return found


def begin() -> None:
    """Follow the address, then look whether the disk has moved on."""
    now, mine, asked = state.tab(), bench(), state.asked(TRAILER)
    towed = now.work.profile.trailer if now.work else None
    usual = towed or next(iter(now.store.trailers()), "")  # what a reload opens without being asked
    with DISK:
        if asked and asked != mine.asked:
            trailer_tab.load_draft(mine, now.store, asked)
        elif mine.work is not None:
            trailer_tab.follow(mine, now.store)
        elif not asked:
            trailer_tab.open_any(mine, now.store, towed)
    now.address[now.page] = {TRAILER: mine.asked} if asked or mine.asked != usual else {}


def put(new: TrailerWork) -> None:
    """Take changed work and keep it; the last action is no longer the last."""
    now, mine = state.tab(), bench()
    mine.work = new
    now.said, now.problems, now.undo = "", (), None
    with DISK:
        trailer_tab.keep_draft(mine, now.store)


def replaced(new: TrailerWork) -> None:
    """Take other work, whose fields are seeded anew."""
    put(new)
    bench().generation += 1


def typed(key: str, name: str) -> None:
    """Put what was typed into a widget, or chosen in it, into its field."""
    value = state.value(name)
    put(trailer_form.enter_text(work(), key, "" if value is None else str(value), state.system()))


def opened(name: str) -> None:
    """Open the trailer chosen in a widget."""
    to(str(state.value(name) or ""))


def to(slug: str) -> None:
    """Open a trailer, and put it into the address."""
    with DISK:
        trailer_tab.load_draft(bench(), state.tab().store, slug)
    state.ask(TRAILER, bench().asked)


def act(change: Callable[[TrailerWork], TrailerWork], said: str) -> None:
    """Do something with the trailer that can be taken back; what cannot be done is said."""
    before = work()
    try:
        new = change(before)
    except Refusal as refusal:
        state.tab().said, state.tab().undo = "", None
        state.tab().problems = (Problem(before.good.name, "", refusal.got, refusal.rule, refusal.remedy),)
        return
    replaced(new)
    state.did(said, lambda: replaced(before))


def save(name: str | None) -> None:
    """Save the trailer in its file, or under another name as a new one, and say so."""
    state.attempt(lambda: _saved(name))


def discard() -> None:
    """Drop what is not saved, so that it can be put back."""
    before = work()
    replaced(open_trailer(state.tab().store, before.slug))
    state.did("The unsaved changes are dropped.", lambda: replaced(before))


def settle(keep: bool) -> None:
    """Settle a clash with another tab."""
    mine, store = bench(), state.tab().store
    with DISK:
        trailer_tab.keep_mine(mine, store) if keep else trailer_tab.take_theirs(mine, store)
        trailer_tab.keep_draft(mine, store)
    mine.generation += 1
    state.ask(TRAILER, mine.asked)


def _saved(name: str | None) -> str:
    """Write the trailer; BadInput if it cannot be."""
    mine, store, before = bench(), state.tab().store, work()
    trailer_tab.follow(mine, store)
    if mine.clash or mine.trouble or work().base != before.base:
        raise BadInput([*mine.trouble, *([] if mine.trouble else [ELSEWHERE])])
    if bad := trailer_form.bad_fields(before, state.system()):
        raise BadInput(
            [Problem("not saved", "", before.typed[bad[0]], "a field is marked", "mend or empty it, then save")]
        )
    if name is None:
        slug = store.write(before.good, before.slug, expected=work().base)
    elif name.strip():
        slug = store.save_as(before.good, name, like=None if before.slug == NEW else before.slug)
    else:
        raise BadInput([Problem("not saved", "name", "", "a trailer needs a name", "type one beside the button")])
    for one in {before.slug, slug}:
        draft_files.remove_draft(trailer_tab.home(store), one)
    trailer_tab.load_draft(mine, store, slug)
    state.ask(TRAILER, slug)
    return f"{work().good.name} is saved."
