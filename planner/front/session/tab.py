"""What one browser tab remembers."""

from __future__ import annotations

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, Final, Literal

from planner.forms.profile_draft import ProfileDraft
from planner.forms.profile_form import PROFILE_FORM
from planner.front.profiles.import_progress import Import
from planner.front.session.open_record import OpenRecord
from planner.plans.hitching_stages import StageName
from planner.records import Problem
from planner.store import Store
from planner.units.quantity import System

if TYPE_CHECKING:
    from planner.forms.slip_form import SlipDraft
    from planner.forms.trailer_form import TrailerDraft
    from planner.forms.truck_form import TruckDraft
    from planner.front.profiles.csv_export import TableExport

View = Literal["list", "alone"]
AS_BEFORE: Final = "all is as before."
DISK: Final = threading.RLock()  # tabs run in threads of one server: look and write in one go


@dataclass(frozen=True)
class Undo:
    """What takes the last action back."""

    said: str
    act: Callable[[], object]
    undone: str = AS_BEFORE  # what is so then


@dataclass
class Tab:
    """Everything one browser tab remembers."""

    store: Store
    system: System
    page: str = "-"  # its path; none to begin with
    first: bool = True  # whether no page has come through yet
    view: View = "list"
    stage: StageName = "clear"  # of hitching, where a narrow screen shows one at a time
    undo: Undo | None = None
    said: str = ""  # what the last action did
    at: str = ""  # the place on the page where it is told of
    told: bool = False  # whether it was, in this run
    nameless: str = ""  # the field in which a name was needed and none was
    menu: str = ""  # the profile whose menu is open
    problems: tuple[Problem, ...] = ()  # of the last action
    names: dict[str, str] = field(default_factory=dict)  # by profile, another name typed on its card
    address: dict[str, dict[str, str]] = field(default_factory=dict)  # by page, what it adds to its address
    importing: Import | None = None  # under way
    table: TableExport | None = None  # of many profiles, under way or made
    written: dict[str, str] | None = None  # what the address says, as far as this tab knows

    @cached_property
    def profile(self) -> OpenRecord[ProfileDraft]:
        """The profile that is worked on."""
        return OpenRecord(PROFILE_FORM, self.store)

    # The forms of these are imported when a page first asks: the list of profiles comes up before.

    @cached_property
    def trailer(self) -> OpenRecord[TrailerDraft]:
        """The trailer that is worked on."""
        from planner.forms.trailer_form import TRAILER_FORM

        return OpenRecord(TRAILER_FORM, self.store)

    @cached_property
    def truck(self) -> OpenRecord[TruckDraft]:
        """The truck that is worked on."""
        from planner.forms.truck_form import TRUCK_FORM

        return OpenRecord(TRUCK_FORM, self.store)

    @cached_property
    def slip(self) -> OpenRecord[SlipDraft]:
        """The scale slip that is worked on."""
        from planner.forms.slip_form import SLIP_FORM

        return OpenRecord(SLIP_FORM, self.store)

    @property
    def records(self) -> tuple[OpenRecord[Any], ...]:
        """All that was worked on since the tab came up."""
        return tuple(one for one in vars(self).values() if isinstance(one, OpenRecord))

    @property
    def has_reply(self) -> bool:
        """Whether there is anything to say of the last action."""
        return bool(self.said or self.undo or self.problems)

    def forget_action(self) -> None:
        """Have nothing to say of the last action any more."""
        self.said, self.problems, self.undo, self.at, self.nameless = "", (), None, "", ""
        for one in self.records:
            one.notes = ()
