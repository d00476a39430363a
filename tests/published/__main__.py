"""Write the table of comparisons that the Method page shows: `python -m tests.published [FILE]`.

It runs the tests of this folder, and writes what each compared. Without FILE it writes the package's own table.
"""

import json
import sys
from pathlib import Path

import pytest

from planner.show.text.method import CHECKS

from .comparison import CHECK


class Table:
    """The comparisons of a run of pytest, by their sources."""

    def __init__(self) -> None:
        self.sources: dict[str, dict[str, object]] = {}

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Take in what a test compared."""
        for name, value in report.user_properties if report.when == "call" else ():
            if name == CHECK:
                row = dict(value)
                source = {"source": row.pop("source"), "note": row.pop("note"), "checks": []}
                self.sources.setdefault(source["source"], source)["checks"].append(row)

    def text(self) -> str:
        """Return the table as a file: one line a comparison."""
        parts = []
        for source in self.sources.values():
            rows = ",\n".join(f"  {json.dumps(row, ensure_ascii=False)}" for row in source["checks"])
            head = ", ".join(
                f"{json.dumps(k)}: {json.dumps(source[k], ensure_ascii=False)}" for k in ("source", "note")
            )
            parts.append(f'{{{head}, "checks": [\n{rows}\n]}}')
        return "[\n" + ",\n".join(parts) + "\n]\n"


def main() -> int:
    """Run the tests and write the table, unless one of them failed."""
    table, file = Table(), Path(sys.argv[1]) if len(sys.argv) > 1 else CHECKS
    failed = pytest.main(["-q", "-p", "no:cacheprovider", str(Path(__file__).parent)], plugins=[table])
    if not failed:
        file.write_text(table.text(), "utf-8")
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
