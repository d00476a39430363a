"""The wheel carries pages and demo, and works alone: installed in an empty place, run from another folder."""

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """Return the wheel, built from the checkout without a network."""
    out = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(out), str(ROOT)]
    subprocess.run(command, check=True, capture_output=True)
    return next(out.glob("*.whl"))


def test_it_carries_pages_demo_and_typing_mark(wheel):
    names = set(zipfile.ZipFile(wheel).namelist())
    pages = {f"planner/_pages/{path.name}" for path in (ROOT / "pages").glob("*.py")}
    demo = {f"planner/_profiles/{path.relative_to(ROOT / 'profiles')}" for path in (ROOT / "profiles").rglob("*.toml")}
    fonts = {f"planner/show/fonts/{name}" for name in ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf", "LICENSE.txt")}
    assert pages | demo | fonts | {"planner/py.typed", "planner/front/shell/entry/app.py"} <= names
    assert not [name for name in names if name.startswith(("tests", "pages", "profiles"))]


def test_it_levels_the_demo_alone_from_another_folder(wheel, tmp_path):
    site = tmp_path / "site"
    command = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", "--target", str(site), str(wheel)]
    subprocess.run(command, check=True)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    clean = {key: value for key, value in os.environ.items() if key not in ("PYTHONPATH", "PLANNER_PROFILES")}
    done = subprocess.run(
        [
            sys.executable,
            "-c",
            "import planner, sys; print(planner.__file__); from planner.cli import main; main(['list'])",
        ],
        cwd=elsewhere,
        env=clean | {"PYTHONPATH": str(site), "HOME": str(tmp_path), "XDG_DATA_HOME": str(tmp_path / "data")},
        capture_output=True,
        text=True,
        check=True,
    )
    where, *lines = done.stdout.splitlines()
    assert where.startswith(str(site))
    assert len(lines) == len(list((ROOT / "profiles").glob("*.toml")))
    assert sorted(path.name for path in (tmp_path / "data").rglob("*.toml"))  # the demo went to the user's own folder
