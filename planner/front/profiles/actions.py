"""What the buttons of the Profiles page do with files: save as, rename, delete, each with its way back."""

from __future__ import annotations

from dataclasses import replace

from planner.forms.draft import from_json, to_json
from planner.forms.profile_form import PROFILE_FORM
from planner.front.session import draft_files, state
from planner.records import BadInput
from planner.store import Receipt, Store, favourites, history


def save_as(slug: str, name: str) -> None:
    """Save a copy of a profile, as it is saved, under another name."""
    store, made = state.tab().store, list[str]()

    def act() -> str:
        made.append(history.save_profile_as(store, store.read_profile(slug), name, like=slug))
        return f"Saved a copy as {name.strip()}."

    state.attempt(act, lambda: store.delete(made[0]), f"The copy {name.strip()} is in the bin.")


def rename_profile(slug: str, name: str) -> None:
    """Give a profile another name; its unsaved changes go with it."""
    old, made = _name_of(state.tab().store, slug), list[str]()

    def act() -> str:
        made.append(_renamed(slug, name))
        return f"{old} is now called {name.strip()}."

    state.attempt(act, lambda: _renamed(made[0], old), f"It is called {old} again.")


def delete_profile(slug: str) -> None:
    """Move a profile, sound or damaged, into the bin; its unsaved changes can be had back with it."""
    now = state.tab()
    name, draft = _name_of(now.store, slug), draft_files.read_draft(now.store.folder, slug).content
    receipts = list[Receipt]()

    def act() -> str:
        receipts.append(now.store.delete(slug))
        draft_files.remove_draft(now.store.folder, slug)
        if now.profile.draft is not None and now.profile.draft.slug == slug:
            state.opened(now.profile, None)
        return f"{name} is deleted. Its file is in the bin, at the foot of this page."

    def back() -> None:
        now.store.restore(receipts[0])
        if draft is not None:
            draft_files.write_draft(now.store.folder, slug, draft)

    state.attempt(act, back, f"{name} is back in the list.")


def set_favourite(slug: str, on: bool) -> None:
    """Make a profile a favourite, or none."""
    store = state.tab().store

    def act() -> str:
        favourites.with_favourite(store.folder, slug, on)
        state.tab().menu = ""  # the card goes to another place
        return ""

    state.attempt(act)


def _renamed(slug: str, name: str) -> str:
    """Rename a profile's file and its draft, and this tab's work if it is that."""
    now = state.tab()
    draft = draft_files.read_draft(now.store.folder, slug).content
    to = now.store.rename(slug, name)
    favourites.rename_favourite(now.store.folder, slug, to)
    if draft is not None:
        work = from_json(PROFILE_FORM, now.store, slug, draft)
        profile = now.store.read_profile(to)
        base = None if work.base is None else work.base.replaced(name=profile.name)
        work = replace(work, slug=to, base=base, record=work.profile.replaced(name=profile.name))
        draft_files.write_draft(now.store.folder, to, to_json(work))
        if to != slug:
            draft_files.remove_draft(now.store.folder, slug)
    now.menu = to if now.menu == slug else now.menu
    if now.profile.draft is not None and now.profile.draft.slug == slug:
        state.opened(now.profile, to)
    return to


def _name_of(store: Store, slug: str) -> str:
    """Return what to call a profile."""
    try:
        return store.read_profile(slug).name
    except BadInput:
        return slug
