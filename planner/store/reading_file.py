"""A file with one reading: the four corner tables, as a profile has them."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from planner.errors import StoreError
from planner.records import Reading, read_record
from planner.store.reading import read_document


def read_reading(path: Path, now: datetime) -> Reading:
    """Return the reading in a file; its time is `at`, or `now` where the file has none.

    Raises
    ------
    BadInput
        If there is no such file, or it holds no reading.
    """
    try:
        data = read_document(path, str(path)).data
    except FileNotFoundError as exc:
        remedy = (
            'check the path; the file has tables such as front_left = { pressure = "42 psi", ride_height = "20 in" }'
        )
        raise StoreError(str(path), "is not there", remedy) from exc
    given = {key: value for key, value in data.items() if key != "schema"}
    return read_record(Reading, {"at": now} | given, str(path))
