"""One tree of exceptions: whatever is raised on purpose is bad input, can be pickled and says how to get out."""

import pickle
import re
from pathlib import Path

import pytest

from planner.errors import BadInput, Change, ConflictError, Problem, Refusal, StoreError, UnknownName

PLANNER = Path(__file__).parents[1] / "planner"
ALL = [
    BadInput([Problem("a.toml", "gvwr", '"5"', "must be so", "do this")]),
    Refusal("must be so", "5", "do this"),
    UnknownName("hitch", "rope", ("receiver", "gooseneck")),
    StoreError("a.toml", "cannot be read", "allow it"),
    ConflictError("a.toml", "was changed", "look again", None, (Change("gvwr", "1 lb", "2 lb"),)),
]


@pytest.mark.parametrize("error", ALL, ids=lambda one: type(one).__name__)
def test_each_is_bad_input_and_survives_pickling(error):
    twin = pickle.loads(pickle.dumps(error))  # noqa: S301  # our own bytes
    assert isinstance(twin, BadInput)
    assert isinstance(twin, ValueError)
    assert (type(twin), str(twin), twin.problems) == (type(error), str(error), error.problems)


def test_an_unknown_name_is_a_key_error_and_says_what_there_is():
    with pytest.raises(KeyError, match="hitch must be one of receiver, gooseneck, got 'rope'"):
        raise UnknownName("hitch", "rope", ("receiver", "gooseneck"))


def test_nothing_bare_is_raised_outside_of_the_forms():
    bare = re.compile(r"raise (ValueError|TypeError|KeyError|RuntimeError)\b")
    found = [path for path in PLANNER.rglob("*.py") if bare.search(path.read_text("utf-8"))]
    assert [path for path in found if path.relative_to(PLANNER).parts[0] not in ("forms", "front")] == []
