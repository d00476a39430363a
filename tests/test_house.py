"""Who may import whom: data go one way, from file to screen, and the heavy libraries stay in their rooms."""

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
MODULES = sorted([*(ROOT / "planner").rglob("*.py"), *(ROOT / "pages").glob("*.py")])
ROOMS = {  # room: what of our own it may import, besides itself, errors and late
    "errors": set(),
    "late": set(),
    "units": set(),
    "records": {"units"},
    "physics": set(),
    "plans": {"records", "physics", "units"},
    "store": {"records"},
    "show": {"records", "plans", "units", "physics"},
    "forms": {"plans", "store", "records", "units"},
    "export": {"plans", "store", "show", "records", "units"},
    "cli": {"plans", "store", "show", "export", "records", "units", "front"},
    "front": {"plans", "store", "show", "forms", "export", "records", "units"},
    "pages": {"plans", "store", "show", "forms", "records", "units", "front"},
    "__main__": {"cli"},
    "library": {"records", "plans", "store", "show"},
    "__init__": {"records", "plans", "store", "library"},
}
KEPT_IN = {  # library: the rooms that may import it
    "streamlit": {"front", "pages"},
    "pint": {"units"},
    "pydantic": {"records", "units", "forms", "front"},
    "pydantic_core": {"records", "units"},
    "tomlkit": {"store"},
    "tomllib": {"store"},
    "click": {"cli", "front"},
    "filelock": {"store"},
    "fpdf": {"show"},
    "segno": {"show"},
    "contourpy": {"show"},
}
PHYSICS_MAY = {"numpy", "scipy", "planner"}


def _room(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return parts[0] if parts[0] == "pages" else parts[1]


def _imports(path: Path) -> list[str]:
    names = []
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: import by full name"
            names += [f"{node.module}.{alias.name}" for alias in node.names]
    return names


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_module_imports_only_what_its_room_may(path):
    room = _room(path)
    for name in _imports(path):
        top, _, rest = name.partition(".")
        if top == "planner" and rest:
            other = rest.split(".")[0]
            if other in ROOMS:
                assert other in {room, "errors", "late", *ROOMS[room]}, f"{path.name} imports {name}"
        assert room in KEPT_IN.get(top, {room}), f"{path.name} imports {name}"


@pytest.mark.parametrize("path", sorted((ROOT / "planner/physics").glob("*.py")), ids=lambda path: path.name)
def test_physics_needs_numpy_and_scipy_only(path):
    import sys

    outside = {name.split(".")[0] for name in _imports(path)} - PHYSICS_MAY - set(sys.stdlib_module_names)
    assert not outside


def test_session_state_is_touched_in_one_module_only():
    touching = [path for path in MODULES if "session_state" in path.read_text("utf-8")]
    assert touching == [ROOT / "planner/front/session/state.py"]


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_module_is_one_topic(path):
    lines = len(path.read_text("utf-8").splitlines())
    assert lines <= (120 if _room(path) == "pages" else 500)
