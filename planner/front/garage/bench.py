"""The bench of one tab: the trailer it works on, what callbacks do with it, and the run of the page about it."""

from __future__ import annotations

from collections.abc import Callable

from planner.front import drafts, state
from planner.front.garage import edit, keeping
from planner.front.garage.keeping import Bench
from planner.front.garage.work import TrailerWork, open_trailer
from planner.front.keeping import DISK
from planner.front.work import NEW
from planner.records import BadInput, Problem
from planner.units import Refusal

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
            keeping.load(mine, now.store, asked)
        elif mine.work is not None:
            keeping.follow(mine, now.store)
        elif not asked:
            keeping.open_any(mine, now.store, towed)
    now.address[now.page] = {TRAILER: mine.asked} if asked or mine.asked != usual else {}


def put(new: TrailerWork) -> None:
    """Take changed work and keep it; the last action is no longer the last."""
    now, mine = state.tab(), bench()
    mine.work = new
    now.said, now.problems, now.undo = "", (), None
    with DISK:
        keeping.keep(mine, now.store)


def replaced(new: TrailerWork) -> None:
    """Take other work, whose fields are seeded anew."""
    put(new)
    bench().generation += 1


def typed(key: str, name: str) -> None:
    """Put what was typed into a widget, or chosen in it, into its field."""
    value = state.value(name)
    put(edit.entered(work(), key, "" if value is None else str(value), state.system()))


def opened(name: str) -> None:
    """Open the trailer chosen in a widget."""
    to(str(state.value(name) or ""))


def to(slug: str) -> None:
    """Open a trailer, and put it into the address."""
    with DISK:
        keeping.load(bench(), state.tab().store, slug)
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
        keeping.keep_mine(mine, store) if keep else keeping.take_theirs(mine, store)
        keeping.keep(mine, store)
    mine.generation += 1
    state.ask(TRAILER, mine.asked)


def _saved(name: str | None) -> str:
    """Write the trailer; BadInput if it cannot be."""
    mine, store, before = bench(), state.tab().store, work()
    keeping.follow(mine, store)
    if mine.clash or mine.trouble or work().base != before.base:
        raise BadInput([*mine.trouble, *([] if mine.trouble else [ELSEWHERE])])
    if bad := edit.bad_fields(before, state.system()):
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
        drafts.remove(keeping.home(store), one)
    keeping.load(mine, store, slug)
    state.ask(TRAILER, slug)
    return f"{work().good.name} is saved."
