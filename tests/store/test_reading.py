"""A file may hold anything: it is refused with its reason, at once, before it does harm."""

import errno
import os
import re
import time

import pytest

from planner.records import CORNERS, BadInput
from planner.store import reading
from planner.store.reading import DEEPEST, LARGEST, parse_toml, read_document


def refusal(raw, tmp_path):
    path = tmp_path / "x.toml"
    path.write_bytes(raw)
    with pytest.raises(BadInput) as caught:
        read_document(path, "x.toml", tmp_path)
    (problem,) = caught.value.problems
    assert problem.file == "x.toml"
    assert problem.remedy
    return problem.line()


@pytest.mark.parametrize(
    ("raw", "said"),
    [
        (b'schema = 1\nname = "Mill', r"x.toml: is not valid TOML: .*line 2"),
        (b"schema = 1\nname = Mill\n", r"is not valid TOML: .*line 2"),
        (b"a = 1\na = 2\n", r"is not valid TOML: .*line 2"),
        (b"\x00", r"is not valid TOML"),
        (b'schema = 1\nname = "M\xfchle"\n', r"is not UTF-8 text \(line 2, byte 0xfc\): save it again as UTF-8"),
        ('name = "x"'.encode("utf-16"), r"is not UTF-8 text \(line 1, byte 0xff\)"),
        (b"a = " + b"9" * 5000, r"too many digits"),
        (b"a = 0x" + b"f" * 5000, r"too many digits"),
        (b"[[a]]\nb = [0x" + b"f" * 40 + b"]", r"too many digits"),
        (b"a = " + b"[" * 29_000, r"nested more than 10 deep"),
        (b"a = " + b"{a = " * 70_000, r"nested more than 10 deep"),
        (b"a = " + b"[" * 60 + b"]" * 60, r"nested more than 10 deep"),
        (b"\n[" + b".".join([b"a"] * 29_000) + b"]", r"nested more than 10 deep \(line 2\)"),
        (b"\n\na = { " + b" . ".join([b"a"] * 40) + b" = 1 }", r"nested more than 10 deep \(line 3\)"),
        (b".".join([b'"a b"'] * 40) + b" = 1", r"nested more than 10 deep \(line 1\)"),
        (b"#" * (LARGEST + 1), r"is larger than 1 MB"),
    ],
)
def test_what_cannot_be_read_is_refused_in_words(raw, said, tmp_path):
    assert re.search(said, refusal(raw, tmp_path))


@pytest.mark.parametrize(
    "raw",
    [
        b".".join([b"a"] * 480_000) + b" = 1",
        b"a" * 990_000,
        b'"' * 990_000,
        b"'" * 990_001,
        b"a . " * 240_000,
        b" " * 990_000 + b"=",
        b"a = [" + b"[],\n" * 240_000 + b"]\nb",
        b"[a]\n" * 200_000,
    ],
)
def test_a_bomb_is_refused_in_seconds(raw, tmp_path):
    start = time.perf_counter()
    refusal(raw, tmp_path)
    assert time.perf_counter() - start < 10  # seconds; a bomb that goes off takes minutes or the whole memory


@pytest.mark.parametrize(
    "text", ["# a.b.c.d.e.f.g.h.i.j.k.l.m", "x = 'a, b.c.d.e.f.g.h.i.j.k.l.m.n.'", "# a. b. c. " * 9]
)
def test_words_with_dots_between_them_are_no_long_keys(text):
    parse_toml(text, "x")


@pytest.mark.parametrize("name", ["a", '"a"', "'a'", r'"\""', "a ", "\ta\t", '"a.b"'])
@pytest.mark.parametrize(
    "around", ["{} = 1", "[{}]", "[[{}]]", "x = {{ {} = 1 }}", "x = {{ y = 1, {} = 1 }}", "\n  {} = 1"]
)
def test_long_keys_are_found_wherever_they_stand(name, around):
    with pytest.raises(BadInput, match="nested more than 10 deep"):
        parse_toml(around.format(".".join([name] * (DEEPEST + 1))), "x")


def test_more_values_than_any_file_has_are_refused_before_they_are_read(monkeypatch):
    monkeypatch.setattr(reading.tomllib, "loads", None)
    for text in ("x = [" + "1," * 400_000 + "]", "[a]\n" * 150_000, "a.b=1\n" * 60_000):
        with pytest.raises(BadInput, match="holds more than 100,000 values, tables and parts of names"):
            parse_toml(text, "x")


@pytest.mark.parametrize(
    ("text", "of"),
    [
        ("".join("[[a]]\nk=1\n" for _ in range(25_001)), "75,000 values and tables"),
        ("".join(f"k{n} = 1\n" for n in range(75_001)), "75,000 values and tables"),
        ("".join(f"[a{n}.b.c]\n" for n in range(10_001)), "30,000 tables and parts of names"),
        ("".join(f"x{n}.b.c = 1\n" for n in range(15_001)), "30,000 tables and parts of names"),
        ("x = [" + r'{a."\"".b=1},' * 15_001 + "]", "30,000 tables and parts of names"),
    ],
)
def test_more_of_what_costs_most_than_any_file_has_is_refused_before_it_is_read(monkeypatch, text, of):
    monkeypatch.setattr(reading.tomllib, "loads", None)
    with pytest.raises(BadInput, match=f"holds more than {of}"):
        parse_toml(text, "x")


def test_the_largest_profile_is_within_what_is_read():
    corners = "".join(f'{one}={{pressure="45 psi"}}\n' for one in CORNERS)
    cargo = "".join(
        f'[[cargo]]\nname="c{n}"\nweight="1.5 lb"\nx="1.5 in"\ny="1.5 in"\nz="1.5 in"\n' for n in range(4_990)
    )
    full = cargo + f"[[readings]]\nat=2026-01-01T00:00:00\n{corners}" * 3_600
    assert 900_000 < len(full) < LARGEST
    assert len(parse_toml(full, "x")["readings"]) == 3_600


def test_values_with_dots_are_no_long_keys():
    text = 'note = "' + "one. two. " * 15 + '..........................................."\n'
    assert parse_toml(text, "x")["note"].startswith("one")


def test_tables_as_deep_as_allowed_are_read():
    assert parse_toml(".".join(["a"] * (DEEPEST - 2)) + " = 1", "x")


def test_a_byte_order_mark_is_read_over_and_kept(tmp_path):
    path = tmp_path / "x.toml"
    path.write_bytes(b"\xef\xbb\xbfschema = 1\r\n")
    document = read_document(path, "x.toml")
    assert document.data == {"schema": 1}
    assert document.encoded(document.text) == path.read_bytes()


def test_a_folder_is_no_file(tmp_path):
    (tmp_path / "x.toml").mkdir()
    with pytest.raises(BadInput, match=r"x\.toml: is a folder, not a file: move or rename that folder"):
        read_document(tmp_path / "x.toml", "x.toml", tmp_path)


def test_a_pipe_is_not_waited_for(tmp_path):
    os.mkfifo(tmp_path / "x.toml")
    with pytest.raises(BadInput, match="is not an ordinary file"):
        read_document(tmp_path / "x.toml", "x.toml", tmp_path)


def test_a_link_may_not_leave_the_folder(tmp_path):
    outside, home = tmp_path / "outside.toml", tmp_path / "home"
    outside.write_text("schema = 1\n", "utf-8")
    home.mkdir()
    (home / "x.toml").symlink_to(outside)
    with pytest.raises(BadInput, match="is a link to a place outside the folder: put the file itself there"):
        read_document(home / "x.toml", "x.toml", home)
    assert read_document(home / "x.toml", "x.toml").data == {"schema": 1}


def test_a_link_within_the_folder_is_followed(tmp_path):
    (tmp_path / "y.toml").write_text("schema = 1\n", "utf-8")
    (tmp_path / "x.toml").symlink_to("y.toml")
    assert read_document(tmp_path / "x.toml", "x.toml", tmp_path).data == {"schema": 1}


def test_links_in_a_circle_are_told(tmp_path):
    (tmp_path / "x.toml").symlink_to("y.toml")
    (tmp_path / "y.toml").symlink_to("x.toml")
    for home in (None, tmp_path):
        with pytest.raises(BadInput, match="a link that leads to itself"):
            read_document(tmp_path / "x.toml", "x.toml", home)


def test_a_file_that_is_not_there_is_left_to_the_caller(tmp_path):
    with pytest.raises(FileNotFoundError):
        read_document(tmp_path / "x.toml", "x.toml", tmp_path)


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (errno.EACCES, "x.toml: cannot be read: permission is denied: get permission"),
        (errno.EIO, "x.toml: cannot be read: Input/output error: check the disk"),
    ],
)
def test_a_refusal_of_the_system_is_told(tmp_path, monkeypatch, number, said):
    def refuse(*args, **kwargs):
        raise OSError(number, os.strerror(number))

    (tmp_path / "x.toml").write_text("schema = 1\n", "utf-8")
    monkeypatch.setattr(reading, "open", refuse, raising=False)
    with pytest.raises(BadInput, match=said):
        read_document(tmp_path / "x.toml", "x.toml", tmp_path)
