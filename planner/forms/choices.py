"""Which truck, which trailer, on which hitch: what there is to choose, and what a choice changes."""

from __future__ import annotations

from typing import Final

from planner.forms.profile_draft import ProfileDraft
from planner.records import BadInput, Problem, Trailer, Truck
from planner.store import Store
from planner.units.quantity import Refusal

ALONE: Final = ""  # chosen for the trailer: there is none
COUPLINGS: Final = {"ball": "ball", "gooseneck": "gooseneck", "fifth_wheel": "fifth wheel", "pintle": "pintle"}


def fitting(truck: Truck, trailer: Trailer | None) -> list[str]:
    """Return the hitches of a truck that take a trailer, by name; all of them for the truck alone."""
    return [hitch.name for hitch in truck.hitches if trailer is None or hitch.coupling == trailer.coupling]


def chosen(store: Store, work: ProfileDraft, key: str, value: str) -> ProfileDraft:
    """Return the work after a choice of "truck", "trailer" or "hitch"; one that fits nothing is kept as typed."""
    if key == "hitch":
        return work.with_profile(hitch=value)
    try:
        return _put(store, work, key, value)
    except (Refusal, BadInput):
        return work.with_typed(key, value)


def fault(store: Store, work: ProfileDraft, key: str) -> Refusal | None:
    """Return what is wrong with a choice that is kept as typed, or that a file has, if anything."""
    if key == "hitch":
        return _hitch_fault(work)
    if key not in work.typed and not (key == "trailer" and lacks_trailer(work)):
        return None
    slug = work.typed.get(key, getattr(work.profile, key))
    try:
        _put(store, work, key, slug)
    except Refusal as refusal:
        return refusal
    except BadInput as exc:
        problem = exc.problems[0]
        there = slug in (store.trucks() if key == "truck" else store.trailers())
        said = f"{problem.field} {problem.rule}".strip()
        rule = f"its file is damaged: {said}" if there else said
        return Refusal(rule, problem.value, problem.remedy)
    return None


def lacks_trailer(work: ProfileDraft) -> bool:
    """Tell whether the trailer that a profile names cannot be read."""
    return work.trailer is None and work.profile.trailer is not None


def lacks_truck(store: Store, slug: str) -> bool:
    """Tell whether a profile's file is sound and the truck that it names cannot be read."""
    try:
        profile = store.read_profile(slug)
    except BadInput:
        return False
    try:
        store.read_truck(profile.truck)
    except BadInput:
        return True
    return False


def why_no_trailer(store: Store, work: ProfileDraft) -> tuple[Problem, ...]:
    """Return what is wrong with the file of such a trailer; nothing if it is another thing that is wrong."""
    try:
        if lacks_trailer(work):
            store.read_trailer(str(work.profile.trailer))
    except BadInput as exc:
        return exc.problems
    return ()


def truck_without_hitch(store: Store, work: ProfileDraft) -> str | None:
    """Return the slug of the chosen truck if it has no hitch at all for the chosen trailer; None if it has one."""
    truck, trailer = (work.typed.get(key, getattr(work.profile, key)) for key in ("truck", "trailer"))
    try:
        lacks = bool(trailer) and not fitting(store.read_truck(truck), store.read_trailer(trailer))
    except BadInput:  # which is what is wrong then
        return None
    return truck if lacks else None


def _hitch_fault(work: ProfileDraft) -> Refusal | None:
    """Return what is wrong with the hitch that a profile names, if anything."""
    fit = fitting(work.truck, work.trailer)
    if work.trailer is None or work.profile.hitch in fit:
        return None
    if not fit:
        return _no_hitch(work.truck, work.trailer)
    return Refusal(f"must be one that takes {work.trailer.name}", work.profile.hitch or "none", f"choose {fit[0]}")


def _put(store: Store, work: ProfileDraft, key: str, value: str) -> ProfileDraft:
    """Return the work with another truck or trailer on a hitch that fits; Refusal if none does."""
    slug = value or None
    truck = store.read_truck(value) if key == "truck" else work.truck
    trailer = work.trailer if key == "truck" else None if slug is None else store.read_trailer(value)
    hitches = fitting(truck, trailer)
    if trailer is not None and not hitches:
        raise _no_hitch(truck, trailer)
    hitch = work.profile.hitch if work.profile.hitch in hitches else next(iter(hitches), None)
    new = work.without_typed("truck", "trailer").with_profile(**{key: slug, "hitch": hitch})
    refreshed: ProfileDraft = work.form.refresh(store, new)
    return refreshed


def _no_hitch(truck: Truck, trailer: Trailer) -> Refusal:
    """Return the error of a trailer that the truck has no hitch for."""
    needed = COUPLINGS[trailer.coupling]
    there = ", ".join(f"{hitch.name} ({COUPLINGS[hitch.coupling]})" for hitch in truck.hitches) or "no hitch at all"
    return Refusal(
        f"{trailer.name} needs a {needed}",
        f"{truck.name} with {there}",
        f"add a {needed} to the truck on Truck & trailers, or choose another trailer or truck",
    )
