"""The server in a network of its own: whom it lets talk to the script, and that it asks nobody outside about it."""

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from planner.store.folder import demo_folder
from tests.front.shell.inside import HOSTS, ORIGINS

INSIDE = Path(__file__).with_name("inside.py")
ALONE = ("unshare", "--net", "--mount")


def alone(*command):
    """Run a command in a network of its own."""
    return subprocess.run(
        [*ALONE, *command], capture_output=True, text=True, env=os.environ | {"PYTHONUNBUFFERED": "1"}
    )


@pytest.fixture(scope="module", autouse=True)
def network():
    """See whether this machine lets us make one."""
    if shutil.which("unshare") is None or shutil.which("ip") is None:
        missing = "no network namespaces here: unshare and ip are needed"
    elif (made := alone("ip", "link", "set", "lo", "up")).returncode:
        missing = f"no network namespaces here: {made.stderr.strip()}"
    else:
        return
    if os.environ.get("CI"):
        pytest.fail(missing)
    pytest.skip(missing)


@pytest.mark.parametrize("options", [(), ("--no-token",)], ids=["token", "no token"])
@pytest.mark.parametrize("names", ["answerless", "answering"])
def test_foreign_origins_and_hosts_are_refused_and_nobody_outside_is_asked_about_them(tmp_path, names, options):
    """Streamlit asks an outside service for this machine's address and lets pages of that address in."""
    shutil.copytree(demo_folder(), tmp_path / "profiles")
    ended = alone(sys.executable, str(INSIDE), str(tmp_path), names, *options)
    assert ended.returncode == 0, ended.stderr
    found = json.loads(ended.stdout)
    assert found["own"][0] == 101
    assert {origin: status for origin, (status, _) in found["origins"].items()} == dict.fromkeys(ORIGINS, 403)
    assert {host: status for host, (status, _) in found["hosts"].items()} == dict.fromkeys(HOSTS, 403)
    assert found["asked"] == []
    assert found["left"] == []
