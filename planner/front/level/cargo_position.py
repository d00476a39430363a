"""What if, on the Level page: one thing on the truck lies somewhere else, or the trailer is as heavy as it may be."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache, partial

import streamlit as st

from planner.forms import profile_form
from planner.forms.draft import enter_text
from planner.front.level.answer import Shown
from planner.front.session import state
from planner.front.widgets import fields, reply
from planner.front.widgets.text import html
from planner.plans.cargo_position import AT_IT, EvenMove, best_move, even_moves
from planner.plans.largest_trailer import MostTrailer, find_headroom, find_largest_trailer
from planner.plans.setup import Setup
from planner.records import PlacedCargo
from planner.show.text.cargo_position import (
    across_words,
    can_be_tried,
    is_own,
    most_words,
    move_words,
    moved_words,
    room_words,
    round_weight,
    stronger_words,
)

NO_REST = "No answer with these numbers: check weights and places for a typo."
TIE_DOWN = "This goes by moments alone: check that it fits there and can be tied down."


def draw_cargo_position(shown: Shown) -> None:
    """Draw which way to move one item for even pressures, and the most trailer of its kind."""
    for part, at in ((_move, "move"), (_most, "try")):
        try:
            part(shown)
        except ArithmeticError:
            fields.soft(NO_REST)
        reply.draw_reply(at)


@lru_cache(maxsize=8)
def _moves(setup: Setup) -> tuple[EvenMove, ...]:
    """Return where each item makes the pressures even; kept, as most runs of the page change nothing in it."""
    return even_moves(setup)


@lru_cache(maxsize=16)
def _most_of(setup: Setup, own_labels: bool) -> MostTrailer:
    """Return the most trailer of a setup; kept as well."""
    return find_largest_trailer(setup, own_labels=own_labels)


# One item


def _move(shown: Shown) -> None:
    """Draw the choice of an item, and where it makes the pressures even."""
    if not shown.setup.cargo:
        fields.soft("Nothing is on the truck. Add cargo, and this shows where to put it for even pressures.")
        return
    if shown.setup.stance.lean:
        fields.soft("You want a lean, so left and right will not be even. Set it to 0 to see where cargo should go.")
        return
    moves = _moves(shown.setup)
    best = best_move(moves)
    move = moves[_asked(shown.setup.cargo, best)]
    _choice(shown.setup.cargo, move.place)
    _told(move_words(move, state.system()), fine=move.possible)
    if across := across_words(move, state.system()):
        fields.soft(across)
    if best is not None and best.place != move.place and not move.there:
        fields.soft(f"The shortest move that does it alone: {_in_a_sentence(move_words(best, state.system()))}")
    if not move.there:
        fields.soft(TIE_DOWN)
    if not shown.stale:
        _move_buttons(move)


def _asked(cargo: Sequence[PlacedCargo], best: EvenMove | None) -> int:
    """Return the item asked about; else the one with the least move, else the heaviest."""
    chosen = state.work().typed.get(profile_form.WHATIF_ITEM, "")
    if chosen.isascii() and chosen.isdigit() and int(chosen) < len(cargo):
        return int(chosen)
    return best.place if best is not None else max(range(len(cargo)), key=lambda n: cargo[n].weight)


def _choice(cargo: Sequence[PlacedCargo], place: int) -> None:
    """Draw the choice of an item."""
    names = [item.name for item in cargo]
    fields.row(state.profile(), profile_form.WHATIF_ITEM, "Item to move", names, place)


def _move_buttons(move: EvenMove) -> None:
    """Offer to put the item there, or as far across as helps where it stays."""
    x, y = move.x - move.ahead, move.y - move.left
    with st.container(horizontal=True, gap="small"):
        if move.possible and not move.there:
            reply.button("Move it there", "move-it", _put, (move, move.x, move.y), at="move")
        if abs(move.ahead) >= AT_IT and abs(move.across - y) >= AT_IT:
            reply.button("Move it straight across", "move-across", _put, (move, x, move.across), at="move")


def _put(move: EvenMove, x: float, y: float) -> None:
    """Put an item somewhere else and say so; it can be taken back."""
    system = state.system()
    change = partial(profile_form.move_row, place=move.place, x=x, y=y, system=system)
    state.act(state.profile(), change, moved_words(move, x, y, system))


# The trailer


def _most(shown: Shown) -> None:
    """Draw the most trailer that this truck levels, what stops a heavier one, and what is nearest as it stands."""
    system, trailer = state.system(), shown.setup.trailer
    st.html('<p class="label"><b>The most trailer this truck levels</b></p>')
    if trailer is None:
        fields.soft("Choose a trailer to see how heavy one of its kind may be.")
        return
    most = _most_of(shown.setup, True)
    _told(most_words(most, system), fine=most.weight >= most.now)
    if is_own(most):
        fields.soft(stronger_words(_most_of(shown.setup, False), system))
    fields.soft(f"{room_words(find_headroom(shown.setup, shown.answer), system)} Tongue ratio and cargo as they are.")
    if shown.stale or not can_be_tried(most, system):
        return
    if trailer.deck:
        fields.soft("Its weight adds up from its deck: change it on Truck & trailers.")
    elif round_weight(most.weight, system) != round_weight(trailer.weight, system):
        reply.button("Try it", "try-most", _try, (round_weight(most.weight, system).text,), at="try")


def _try(weight: str) -> None:
    """Give the trailer another weight, here only; it can be taken back."""
    change = partial(enter_text, key="weight", text=weight, system=state.system())
    state.act(state.profile(), change, f"Trying the trailer at {weight}.")


def _told(words: str, *, fine: bool) -> None:
    """Draw a sentence that answers, marked where the answer is no."""
    st.html(f'<p class="slide{"" if fine else " caution"}" role="status"><b>{html(words)}</b></p>')


def _in_a_sentence(words: str) -> str:
    """Return a sentence to go on after a colon."""
    return words[:1].lower() + words[1:]
