"""Who may import whom: data go one way, from file to screen, and the heavy libraries stay in their rooms."""

import ast
import sys
from pathlib import Path

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
    "cli": {"plans", "store", "show", "forms", "export", "records", "units", "front", "cli_measure", "cli_fleet"},
    "cli_measure": {"cli", "plans", "store", "show", "records", "units"},
    "cli_fleet": {"cli", "plans", "store", "show", "export", "units"},
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
    "click": {"cli", "cli_fleet", "cli_measure", "front"},
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


def _faults_of_imports(path: Path) -> list[str]:
    room, faults = _room(path), []
    for name in _imports(path):
        top, _, rest = name.partition(".")
        other = rest.split(".")[0]
        may_not = top == "planner" and other in ROOMS and other not in {room, "errors", "late", *ROOMS[room]}
        if may_not or room not in KEPT_IN.get(top, {room}):
            faults.append(f"{path.relative_to(ROOT)} imports {name}")
        if room == "physics" and top not in PHYSICS_MAY | set(sys.stdlib_module_names):
            faults.append(f"{path.relative_to(ROOT)} imports {name}: physics needs numpy and scipy only")
    return faults


def test_modules_import_only_what_their_room_may():
    assert [fault for path in MODULES for fault in _faults_of_imports(path)] == []


def test_modules_are_one_topic_each_and_one_of_them_touches_session_state():
    faults = []
    for path in MODULES:
        text, name = path.read_text("utf-8"), path.relative_to(ROOT).as_posix()
        lines, most = len(text.splitlines()), 120 if _room(path) == "pages" else 500
        faults += [f"{name} has {lines} lines, more than {most}"] if lines > most else []
        if "session_state" in text and name != "planner/front/session/state.py":
            faults.append(f"{name} touches session_state")
    assert faults == []
