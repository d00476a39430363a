import re
import subprocess
import sys
from pathlib import Path

import pytest

from planner.show.text import method

ROOT = Path(__file__).parents[3]


@pytest.mark.no_cover
def test_the_table_is_what_the_checks_give_now(tmp_path):
    written = tmp_path / "checks.json"
    done = subprocess.run(
        [sys.executable, "-m", "tests.published", str(written)], cwd=ROOT, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout
    assert written.read_text("utf-8") == method.CHECKS.read_text("utf-8"), "run `python -m tests.published`"


def test_every_figure_stands_in_the_table_within_its_tolerance():
    for source in method.read_checks():
        shown = method.source_html(source)
        assert shown.count("<tr>") == len(source.checks) + 1
        for check in source.checks:
            assert abs(check.ours - check.theirs) <= check.tolerance * 1.05, check  # which is told to two digits


def test_the_text_has_the_sections_that_the_page_asks_for_and_formulas_that_end():
    sections = method.read_sections()
    assert {method.IN_SHORT, method.NOT_FOR, method.LEFT_OUT} < set(sections)
    for name, words in sections.items():
        assert words.count("$$") % 2 == 0, name
        assert re.sub(r"\$\$.*?\$\$", "", words, flags=re.DOTALL).count("$") % 2 == 0, name
