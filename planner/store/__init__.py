"""Profiles on disk: found, listed, read with care, written whole, deleted so that they come back."""

from typing import TYPE_CHECKING

from planner.late import late

if TYPE_CHECKING:
    from planner.store.binned import Binned
    from planner.store.faults import StoreError
    from planner.store.files import Store
    from planner.store.folder import find_folder
    from planner.store.kinds import PROFILE, TRAILER, TRUCK, Entry, Kind, Outfit, Receipt
    from planner.store.overtaken import Change, Overtaken
    from planner.store.slugs import is_slug, slug

_HOMES = {
    "Binned": "planner.store.binned",
    "StoreError": "planner.store.faults",
    "Store": "planner.store.files",
    "find_folder": "planner.store.folder",
    **dict.fromkeys(("PROFILE", "TRAILER", "TRUCK", "Entry", "Kind", "Outfit", "Receipt"), "planner.store.kinds"),
    **dict.fromkeys(("Change", "Overtaken"), "planner.store.overtaken"),
    **dict.fromkeys(("is_slug", "slug"), "planner.store.slugs"),
}
__all__ = [
    "PROFILE",
    "TRAILER",
    "TRUCK",
    "Binned",
    "Change",
    "Entry",
    "Kind",
    "Outfit",
    "Overtaken",
    "Receipt",
    "Store",
    "StoreError",
    "find_folder",
    "is_slug",
    "slug",
]

__getattr__ = late(__name__, _HOMES)  # the app is listening before the records are loaded
