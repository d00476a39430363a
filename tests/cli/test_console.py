"""A console that knows few letters: every line is there, words in place of signs, and the exit code is the same."""

import io
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from planner import cli
from planner.show.text.console import WORDS, plain

DEMO = Path(__file__).parents[2] / "profiles"
STOPPED = "slabs-on-friday"
COMMANDS = {
    "level": ["level", STOPPED],
    "hitch": ["hitch", STOPPED],
    "settle": ["settle", STOPPED],
    "list": ["list"],
    "check": ["check"],
    "level as JSON": ["level", STOPPED, "--json"],
}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """The demo with a damaged profile and one of a strange name more."""
    home = Path(shutil.copytree(DEMO, tmp_path_factory.mktemp("console") / "profiles"))
    text = (DEMO / f"{STOPPED}.toml").read_text("utf-8")
    (home / "cafe.toml").write_text(text.replace('"Slabs on Friday"', '"Café ■ 木 — ½"'), "utf-8")
    (home / "torn.toml").write_text('schema = 1\nname = "木"\n■', "utf-8")
    return home


def run(folder, command, encoding, monkeypatch):
    """Return exit code, standard output and error of a command on a console of an encoding, in this process."""
    streams = [io.TextIOWrapper(io.BytesIO(), encoding=encoding, errors="strict") for _ in range(2)]
    with monkeypatch.context() as patch:
        patch.setattr(sys, "stdout", streams[0])
        patch.setattr(sys, "stderr", streams[1])
        with pytest.raises(SystemExit) as end:
            cli.main(["--profiles", str(folder), *command])
        for stream in streams:
            stream.flush()
    return end.value.code, *(stream.buffer.getvalue().decode(encoding) for stream in streams)


@pytest.mark.parametrize("encoding", ["cp1252", "cp437", "ascii", "utf-8"])
@pytest.mark.parametrize("command", COMMANDS.values(), ids=COMMANDS)
def test_every_line_is_printed_on_every_console(folder, monkeypatch, command, encoding):
    whole = run(folder, command, "utf-8", monkeypatch)
    code, out, err = run(folder, command, encoding, monkeypatch)
    assert code == whole[0]
    for said, wanted in ((out, whole[1]), (err, whole[2])):
        lines = list(zip(said.splitlines(), wanted.splitlines(), strict=True))
        assert [plain(line) for line, _ in lines] == [plain(line) for _, line in lines] or "--json" in command
    if "--json" in command:
        assert json.loads(out) == json.loads(whole[1])
    elif command[0] != "check":
        assert "■" in out or "[stop]" in out


SMALL = "import sys; from planner import cli; cli.main(sys.argv[1:])"


@pytest.mark.parametrize(
    "settings",
    [
        {"PYTHONIOENCODING": "cp1252"},
        {"LANG": "C", "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"},
        {"LANG": "C", "LC_ALL": "C"},
    ],
    ids=["cp1252", "C", "C as Python has it"],
)
def test_the_stops_are_told_in_a_process_of_its_own(folder, settings):
    told = {name: value for name, value in os.environ.items() if not name.startswith(("LC_", "LANG", "PYTHONIO"))}
    done = subprocess.run(
        [sys.executable, "-c", SMALL, "--profiles", str(folder), "level", STOPPED],
        env=told | settings | {"PYTHONPATH": str(DEMO.parent)},
        capture_output=True,
    )
    assert done.returncode == 1
    assert done.stderr == b""
    assert b"[stop]" in done.stdout or "■".encode() in done.stdout


def test_words_are_plain_and_letters_lose_their_marks_only():
    assert all(word.isascii() for word in WORDS.values())
    assert plain("■ Café ½ 木 5 °C ≥ 3 m²") == "[stop] Cafe 1?2 ? 5  degC >= 3 m2"
    assert plain("\udce9") == "?"  # a byte of a file's name that is no letter


def test_no_rest_does_not_send_anybody_to_look_for_a_fault_in_the_files(folder, monkeypatch):
    from planner.plans import level

    def no_rest(setup):
        raise ArithmeticError("no rest found for 1 of 1 cases: check the truck's numbers")

    monkeypatch.setattr(level, "level_setup", no_rest)
    code, _, err = run(folder, ["level", STOPPED], "utf-8", monkeypatch)
    assert code == 2
    assert err == (
        "planner: no rest found for 1 of 1 cases: check the truck's numbers; "
        "each file is fine by itself, so planner check does not find this\n"
    )


@pytest.mark.parametrize("error", [PermissionError(13, "Permission denied"), OSError(28, "No space left")])
def test_a_card_that_cannot_be_written_is_named_as_it_was_asked_for(folder, monkeypatch, tmp_path, error):
    def refuse(*given):
        raise error

    monkeypatch.setattr(os, "replace", refuse)
    out = tmp_path / "cab.html"
    code, _, err = run(folder, ["card", STOPPED, "--out", str(out)], "utf-8", monkeypatch)
    assert code == 2
    assert err.startswith(f"planner: {out}: cannot be written: ")
    assert ".tmp" not in err
    assert "--profiles" not in err
    assert list(tmp_path.iterdir()) == []
