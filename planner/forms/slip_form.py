"""The form of a scale slip, and what its numbers may become: fields of the trailer and the truck that were weighed."""

# ruff: noqa: ARG002  # of what a form may be asked, it looks at what it needs

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Final, Protocol

from pydantic import ValidationError

from planner.errors import BadInput, Refusal
from planner.forms.draft import Draft, Form
from planner.forms.fields import Field, Value, change_record, find_place
from planner.forms.trailer_form import weighed_trailer
from planner.plans.scale_readings import Told
from planner.plans.weighing import Weighed
from planner.records import Slip, Trailer, Truck, Weighing, problems_of, read_record
from planner.records.file_header import Described, Filed
from planner.store import SLIP, TRAILER, TRUCK, Kind, Store
from planner.units.quantity import Quantity, System, in_unit_of, read

SlipDraft = Draft[Slip]

NEW_NAME: Final = "New slip"
ON: Final = "on"
PARTS: Final = ("alone", "hitched", "hitched_with_bars", "trailer_alone", "lever")
SHARE_DECIMALS: Final = 4
DECK: Final = "deck"  # the offer that takes the place of a deck plan
FINEST: Final = 20.0  # parts of a scale's division to which a weight is written


class SlipForm(Form[SlipDraft]):
    """The form of a slip."""

    def owns(self, key: str) -> bool:
        """Tell whether a field is read by the form itself: the date."""
        return key == ON

    def own_field(self, key: str) -> Field | None:
        """Return how the date is asked for."""
        return Field("text", optional=True, required=False, label="Date") if key == ON else None

    def value(self, draft: SlipDraft, key: str) -> Value:
        """Return the date as it is written."""
        return None if draft.record.on is None else draft.record.on.isoformat()

    def put(self, draft: SlipDraft, key: str, text: str, system: System) -> SlipDraft:
        """Return the draft with a date in it."""
        return replace(draft, record=draft.record.replaced(on=text.strip() or None))

    def fresh(self, record: Any) -> Filed:
        """Return what a new slip was before anything was typed: that of the truck and trailer it was begun with."""
        return begin().replaced(truck=record.truck, trailer=record.trailer, hitch=record.hitch)

    def change(self, record: Any, values: Mapping[str, Value]) -> Any:
        """Return a slip with some fields changed; a table that has nothing left in it goes."""
        changed: Slip = change_record(record, values)
        empty = {name: None for name in PARTS if (one := getattr(changed, name)) is not None and not one.as_file()}
        return changed.replaced(**empty) if empty else changed


def begin() -> Slip:
    """Return the slip that a new one starts from: nothing weighed yet."""
    return read_record(Slip, {"schema": 1, "name": NEW_NAME}, NEW_NAME)


SLIP_FORM: Final = SlipForm(SLIP, begin)


Files = Mapping[Kind[Any], tuple[str | None, Described | None]]  # by kind, the slug and what stands there


class Sure(Protocol):
    """Something told with its standard uncertainty."""

    @property
    def value(self) -> float:
        """What is told."""

    @property
    def sd(self) -> float:
        """One standard deviation of it."""


@dataclass(frozen=True)
class Offer:
    """Something that a slip tells and a file can hold.

    Attributes
    ----------
    name : of the choice
    label : what it is called
    kind : of the file that it goes into
    values, spreads : by key, what the fields become, and one standard deviation of each
    former : by key, what stands there now, as text
    certain : whether it is ticked to begin with
    """

    name: str
    label: str
    kind: Kind[Any]
    values: Mapping[str, Quantity | float]
    spreads: Mapping[str, Quantity | float]
    former: Mapping[str, str]
    certain: bool = True

    @property
    def words(self) -> str:
        """What changes: "12 % becomes 11.9 %"; or that it was so, and is weighed now."""
        changes = ((self.former[key], _text(value)) for key, value in self.values.items())
        return "; ".join(f"{was}, as weighed" if was == now else f"{was} becomes {now}" for was, now in changes)


@dataclass(frozen=True)
class Used:
    """What was written: by kind and slug, the record before and after."""

    records: tuple[tuple[Kind[Any], str, Described, Described], ...]

    @property
    def names(self) -> str:
        """What was changed, by name."""
        return " and ".join(after.name for _, _, _, after in self.records)


def find_offers(found: Weighed) -> list[Offer]:
    """Return what may be written into the files of truck and trailer that a slip names."""
    return [*_trailer_offers(found), *_truck_offers(found)]


def use_slip(store: Store, found: Weighed, chosen: Collection[str], today: date) -> Used:
    """Write what was chosen into the files of truck and trailer, both or neither, and return what was there.

    Each field is its owner's own from then on: no longer typical, its spread that of the scale, with date and source of
    the weigh-in beside it.

    Raises
    ------
    ConflictError
        If a file was changed since the slip was looked at.
    BadInput
        If nothing was chosen, or a record cannot be with it, or the disk refuses.
    """
    offers = [one for one in find_offers(found) if one.name in chosen]
    files: Files = {TRAILER: (found.slip.trailer, found.trailer), TRUCK: (found.slip.truck, found.truck)}
    return use_offers(store, offers, files, found.slip.on or today, found.slip.source)


def use_offers(
    store: Store,
    offers: Sequence[Offer],
    files: Files,
    on: date,
    source: str,
) -> Used:
    """Write offers into files, all or none, each with date and source, and return what was there.

    What is raised: as by `use_slip`.
    """
    if not offers:
        raise Refusal("must be something to use", "nothing chosen", "tick what is to be written")
    done: list[tuple[Kind[Any], str, Described, Described]] = []
    for kind, (slug, record) in files.items():
        mine = [one for one in offers if one.kind is kind]
        if mine and slug is not None and record is not None:
            done.append((kind, slug, record, _with_offers(record, mine, on, source)))
    store.write_together([(after, slug, before) for _, slug, before, after in done])
    return Used(tuple(done))


def take_back(store: Store, used: Used) -> None:
    """Write again what stood in the files before; ConflictError if one was changed since, and nothing is written."""
    store.write_together([(before, slug, after) for _, slug, before, after in used.records])


def _with_offers(record: Described, offers: list[Offer], on: date, source: str) -> Described:
    """Return a record with what is offered in it."""
    values: dict[str, Any] = {key: value for one in offers for key, value in one.values.items()}
    former = tuple(one.former[key] for one in offers for key in one.values)
    spread = {**record.spread, **{key: value for one in offers for key, value in one.spreads.items()}}
    new = Weighing(on=on, source=source, fields=tuple(values), former=former)
    if isinstance(record, Trailer) and any(one.name == DECK for one in offers):
        record = weighed_trailer(record)
    try:
        changed = change_record(record, values)
        own = {"spread": spread, "correlation": record.correlation_without(values)}  # weighed by itself
        return changed.replaced(**own, weighings=(*record.weighings, new))
    except ValidationError as exc:
        raise BadInput(problems_of(exc, type(record), record.name)) from exc


def _trailer_offers(found: Weighed) -> Iterator[Offer]:
    """Yield what goes into the trailer's file.

    One that is given by deck items keeps them unless its owner wants weight and ratio, both told, in their place.
    """
    trailer = found.trailer
    if trailer is None or found.slip.trailer is None:
        return
    told = found.told
    if trailer.deck:
        if "gross" in told and "tongue_ratio" in told:
            weighed = weighed_trailer(trailer)
            yield _joined_offer(
                DECK,
                f"Weight and ratio in place of its deck plan of {len(trailer.deck)}",
                _weight_offer("gross", "", TRAILER, weighed, {"gross_weight": told["gross"]}, found),
                share_offer("ratio", "", TRAILER, weighed, "tongue_ratio", told["tongue_ratio"]),
            )
    else:
        if "gross" in told:
            yield _weight_offer(
                "gross", "Trailer's gross weight", TRAILER, trailer, {"gross_weight": told["gross"]}, found
            )
        if "tongue_ratio" in told:
            yield share_offer("ratio", "Tongue ratio", TRAILER, trailer, "tongue_ratio", told["tongue_ratio"])
        if "trailer_left" in told:
            yield share_offer("left", "Left share of its weight", TRAILER, trailer, "left_share", told["trailer_left"])
    if "restoration" in told:
        bars = share_offer("bars", "What bars put back", TRAILER, trailer, "bars", told["restoration"])
        yield replace(bars, certain=False)


def _joined_offer(name: str, label: str, *parts: Offer) -> Offer:
    """Return several offers as one, which is for its owner to tick."""
    values, spreads, former = (
        {key: one for part in parts for key, one in getattr(part, what).items()}
        for what in ("values", "spreads", "former")
    )
    return Offer(name, label, parts[0].kind, values, spreads, former, certain=False)


def _truck_offers(found: Weighed) -> Iterator[Offer]:
    """Yield what goes into the truck's file."""
    truck, told = found.truck, found.told
    if truck is None or found.slip.truck is None or found.slip.alone is None:
        return
    if "front" in told and "rear" in told:
        weights = {"kerb.front_axle": told["front"], "kerb.rear_axle": told["rear"]}
        yield _weight_offer("kerb", "Kerb axles, truck alone", TRUCK, truck, weights, found)
    if "truck_left" in told:
        yield share_offer("kerb-left", "Left wheels' share", TRUCK, truck, "kerb.left_share", told["truck_left"])


def _weight_offer(
    name: str, label: str, kind: Kind[Any], record: Truck | Trailer, weights: Mapping[str, Told], found: Weighed
) -> Offer:
    """Return an offer of weights, in the unit of the scale's division, to a twentieth of it."""
    division = found.slip.resolution
    values = {key: _rounded(told.value, division) for key, told in weights.items()}
    spreads = {key: _rounded(told.sd, division) for key, told in weights.items()}
    return Offer(name, label, kind, values, spreads, {key: _former(record, key) for key in weights})


def share_offer(name: str, label: str, kind: Kind[Any], record: Truck | Trailer, key: str, told: Sure) -> Offer:
    """Return an offer of a share: its value and standard uncertainty are told."""
    value, spread = round(told.value, SHARE_DECIMALS), round(max(told.sd, 10.0**-SHARE_DECIMALS), SHARE_DECIMALS)
    return Offer(name, label, kind, {key: value}, {key: spread}, {key: _former(record, key)})


def _rounded(weight: float, division: Quantity) -> Quantity:
    """Return a weight [kg] in the unit of a division, to a twentieth of it."""
    step = float(division) / FINEST
    return read(in_unit_of(max(1, round(weight / step)) * step, division), "weight")


def _former(record: Truck | Trailer, key: str) -> str:
    """Return what stands in a field, as text."""
    return _text(find_place(record, key).value)


def _text(value: Any) -> str:
    """Return a value as people read it: a weight as typed, a share in percent."""
    return value.text if isinstance(value, Quantity) else f"{100 * value:.4g} %"
