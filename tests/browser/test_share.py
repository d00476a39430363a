"""An owner hitching with the phone over --share: the planner in one network, the phone's browser in another."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from planner.show.text.hitching import WATCH
from planner.store.folder import demo_folder

from .conftest import NAMES

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    """What the phone saw, and what was refused to it."""
    missing = next((name for name in ("unshare", "nsenter", "ip") if shutil.which(name) is None), None)
    if missing is None and not any(map(shutil.which, NAMES)):
        missing = "a browser"
    if missing is None and subprocess.run(["unshare", "--net", "true"], capture_output=True).returncode:
        missing = "leave to make a network"
    if missing is not None:
        (pytest.fail if os.environ.get("CI") else pytest.skip)(f"no second network with a phone here: {missing}")
    folder = shutil.copytree(demo_folder(), tmp_path_factory.mktemp("shared") / "profiles")
    command = ["unshare", "--net", sys.executable, "-m", "tests.browser.shared_inside", "host", str(folder)]
    ended = subprocess.run(
        command, capture_output=True, text=True, cwd=ROOT, env=os.environ | {"PYTHONUNBUFFERED": "1"}
    )
    assert ended.returncode == 0, ended.stderr
    return json.loads(ended.stdout)


def test_a_whole_hitching_by_thumb_asks_nobody_else_and_has_no_fault(found):
    assert "token" not in found["address"]
    assert [said.partition(",")[0] for said in found["stages"]] == [f"Set for {stage}" for stage in WATCH]
    assert found["faults"] == []


def test_the_link_opens_once_and_the_next_one_is_on_the_screen(found):
    assert found["cookie"] == [True, "Strict"]
    assert found["used"] == 403
    assert found["second"].startswith("http://10.42.0.1:8765/?token=")


def test_foreign_names_are_refused_although_they_bring_the_cookie(found):
    assert found["own"] == 101
    assert set(found["refused"].values()) == {403}, found["refused"]


def test_after_a_first_visit_a_profile_takes_sixty_kilobytes_at_most(found):
    assert found["bytes"] <= 60_000
