"""From the work to the files: what saving writes, and whether it may."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date
from typing import Final, Literal

from pydantic import ValidationError

from planner.forms.draft import SAVING, D
from planner.forms.names import find_taken
from planner.forms.profile_draft import ProfileDraft
from planner.plans.answer import CORNERS, Answer
from planner.plans.level import level_setup
from planner.plans.saved_state import find_taped
from planner.plans.setup import Setup
from planner.records import BadInput, Pressures, Problem, Profile, problems_of
from planner.store import PROFILE, Store, StoreError, history
from planner.store.conflict import refuse_overtaken
from planner.units.quantity import Quantity, in_unit_of, read, shown

Fate = Literal["write", "new", "drop"]  # of a trailer's numbers that were changed here
FATE: Final = f"{SAVING}.fate"
TRAILER_NAME: Final = f"{SAVING}.trailer"
FATES: Final[tuple[Fate, ...]] = ("write", "new", "drop")
NO_CHOICE: Final = Problem(
    "trailer",
    "",
    "",
    "its weight, tongue ratio or side bias was changed here",
    "choose under Save where the numbers go, then save",
)


def level_work(work: ProfileDraft) -> Answer:
    """Return the pressures that level the work's truck; BadInput if its parts do not fit each other."""
    return level_setup(setup_of(work))


def trimmed_on(work: ProfileDraft) -> date | None:
    """Return the day on which the saved pressures were trimmed, None where they were not or no longer suit the work."""
    trimmed = work.profile.trimmed
    if trimmed is None or find_taped(work.profile, setup_of(work)) is None:
        return None
    return trimmed.at.date()


def setup_of(work: ProfileDraft) -> Setup:
    """Return the work as plans take it; pressures saved for another load or truck are no part of it."""
    return Setup.of(work.profile.replaced(pressures=None), work.truck, work.towed)


def with_pressures(work: ProfileDraft, answer: Answer) -> ProfileDraft:
    """Return the work with an answer's pressures, rounded to the gauge, as those to save."""
    step = work.truck.instruments.gauge_step
    given = {
        corner: _written(float(value), step)
        for corner, value in zip(CORNERS, answer.set.pressure.ravel(), strict=True)
        if math.isfinite(value)
    }
    return work.with_profile(pressures=Pressures(**given) if given else None)


def save_profile(
    store: Store, work: ProfileDraft, name: str | None, fate: Fate | None, trailer_name: str
) -> ProfileDraft:
    """Write the work with the pressures that level it, and return the work on what was written.

    Parameters
    ----------
    name
        To save under a name of its own; None writes to the profile's own file.
    fate
        Where changed numbers of the trailer go; not asked where none changed.
    trailer_name
        For a new trailer.

    Raises
    ------
    ConflictError
        If the profile or the trailer was changed elsewhere meanwhile; nothing is written.
    BadInput
        If something cannot be written; what was on the disk is whole.
    """
    with store.alone(PROFILE.name):  # the profile and its trailer: both or neither, whoever else is saving
        if name is None:
            refuse_overtaken(PROFILE.file(work.slug), work.base, _there(store, work.slug))
        else:
            check_name(store, work.profile, name)
        work = _settle_numbers(store, work, fate, trailer_name)
        work = with_pressures(work, level_work(work))
        if name is None:
            slug = history.write_profile(store, work.profile, work.slug, expected=work.base)
        else:
            like = work.slug if work.base is not None and work.slug in store.profiles() else None
            slug = history.save_profile_as(store, work.profile, name, like=like)
        return reopen(store, replace(work, slug=slug))


def reopen(store: Store, draft: D) -> D:
    """Return a draft on its record as the file now has it."""
    written = store.read(draft.form.kind, draft.slug)
    return replace(draft, base=written, record=written)


def check_name(store: Store, profile: Profile, name: str) -> None:
    """Raise BadInput if a profile cannot have a name, or another has it."""
    try:
        new = profile.replaced(name=name)
    except ValidationError as exc:
        raise BadInput(problems_of(exc, Profile, shown(name))) from exc
    if (taken := find_taken(store.entries(PROFILE), new.name)) is not None:
        like = "" if taken.name == new.name else f", as {shown(taken.name)}"
        raise StoreError("profile", f"another profile has that name already{like}", "choose another name", shown(name))


def _there(store: Store, slug: str) -> Profile | None:
    """Return a profile as its file has it now; None if there is no file."""
    return store.read_profile(slug) if slug in store.profiles() else None


def _settle_numbers(store: Store, work: ProfileDraft, fate: Fate | None, trailer_name: str) -> ProfileDraft:
    """Bring the trailer's changed numbers where they shall go."""
    if not work.other_numbers or work.towed is None or work.profile.trailer is None:
        return work
    if fate == "write":
        store.write(work.towed, work.profile.trailer, expected=work.trailer)
        return replace(work.without_numbers(), trailer=work.towed)
    if fate == "new":
        if not trailer_name.strip():
            raise StoreError("trailer", "a new trailer needs a name", "type one beside the choice")
        slug = store.save_as(work.towed, trailer_name, like=work.profile.trailer)
        new = store.read_trailer(slug)
        return replace(work.without_numbers().with_profile(trailer=slug), trailer=new)
    return work.without_numbers()


def _written(pressure: float, step: Quantity) -> Quantity:
    """Return a pressure on the gauge's step as its owner would type it."""
    return read(in_unit_of(pressure, step), "pressure")
