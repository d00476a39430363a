"""Profiles on disk: found, listed, read with care, written whole, deleted so that they come back."""

from planner.store.binned import Binned
from planner.store.faults import StoreError
from planner.store.files import Store
from planner.store.folder import find_folder
from planner.store.kinds import PROFILE, TRAILER, TRUCK, Entry, Kind, Outfit, Receipt
from planner.store.overtaken import Change, Overtaken
from planner.store.slugs import is_slug, slug

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
