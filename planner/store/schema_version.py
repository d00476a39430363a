"""Files of an older schema are read through steps, one from each schema to the next; newer ones are left alone.

A kind of file has its steps: ``{1: step}`` takes the table of a file of schema 1 to that of schema 2. A step returns a
new table and copes with one that is damaged: what it hands on is checked as any file is. The file itself stays as it is
until something in it is saved; then the old one is kept beside it, dated (`planner.store.recycle_bin.keep_former`).
"""

from dataclasses import replace
from typing import Any

from planner.errors import StoreError
from planner.records import read_record
from planner.records.file_header import NEWER
from planner.store import toml_layout
from planner.store.kinds import Kind, R
from planner.store.reading import Document


def read_kind(kind: Kind[R], document: Document, file: str) -> tuple[R, Document]:
    """Return the record in a document, and the document in the schema of today.

    Raises
    ------
    BadInput
        With all that is wrong with it; that it is of a newer schema is the only thing to say of one that is.
    """
    current = document if (former := _schema(document.data)) is None else _brought_up(kind, document, former, file)
    return read_record(kind.record, current.data, file), current


def _schema(data: dict[str, Any]) -> int | None:
    """Return the schema a file says it is of; None where that is no number, which the record tells."""
    found = data.get("schema")
    return found if type(found) is int else None


def _brought_up(kind: Kind[R], document: Document, schema: int, file: str) -> Document:
    """Return a document in the schema of today; one that no step knows is left for the record to refuse."""
    if schema > kind.schema:
        raise StoreError(file, f"has schema {schema}, this planner knows up to {kind.schema}", NEWER)
    data = document.data
    for number in range(schema, kind.schema):
        if number not in kind.steps:
            return document
        try:
            data = {**kind.steps[number](data), "schema": number + 1}
        except (LookupError, TypeError, ValueError, AttributeError) as exc:
            rule = f"cannot be updated from schema {number} to {number + 1}: it is damaged"
            raise StoreError(file, rule, "fix it in a text editor, or with the planner that wrote it") from exc
    if data is document.data:
        return document
    return replace(document, text=toml_layout.amend_table(document.text, data), data=data, former=document)
