"""The card command, as typed: the file it writes, what it refuses, and that it leaves nothing half written."""

import shutil
from pathlib import Path

import pytest

from planner import cli
from planner.show.text.card import CAUTIONS

DEMO = Path(__file__).parents[2] / "profiles"
MILL, SLABS = "mill-on-the-hill-road", "slabs-on-friday"


@pytest.fixture
def run(tmp_path, capsys):
    """Return a function that runs the card command on a copy of the demo and gives exit code, output and errors."""
    folder = Path(shutil.copytree(DEMO, tmp_path / "profiles"))

    def command(*arguments):
        with pytest.raises(SystemExit) as end:
            cli.main(["--profiles", str(folder), "card", *arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in err
        return end.value.code, out, err

    return command


@pytest.mark.parametrize("name", ["cab.pdf", "pocket.html", "POCKET.HTML"])
def test_it_writes_the_file_it_names(run, tmp_path, name):
    out = tmp_path / name
    code, said, err = run(MILL, "mill-bed-empty", "--out", str(out))
    assert (code, err) == (0, "")
    assert said == f"{out}: Mill on the hill road, Mill, bed empty\n"
    assert out.read_bytes().startswith(b"%PDF-" if name.endswith(".pdf") else b"<!doctype html>")
    assert [one.name for one in tmp_path.iterdir() if one.is_file()] == [name]


def test_units_are_those_asked_for(run, tmp_path):
    out = tmp_path / "pocket.html"
    run(MILL, "--out", str(out), "--units", "metric")
    page = out.read_text("utf-8")
    assert " bar<" in page
    assert "psi" not in page
    assert CAUTIONS[0] in page


def test_a_card_that_says_stop_is_written_and_leaves_with_one(run, tmp_path):
    out = tmp_path / "cab.pdf"
    assert run(MILL, SLABS, "--sheet", "--paper", "a4", "--out", str(out))[0] == 1
    assert out.is_file()


def test_a_profile_is_named_by_its_path_too(run, tmp_path):
    out = tmp_path / "pocket.html"
    assert run(str(tmp_path / "profiles" / f"{MILL}.toml"), "--out", str(out))[0] == 0
    assert "Mill on the hill road" in out.read_text("utf-8")


@pytest.mark.parametrize(
    ("arguments", "parts"),
    [
        ([MILL, "--out", "cab.doc"], ["must end in .pdf or .html", "cab.doc"]),
        ([MILL, "--out", "no-such-folder/cab.pdf"], ["make the folder", "no-such-folder"]),
        ([MILL, "--out", "pocket.html", "--sheet"], ["--sheet is for a PDF"]),
        ([MILL, "--out", "pocket.html", "--paper", "a4"], ["--paper is for a PDF"]),
        ([MILL], ["Missing option", "--out"]),
        (["--out", "cab.pdf"], ["Missing argument", "PROFILE"]),
        (["mill-on-the-hil-road", "--out", "cab.pdf"], [f"did you mean {MILL}"]),
    ],
)
def test_what_is_wrong_is_told_in_a_line_and_nothing_is_written(run, tmp_path, monkeypatch, arguments, parts):
    monkeypatch.chdir(tmp_path)
    code, out, err = run(*arguments)
    assert (code, out) == (2, "")
    assert len(err.strip().splitlines()) == 1
    for part in parts:
        assert part in err
    assert not [one for one in tmp_path.iterdir() if one.is_file()]
    assert not (tmp_path / "no-such-folder").exists()


def test_a_page_of_too_many_profiles_is_refused_and_the_old_one_is_whole(run, tmp_path, monkeypatch):
    monkeypatch.setattr("planner.show.paper.phone_page.MOST_BYTES", 5_000)
    out = tmp_path / "pocket.html"
    out.write_text("old", "utf-8")
    code, _, err = run(*[SLABS] * 6, "--out", str(out))
    assert code == 2
    assert "must be <= 5 kB" in err
    assert out.read_text("utf-8") == "old"
