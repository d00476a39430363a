"""Profiles on disk: found, listed, read with care, written whole, deleted so that they come back."""

from typing import TYPE_CHECKING

from planner.late import late

if TYPE_CHECKING:
    from planner.errors import Change, ConflictError, StoreError
    from planner.store.folder import find_folder
    from planner.store.kinds import BAG, PROFILE, SLIP, TRAILER, TRUCK, Entry, Kind, Outfit, Receipt
    from planner.store.recycle_bin import Binned
    from planner.store.slugs import is_slug, slug
    from planner.store.store import Store

_HOMES = {
    "Binned": "planner.store.recycle_bin",
    **dict.fromkeys(("Change", "ConflictError", "StoreError"), "planner.errors"),
    "Store": "planner.store.store",
    "find_folder": "planner.store.folder",
    **dict.fromkeys(
        ("BAG", "PROFILE", "SLIP", "TRAILER", "TRUCK", "Entry", "Kind", "Outfit", "Receipt"), "planner.store.kinds"
    ),
    **dict.fromkeys(("is_slug", "slug"), "planner.store.slugs"),
}
__all__ = [
    "BAG",
    "PROFILE",
    "SLIP",
    "TRAILER",
    "TRUCK",
    "Binned",
    "Change",
    "ConflictError",
    "Entry",
    "Kind",
    "Outfit",
    "Receipt",
    "Store",
    "StoreError",
    "find_folder",
    "is_slug",
    "slug",
]

__getattr__ = late(__name__, _HOMES)  # the app is listening before the records are loaded
