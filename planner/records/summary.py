"""What a list shows of a record: a few texts, which can be kept and read back without the file."""

from dataclasses import dataclass
from datetime import datetime

from planner.records.corners import CORNERS
from planner.records.file_header import Filed
from planner.records.profile import Pressures, Profile
from planner.records.slip import Slip
from planner.records.truck import Truck


@dataclass(frozen=True)
class Brief:
    """A record in a few texts; all but the name are a profile's, truck and trailer a slip's too, the charts a truck's.

    Attributes
    ----------
    name : its own
    truck, trailer : file names without folder and ending
    cargo : the names of what rides on the truck
    set_to : the saved pressures as typed, by corner; empty if none are saved
    read_at : time of the last reading, ISO 8601; empty if there is none
    charts : file names of the charts that a truck's bags have
    """

    name: str
    truck: str | None = None
    trailer: str | None = None
    cargo: tuple[str, ...] = ()
    set_to: tuple[str | None, ...] = ()
    read_at: str = ""
    charts: tuple[str, ...] = ()

    @classmethod
    def of(cls, record: Filed) -> "Brief":
        """Return a record in brief."""
        if isinstance(record, Truck):
            return cls(record.name, charts=tuple(record.charts.values()))
        if isinstance(record, Slip):
            return cls(record.name, record.truck, record.trailer)
        if not isinstance(record, Profile):
            return cls(record.name)
        saved = [] if record.pressures is None else [getattr(record.pressures, corner) for corner in CORNERS]
        return cls(
            record.name,
            record.truck,
            record.trailer,
            tuple(item.name for item in record.cargo),
            tuple(None if one is None else one.text for one in saved),
            record.readings[-1].at.isoformat() if record.readings else "",
        )

    def names(self, kind: str) -> tuple[str, ...]:
        """Return the files of a kind ("truck", "trailer", "bag") that it names."""
        called = {"truck": (self.truck,), "trailer": (self.trailer,), "bag": self.charts}.get(kind, ())
        return tuple(one for one in called if one is not None)

    @property
    def pressures(self) -> Pressures | None:
        """The saved pressures."""
        given = {corner: text for corner, text in zip(CORNERS, self.set_to, strict=False) if text is not None}
        return Pressures.model_validate(given) if self.set_to else None

    @property
    def trimmed(self) -> datetime | None:
        """Time of the last reading."""
        return datetime.fromisoformat(self.read_at) if self.read_at else None
