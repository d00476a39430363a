"""A load weighed by the bags: gauge and tape at the corners, before it came on and after."""

from typing import Annotated

from pydantic import Field

from planner.records.base import Record
from planner.records.fields import Name
from planner.records.file_header import SchemaVersion
from planner.records.reading import Reading


class BagWeighing(Record):
    """Two readings of one truck, or one with the load on; what else is aboard is the same in both."""

    schema_version: Annotated[SchemaVersion, Field(alias="schema")] = 1
    profile: Name  # of what the truck is and carries besides, by name
    hooked: bool = True  # whether what came on is the load of its hitch; else any load on both axles
    before: Reading | None = None  # left out: the truck as it is said to be stands for it
    after: Reading
