"""Any valid record can be drawn: random setups, both systems, nothing cut or overlapping."""

import pytest

from planner.plans.answer import Stance
from planner.plans.level import level_setup
from planner.show.drawings.rating_bars import load_bars
from planner.show.drawings.rear_view import from_behind
from planner.show.drawings.side_view import from_side
from planner.show.drawings.top_view import from_above
from planner.show.text.rating_rows import rating_rows
from planner.show.text.report import answer_lines
from tests.plans.random_records import random_setup
from tests.show.reading import misplaced

BEFORE = Stance(0.05, -0.05, 0.02)


@pytest.mark.parametrize("seed", range(90))
def test_any_setup_is_drawn(seed):
    setup = random_setup(seed)
    if setup is None:
        return
    answer, system = level_setup(setup), ("us", "metric")[seed % 2]
    drawings = (
        from_above(setup, answer, system),
        load_bars(setup, answer, system),
        from_side(setup, answer, system, before=BEFORE),
        from_behind(setup, answer, system, before=BEFORE),
    )
    assert [misplaced(drawing) for drawing in drawings] == [[], [], [], []]
    assert all("nan" not in drawing.svg for drawing in drawings)
    assert len(answer_lines("Any", setup, answer, system)) > 20


ROW_OF = {
    "gawr-front": "front axle (GAWR)",
    "gawr-rear": "rear axle (GAWR)",
    "gvwr": "truck (GVWR)",
    "gcwr": "truck and trailer (GCWR)",
    "tongue-rating": "tongue on the hitch",
    "trailer-rating": "trailer on the hitch",
    "trailer-gvwr": "trailer (GVWR)",
    "trailer-axle": "trailer axle",
    "trailer-tyre": "trailer tyre",
    "tyre-front": "front tyre",
    "tyre-rear": "rear tyre",
}


def _plain(label):
    for part in (" left", " right", ", each"):
        label = label.replace(part, "")
    return label.removesuffix("s")


@pytest.mark.parametrize("seed", range(90))
def test_a_bar_is_over_where_a_finding_says_so(seed):
    setup = random_setup(seed)
    if setup is None:
        return
    answer = level_setup(setup)
    over = {
        _plain(row.label)
        for group in rating_rows(setup, answer)
        for row in group.rows
        if row.over and row.kind == "load"
    }
    found = {ROW_OF[finding.code] for finding in answer.findings if finding.code in ROW_OF}
    if setup.trailer is None:
        found.discard(ROW_OF["gcwr"])  # a truck alone has no such bar
    assert {label for label in over if not label.endswith("bag")} == found
