"""Times as files have them: of a calendar that can be shown anywhere on earth, or none at all."""

from datetime import UTC, datetime
from typing import Final

FIRST: Final = datetime(1970, 1, 1, tzinfo=UTC)
LAST: Final = datetime(9998, 12, 31, tzinfo=UTC)  # a day more or less, as time zones have it, is still a date


def of_file(seconds: float) -> datetime | None:
    """Return when a file was written (UTC), given the disk's count; None for what no planner can have written."""
    try:
        at = datetime.fromtimestamp(seconds, UTC)
    except (ValueError, OverflowError, OSError):
        return None
    return at if FIRST <= at <= LAST else None


def of_text(text: object) -> datetime | None:
    """Return an ISO 8601 time with its offset (UTC); None for anything else."""
    try:
        at = datetime.fromisoformat(text) if isinstance(text, str) else None
    except ValueError:
        return None
    if at is None or at.tzinfo is None or not FIRST <= at <= LAST:  # aware times compare without being converted
        return None
    return at.astimezone(UTC)
