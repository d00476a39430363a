"""A draft of any record: what it is now, every value good, and every text that is no value yet.

A field is named by a key: "gvwr", "cargo.2.x", "front.bag.fitted_height". A text that reads goes into the record; one
that does not is kept as it was typed, and the record stays at the last good value. Fields may depend on each other: two
things on a deck may have to move before the tongue presses down again. So a text that reads but does not fit with the
others waits among the typed ones, and goes in with the one that makes it fit.

What a kind of record has of its own is in its `Form`.
"""

# ruff: noqa: ARG002  # a form says what it may be asked, and each kind of record looks at what it needs

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from typing import Any, Final, Generic, Self, TypeVar

from pydantic import ValidationError

from planner.forms.fields import (
    Field,
    FreeText,
    Place,
    Value,
    change_inside,
    change_record,
    find_field,
    find_place,
    is_place,
    label_at,
    models_in,
    path_of,
    path_without,
    row_fields,
)
from planner.records import Record, problems_of
from planner.records.field_paths import nested
from planner.records.file_header import Filed
from planner.store import Kind, Store
from planner.units.quantity import Refusal, System, display

NEW: Final = "_new"  # stands for a record that has no file yet; no slug looks like it
SAVING: Final = "saving"  # what is asked when saving: saving.name, …
NAME: Final = f"{SAVING}.name"

R = TypeVar("R", bound=Filed)
D = TypeVar("D", bound="Draft[Any]")


@dataclass(frozen=True)
class Draft(Generic[R]):
    """A record being written down.

    Attributes
    ----------
    form : what its kind has of its own
    slug : of its file, NEW before it has one
    base : as it was read; None before it has a file
    record : as it is now, every value good
    typed : by field, texts that are not in it: bad ones, those that do not fit yet, those of a row not added yet
    aside : what belongs to it and is in no file, as JSON knows it
    """

    form: Form[Any]
    slug: str
    base: R | None
    record: R
    typed: Mapping[str, str] = field(default_factory=dict)
    aside: Mapping[str, Any] = field(default_factory=dict)

    @property
    def changed(self) -> bool:
        """Whether it differs from its file, or from what a new one begins as."""
        return bool(self.record != (self.form.fresh(self.record) if self.base is None else self.base))

    @property
    def worth_keeping(self) -> bool:
        """Whether something would be lost with the tab."""
        return self.changed or bool(self.typed)

    @property
    def unsaved(self) -> bool:
        """Whether its file lacks something: what is typed for no field of the record never goes there."""
        return self.changed or any(not key.startswith(self.form.free) for key in self.typed)

    def with_typed(self, key: str, text: str) -> Self:
        """Return the draft with a text kept for a field."""
        return replace(self, typed={**self.typed, key: text})

    def without_typed(self, *keys: str) -> Self:
        """Return the draft with no text kept for some fields."""
        if not any(key in self.typed for key in keys):
            return self
        return replace(self, typed={key: text for key, text in self.typed.items() if key not in keys})

    def is_same(self, other: Draft[Any]) -> bool:
        """Tell whether another draft says the same, whatever file it began from."""
        return (self.record, self.typed, self.aside) == (other.record, other.typed, other.aside)


class Form(Generic[D]):
    """How records of one kind are filled in: as any record is, but for what a kind overrides.

    Attributes
    ----------
    free : how the keys begin that are kept as typed and are no fields of the record
    texts : by the first word of such a key, how its text is asked for and read
    chosen : by such a key, the list of which it holds a place
    also : records whose rules are asked besides those in the record
    stored : what a draft file calls the record and what is laid aside
    ask_again : choices made in view of the files, to be made anew when those changed
    done : what is said of one that was saved
    follows : whether fields may change with others
    """

    free: tuple[str, ...] = (f"{SAVING}.",)
    texts: Mapping[str, FreeText] = {}
    chosen: Mapping[str, str] = {}
    also: tuple[type[Record], ...] = ()
    stored: tuple[str, str] = ("record", "aside")
    ask_again: tuple[str, ...] = ()
    done: str = "is saved."
    follows: bool = False

    def __init__(self, kind: Kind[Any], begin: Callable[[], Filed], rows: Mapping[str, str] | None = None) -> None:
        """Fill in a kind of file.

        Parameters
        ----------
        kind : of the files
        begin : what a new record begins as
        rows : lists of things in it; by field, how the keys of the row begin that is not added yet
        """
        self.kind, self.begin, self.rows = kind, begin, rows or {}

    # What a kind may do otherwise

    def bind(self, store: Store, plain: Any) -> D:
        """Return a draft with whatever else it needs from the files; BadInput if that cannot be read."""
        draft: D = plain
        return draft

    def new(self, store: Store) -> D:
        """Return the draft of a record without a file."""
        return self.bind(store, Draft(self, NEW, None, self.begin()))

    def fresh(self, record: Any) -> Filed:
        """Return what a new record was before anything was typed."""
        return self.begin()

    def refresh(self, store: Store, draft: D) -> D:
        """Return the draft with what it needs from other files read anew; BadInput if that cannot be."""
        return draft

    def check_aside(self, store: Store, aside: Mapping[str, Any]) -> None:
        """Raise a ValueError for what cannot have been laid aside."""

    def owns(self, key: str) -> bool:
        """Tell whether a field is put and read by the form itself."""
        return False

    def put(self, draft: D, key: str, text: str, system: System) -> D:
        """Return the draft with a text in a field that the form owns; Refusal or ValidationError if it cannot be."""
        return draft

    def value(self, draft: D, key: str) -> Value:
        """Return the good value of a field that the form owns."""
        return None

    def own_field(self, key: str) -> Field | None:
        """Return how a key is asked for that the form owns or keeps as typed."""
        found = self.texts.get(key.partition(".")[0])
        return None if found is None else found.field(key)

    def check_free(self, draft: D, key: str, text: str, system: System) -> None:
        """Raise Refusal for a text that is kept as typed and makes no sense."""
        if (found := self.texts.get(key.partition(".")[0])) is not None:
            found.read(key, text, system)

    def keep_free(self, key: str, text: str, system: System) -> str:
        """Return a text that is kept as typed, as it is kept: a number with the unit it was typed in."""
        found = self.texts.get(key.partition(".")[0])
        with suppress(Refusal):
            return text if found is None else str(getattr(found.read(key, text, system), "text", text))
        return text

    def refuse_removal(self, draft: D, rows: str) -> None:
        """Raise Refusal where nothing may be taken out of a list."""

    def check_savable(self, draft: D) -> None:
        """Raise BadInput where something is to be settled before saving."""

    def save(self, store: Store, draft: D, name: str | None) -> D:
        """Write the record to its file, or under a name as a new one, and return the draft of what was written.

        Raises
        ------
        ConflictError
            If the file was changed elsewhere meanwhile; nothing is written.
        BadInput
            If it cannot be written; what was on the disk is whole.
        """
        if name is None:
            slug = store.write(draft.record, draft.slug, expected=draft.base)
        else:
            slug = store.save_as(draft.record, name, like=None if draft.slug == NEW else draft.slug)
        return open_draft(self, store, slug)

    def files(self, draft: D) -> Iterator[tuple[Kind[Any], str, Filed]]:
        """Yield the files that a draft would be: kind, slug, record; its own first."""
        yield self.kind, draft.slug, draft.record

    def path_of(self, key: str) -> str:
        """Return the path of the field of the record that a key is about."""
        return path_of(key)

    def guessed(self, record: Any) -> tuple[str, ...]:
        """Return the paths of fields that hold typical values."""
        return tuple(getattr(record, "typical", ()))

    def change(self, record: Any, values: Mapping[str, Value]) -> Any:
        """Return a record with some fields changed together; ValidationError if they cannot stand."""
        return change_record(record, values)

    # What is the same for all

    def is_free(self, key: str) -> bool:
        """Tell whether a key is kept as typed."""
        return key.startswith(self.free) or self.find_waiting(key) is not None

    def find_waiting(self, key: str) -> tuple[type[Record], str] | None:
        """Return the record and the field of it that a key of a row not added yet is for; None for another key."""
        for rows, prefix in self.rows.items():
            if key.startswith(f"{prefix}."):
                return self.row_model(rows), key.removeprefix(f"{prefix}.")
        return None

    def row_model(self, rows: str) -> type[Record]:
        """Return the record that the things of a list are."""
        found, _ = nested(self.kind.record.model_fields[rows].annotation)
        assert found is not None
        assert issubclass(found, Record)
        return found

    def refusal(self, error: ValidationError, record: Record | None = None, key: str = "") -> Refusal:
        """Return the first of the faults of a record as a refusal; one of another field than the key's names that."""
        own: type[Record] = self.kind.record
        cls = (models_in(own) | {one.__name__: one for one in self.also}).get(error.title, own)
        of = problems_of(error, cls, "", percent=True)[0]
        label = label_at(record, of.field, self.path_of(key)) if cls is own else ""  # else no field of this record
        return Refusal(label + of.rule, of.value, of.remedy)


# Opening and keeping


def open_draft(form: Form[D], store: Store, slug: str) -> D:
    """Return the draft of a record as its file has it; BadInput if it, or what it needs, cannot be read."""
    if slug == NEW:
        return form.new(store)
    record = store.read(form.kind, slug)
    return form.bind(store, Draft(form, slug, record, record))


def to_json(draft: Draft[Any]) -> dict[str, Any]:
    """Return what a draft file holds, as JSON knows it."""
    record, aside = draft.form.stored
    return {
        "base": None if draft.base is None else _texts(draft.base),
        record: _texts(draft.record),
        aside: dict(draft.aside),
        "typed": dict(draft.typed),
    }


def from_json(form: Form[D], store: Store, slug: str, content: Mapping[str, Any]) -> D:
    """Return the draft that a file holds.

    Raises
    ------
    BadInput
        If another file that it needs cannot be read.
    ValueError, TypeError, KeyError, AttributeError
        If it is not what `to_json` wrote.
    """
    cls, (called, laid) = form.kind.record, form.stored
    base = None if content["base"] is None else cls.model_validate(content["base"])
    typed, aside = dict(content["typed"].items()), dict(content[laid].items())
    for text in (*typed.keys(), *typed.values()):
        text.encode("utf-8")  # half a letter has no code, and no page could be sent with it
    form.check_aside(store, aside)
    draft = form.bind(store, Draft(form, slug, base, cls.model_validate(content[called]), typed, aside))
    check_typed(draft)
    return draft


def check_typed(draft: Draft[Any]) -> None:
    """Raise a ValueError if a text is kept for what is no field of this record, as in a draft changed by hand."""
    form = draft.form
    for key, text in draft.typed.items():
        if not form.is_free(key) and (not form.owns(key) or key.partition(".")[0] in form.rows):
            find_place(draft.record, key)
        if key in form.chosen and not is_place(text, getattr(draft.record, form.chosen[key])):
            raise ValueError(f"{text} is no place in its {form.chosen[key]}")
        value_of(draft, key)
        fault_of(draft, key, "us")


# Fields


def enter_text(draft: D, key: str, text: str, system: System) -> D:
    """Return the draft after a text was typed into a field; it goes in as soon as all that wait for it fit."""
    form = draft.form
    if form.is_free(key):
        return draft.with_typed(key, form.keep_free(key, text, system)) if text.strip() else draft.without_typed(key)
    if not form.owns(key):
        return _put_waiting(_settle(draft.with_typed(key, text), system, key), system)
    try:
        put: D = form.put(draft.without_typed(key), key, text, system)
    except (Refusal, ValidationError):
        return draft.with_typed(key, text)
    return _put_waiting(_settle(put, system) if form.follows else put, system)


def _put_waiting(draft: D, system: System) -> D:
    """Return the draft with the texts in it of fields that the form owns, and that fit by now."""
    for key in [one for one in draft.typed if draft.form.follows and draft.form.owns(one)]:
        try:
            draft = draft.form.put(draft.without_typed(key), key, draft.typed[key], system)
        except (Refusal, ValidationError):
            continue
    return draft


def fault_of(draft: Draft[Any], key: str, system: System) -> Refusal | None:
    """Return what is wrong with the text kept for a field, if anything."""
    if key not in draft.typed:
        return None
    form, text = draft.form, draft.typed[key]
    try:
        if waiting := form.find_waiting(key):
            _read_alone(Place(waiting[0], None, waiting[1]), text, system)
        elif form.is_free(key):
            form.check_free(draft, key, text, system)
        elif form.owns(key):
            form.put(draft, key, text, system)
        else:
            _read_alone(find_place(draft.record, key), text, system)
            form.change(draft.record, _readable(draft, system))
    except Refusal as refusal:
        return field_of(draft, key).as_shown(text, refusal)
    except ValidationError as exc:
        return field_of(draft, key).as_shown(text, form.refusal(exc, draft.record, key))
    return None


def bad_fields(draft: Draft[Any], system: System) -> list[str]:
    """Return the fields with a text that cannot be used; the answer does not know of them."""
    return [key for key in draft.typed if not draft.form.is_free(key) and fault_of(draft, key, system) is not None]


def text_of(draft: Draft[Any], key: str, system: System) -> str:
    """Return what a field shows: the text kept for it, else its value."""
    return draft.typed[key] if key in draft.typed else field_of(draft, key).write(value_of(draft, key), system)


def value_of(draft: Draft[Any], key: str) -> Value:
    """Return the good value of a field; None where it has none."""
    if draft.form.is_free(key):
        return None
    return draft.form.value(draft, key) if draft.form.owns(key) else find_place(draft.record, key).value


def field_of(draft: Draft[Any], key: str) -> Field:
    """Return how a field is asked for; a text where nothing more is known of it."""
    form = draft.form
    if waiting := form.find_waiting(key):
        return find_field(*waiting)
    if form.is_free(key) or form.owns(key):
        return form.own_field(key) or Field("text")
    return find_place(draft.record, key).field


def step_field(draft: D, key: str, up: bool, system: System) -> D:
    """Return the draft with a field one step up or down from its last good value, on a whole step."""
    asked, value = field_of(draft, key), value_of(draft, key)
    assert asked.step is not None  # else it has no buttons
    step = asked.step.metric if system == "metric" else asked.step.us
    if asked.dimension is None:
        number = 100 * (value if isinstance(value, float) else 0.5)
    else:
        number = 0.0 if value is None else display(float(value), asked.dimension, system)[0]
    steps = round(number / step, 6)
    new = step * (steps // 1 + 1 if up else -(-steps // 1) - 1)
    return enter_text(draft, key, f"{new:.10g} {asked.unit(system)}", system)


# Rows


def with_added(draft: D, rows: str, system: System) -> D:
    """Return the draft with the waiting row in its list; ValidationError or Refusal if it is incomplete or unfit."""
    cls, prefix = draft.form.row_model(rows), draft.form.rows[rows]
    asked = row_fields(cls)
    texts = {name: draft.typed.get(f"{prefix}.{name}", "") for name in asked}
    replaced = {other for name, text in texts.items() if text.strip() for other in asked[name].instead_of}
    given = {
        name: asked[name].read(text, system)
        for name, text in texts.items()
        if name not in replaced and (text.strip() or asked[name].required)
    }
    item = cls.model_validate(given)
    kept = {key: text for key, text in draft.typed.items() if not key.startswith(f"{prefix}.")}
    waiting = _readable(draft, system)
    try:
        record = _with_item(draft.form.change(draft.record, waiting), rows, item)
        kept = {key: text for key, text in kept.items() if key not in waiting}
    except ValidationError:
        record = _with_item(draft.record, rows, item)
    return _settle(replace(draft, record=record, typed=kept), system)


def without_row(draft: D, rows: str, place: int, system: System) -> D:
    """Return the draft without one thing of a list; texts kept for the later ones move up with them.

    Raises
    ------
    Refusal
        If the record cannot be without it.
    """
    draft.form.refuse_removal(draft, rows)
    typed = {}
    for key, text in draft.typed.items():
        head, _, rest = key.partition(".")
        row, _, name = rest.partition(".")
        if head == rows and int(row) >= place:
            if int(row) > place:
                typed[f"{rows}.{int(row) - 1}.{name}"] = text
        elif draft.form.chosen.get(key) != rows:
            typed[key] = text
    left = tuple(item for n, item in enumerate(getattr(draft.record, rows)) if n != place)
    changes: dict[str, Any] = {rows: left}
    if guessed := getattr(draft.record, "typical", ()):
        changes["typical"] = tuple(path for one in guessed if (path := path_without(one, rows, place)))
    try:
        record = draft.record.replaced(**changes)
    except ValidationError as exc:
        raise draft.form.refusal(exc) from exc
    return _settle(replace(draft, record=record, typed=typed), system)


def _with_item(record: R, rows: str, item: Record) -> R:
    """Return a record with a thing more in a list."""
    return record.replaced(**{rows: (*getattr(record, rows), item)})


def _settle(draft: D, system: System, newest: str = "") -> D:
    """Return the draft with all texts in it that read, if they fit together; else with the newest, if that one fits."""
    values = _readable(draft, system)
    for some in (values, {key: value for key, value in values.items() if key == newest}):
        try:
            record = draft.form.change(draft.record, some)
        except ValidationError:
            continue
        return replace(draft, record=record).without_typed(*some)
    return draft


def _readable(draft: Draft[Any], system: System) -> dict[str, Value]:
    """Return the values of the texts that can stand by themselves."""
    found: dict[str, Value] = {}
    for key, text in draft.typed.items():
        if not draft.form.is_free(key) and not draft.form.owns(key):
            try:
                found[key] = _read_alone(find_place(draft.record, key), text, system)
            except Refusal:
                continue
    return found


def _read_alone(place: Place, text: str, system: System) -> Value:
    """Return what a text says in its field; Refusal if that cannot be, whatever stands in the other fields."""
    value = place.field.read(text, system)
    try:
        change_inside(place.cls, place.record, {place.name: value})
    except ValidationError as exc:
        for problem in problems_of(exc, place.cls, "", percent=True):
            if problem.field.split(".")[0].split("[")[0] == place.name:
                raise Refusal(problem.rule, problem.value, problem.remedy) from exc
    return value


def _texts(record: Record) -> dict[str, Any]:
    """Return a record as texts and numbers, only what was given."""
    return record.model_dump(mode="json", by_alias=True, exclude_unset=True)
