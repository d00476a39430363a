"""Streamlit's settings are those given here, whatever lies in the folder, in the home folder and in the environment."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
import tomlkit
from streamlit import config

from planner.front.shell.launch import free_port

ROOT = Path(__file__).parents[2]

# Stands still where the server would begin to listen, and prints what it would go by: every option that Streamlit has.
ASK = """
import json, os, sys
from pathlib import Path
sys.path.insert(0, sys.argv[1])
from streamlit import config
from streamlit.runtime.secrets import secrets_singleton
from streamlit.web.server.starlette.starlette_server import UvicornRunner
from planner.front import launch

def told(_runner):
    print(json.dumps({
        "options": {name: option.value for name, option in config.get_config_options().items()},
        "secrets": secrets_singleton.load_if_toml_exists(),
        "path": sys.path,
        "environment": sorted(name for name in os.environ if name.startswith("STREAMLIT_")),
    }))

UvicornRunner.run = told
launch.start(Path(sys.argv[2]), port=int(sys.argv[3]), browser=False)
"""


def otherwise(option, ours):
    """Return another value for an option than ours, of its kind."""
    if isinstance(ours, bool) or option.type is bool:
        return not ours
    if option.type in (int, float):
        return (ours or 1) + 1
    if option.key == "server.trustedUserHeaders":
        return {"X-User": "user"}
    if option.key == "theme.fontFaces":
        return [{"family": "Far", "url": "http://attacker.example/far.woff2"}]
    return ["http://attacker.example"] if isinstance(ours, list) or option.multiple else "http://attacker.example"


def hostile(ours):
    """Return a settings file that has every option of Streamlit otherwise than ours."""
    content = tomlkit.document()
    for key, option in config.get_config_options().items():
        *sections, name = key.split(".")
        table = content
        for section in sections:
            table = table.setdefault(section, {})
        table[name] = otherwise(option, ours[key])
        assert table[name] != ours[key], key
    return tomlkit.dumps(content)


def settings_in(folder, home, port, **environment):
    """Return what the server goes by when it is started in a folder."""
    for one in (folder, home):
        one.mkdir(parents=True, exist_ok=True)
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("STREAMLIT_", "PLANNER_"))}
    ended = subprocess.run(
        [sys.executable, "-P", "-c", ASK, str(ROOT), str(folder / "profiles"), str(port)],
        capture_output=True,
        text=True,
        cwd=folder,
        env=clean | {"HOME": str(home), "USERPROFILE": str(home)} | environment,
    )
    assert ended.returncode == 0, ended.stderr
    return json.loads(ended.stdout.splitlines()[-1])


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    """Settings as they should be, and as they are among files and variables that set all of them otherwise."""
    room = tmp_path_factory.mktemp("settings")
    port = free_port(None)
    alone = settings_in(room / "empty", room / "nobody", port)
    for where in ("folder", "home"):
        there = room / where / ".streamlit"
        there.mkdir(parents=True)
        (there / "config.toml").write_text(hostile(alone["options"]), "utf-8")
        (there / "secrets.toml").write_text('taken = "in"\n[auth]\ncookie_secret = "known to a stranger"\n', "utf-8")
    (room / "folder" / "pandas.py").write_text('raise SystemExit("a stranger\'s module was run")\n', "utf-8")
    variables = {option.env_var: "http://attacker.example" for option in config.get_config_options().values()}
    return alone, settings_in(room / "folder", room / "home", port, **variables), room / "folder"


def test_no_file_and_no_variable_changes_an_option(found):
    alone, among, _ = found
    changed = {name for name in alone["options"] if alone["options"][name] != among["options"][name]}
    assert changed <= {"server.cookieSecret"}  # drawn anew at each start
    assert "attacker" not in json.dumps(among["options"])


def test_nobody_s_secrets_are_read_and_no_variable_of_streamlit_s_is_handed_on(found):
    _, among, _ = found
    assert among["secrets"] is False
    assert among["environment"] == []


def test_no_module_is_imported_from_the_folder_the_owner_stands_in(found):
    _, among, folder = found
    assert str(folder) not in among["path"]
    assert "" not in among["path"]
