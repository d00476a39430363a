"""Zips that could do harm are refused, each with one clear message; honest ones come back as they went in."""

import io
import random
import stat
import struct
import warnings
import zipfile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner.store import StoreError
from planner.store.reading import LARGEST
from planner.store.transfer.import_zip import import_files
from planner.store.transfer.preview import preview_zip
from planner.store.transfer.zip_safety import MOST_BYTES, MOST_FILES, MOST_ZIPPED, open_zip, pack_files

TEXT = b'schema = 1\nname = "Lot"\n'


def zipped(*files, method=zipfile.ZIP_DEFLATED):
    """Return a zip of names, or of entries made by hand, with their contents."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", method) as archive, warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of names that are there twice
        for name, content in files:
            archive.writestr(name, content)
    return made.getvalue()


def entry(name, mode=0, attributes=0):
    """Return an entry with a file mode as Unix has it."""
    made = zipfile.ZipInfo(name)
    made.create_system, made.external_attr = 3, mode << 16 | attributes
    return made


def patched(data, signature, offset, value):
    """Change bytes behind the first signature."""
    place = data.index(signature) + offset
    return data[:place] + value + data[place + len(value) :]


LISTED, LOCAL, END = b"PK\x01\x02", b"PK\x03\x04", b"PK\x05\x06"


def both(data, listed_offset, local_offset, value):
    """Change the same field in the table of contents and before the file."""
    return patched(patched(data, LISTED, listed_offset, value), LOCAL, local_offset, value)


def overlapping():
    """Return a zip whose two names share one file's bytes."""
    data = bytearray(zipped(("one.toml", b"x" * 40), ("two.toml", b"x" * 40)))
    second = data.rindex(LISTED)
    data[second + 42 : second + 46] = struct.pack("<I", 0)
    return bytes(data)


REFUSED = {
    "not a zip": (b"schema = 1\n", "is not a zip: choose a zip made with the planner's export"),
    "nothing": (b"", "is not a zip"),
    "another archive": (b"\x1f\x8b\x08\x00", "is not a zip"),
    "a zip behind something": (b"#!/bin/sh\n" + zipped(("lot.toml", TEXT)), "is not a zip"),
    "torn": (zipped(("lot.toml", TEXT))[:-30], "is damaged: copy or download it again"),
    "changed content": (zipped(("lot.toml", TEXT), method=0).replace(b"Lot", b"Pot"), "is damaged"),
    "climbing path": (
        zipped(("../lot.toml", TEXT)),
        r'holds a path that leads outside, "\.\./lot\.toml": do not trust',
    ),
    "climbing path inside": (zipped(("trucks/../../lot.toml", TEXT)), "holds a path that leads out"),
    "absolute path": (zipped(("/etc/lot.toml", TEXT)), "holds a path that leads out"),
    "drive letter": (zipped(("C:lot.toml", TEXT)), "holds a path that leads out"),
    "backslash": (zipped(("trucks\\..\\lot.toml", TEXT)), "holds a path that leads out"),
    "network path": (zipped(("//host/share/lot.toml", TEXT)), "holds a path that leads out"),
    "dots that some system drops": (zipped((".. /lot.toml", TEXT)), "holds a path that leads out"),
    "wide dots": (zipped(("\uff0e\uff0e/lot.toml", TEXT)), "holds a path that leads out"),
    "folder with content": (zipped(("trucks/", TEXT)), "holds a file larger than"),
    "same name twice": (zipped(("lot.toml", TEXT), ("lot.toml", TEXT)), 'holds the same name twice, "lot.toml"'),
    "name not UTF-8": (
        both(zipped(("lot\u00e9.toml", TEXT)), 46 + 3, 30 + 3, b"\xff\xfe"),
        "holds a file whose name is not UTF-8: zip",
    ),
    "name in an old code": (
        both(zipped(("lot\u00e9.toml", TEXT)), 8, 6, b"\0\0"),
        "holds a file whose name is not UTF-8, ",
    ),
    "direction mark": (zipped(("lot\u202elmot.toml", TEXT)), r'holds a file with a misleading name, "lot\?lmot\.toml"'),
    "line break": (zipped(("lot\n.toml", TEXT)), "holds a file with a misleading name"),
    "name that ends early": (
        both(zipped(("lot.toml_", TEXT)), 46 + 8, 30 + 8, b"\0"),
        "holds a file with a misleading name",
    ),
    "endless name": (zipped(("n" * 5000, TEXT)), 'holds a file with a misleading name, "n{60}…"'),
    "password": (
        both(zipped(("lot.toml", TEXT)), 8, 6, b"\x01\0"),
        r'is encrypted \("lot.toml"\): zip the files without',
    ),
    "hidden table": (both(zipped(("lot.toml", TEXT)), 8, 6, b"\0\x20"), "is encrypted"),
    "bzip2": (
        zipped(("lot.toml", TEXT), method=zipfile.ZIP_BZIP2),
        r'is packed in a way the planner cannot read \("lot.toml"\)',
    ),
    "lzma": (zipped(("lot.toml", TEXT), method=zipfile.ZIP_LZMA), "is packed in a way the planner cannot read"),
    "unheard of": (both(zipped(("lot.toml", TEXT)), 10, 8, b"\x63\0"), "is packed in a way the planner cannot read"),
    "bomb that says it is small": (
        both(zipped(("lot.toml", b"\0" * 30_000_000)), 24, 22, struct.pack("<I", 1000)),
        "is damaged",
    ),
    "bomb that says it is larger": (
        both(zipped(("lot.toml", b"a b c d e f" * 20)), 24, 22, struct.pack("<I", 5000)),
        "is damaged",
    ),
    "files over each other": (overlapping(), "is damaged"),
    "large file": (zipped(("lot.toml", b"x" * (LARGEST + 1)), method=0), "holds a file larger than 1 MB"),
    "large photo": (zipped(("photo.jpg", b"x" * 2_000_000), method=0), r'holds a file larger than 1 MB, "photo\.jpg"'),
}


@pytest.mark.parametrize(("data", "said"), REFUSED.values(), ids=REFUSED)
def test_what_could_do_harm_is_refused_in_one_line(data, said):
    with pytest.raises(StoreError, match=f"^mail.zip: {said}") as caught:
        open_zip(data, "mail.zip")
    line = str(caught.value)
    assert line.isprintable()
    assert len(line) < 300


HARMLESS = {
    "link": zipped((entry("trucks/lot.toml", stat.S_IFLNK | 0o777), "/etc/passwd")),
    "link of another system": zipped((entry("trucks/lot.toml", 0, 0x400), "/etc/passwd")),
    "zip by name": zipped(("inner.ZIP", zipped(("lot.toml", TEXT)))),
    "zip by content": zipped(("lot.toml", zipped(("lot.toml", TEXT)))),
    "bomb": zipped(("lot.toml", b"\0" * 900_000)),
    "nothing but blanks": zipped(("lot.toml", b" " * LARGEST)),
    "name of a device": zipped(("nul.toml", b"")),
    "other letters": zipped(("LOT.toml", TEXT), ("LOT.TOML", TEXT), ("\u00e9.toml", TEXT), ("e\u0301.toml", TEXT)),
    "dot at the end": zipped(("lot.toml.", TEXT), ("lot.toml ", TEXT)),
}


@pytest.mark.parametrize("data", HARMLESS.values(), ids=HARMLESS)
def test_what_no_record_can_be_made_of_is_told_of_and_comes_to_nothing(data, store, folder):
    """No file is unpacked onto the disk, no path but a plain name is used, and no zip in a zip is opened."""
    before = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}
    coming = preview_zip(data, store)
    assert {item.state for item in coming.items} == {"unusable"}
    assert all(item.problems for item in coming.items)
    assert import_files(coming, store, "theirs").written == ()
    after = {path: path.read_bytes() for path in folder.rglob("*") if path.is_file() and path.name != ".lock"}
    assert after == {path: raw for path, raw in before.items() if path.name != ".lock"}


def test_names_that_one_system_takes_for_the_same_are_told_apart(store):
    """Of two names that differ in capitals or a dot one at the most is a name of the planner's."""
    coming = preview_zip(zipped(("lot.toml", TEXT), ("LOT.toml", TEXT), ("lot.toml.", TEXT), ("lot/", b"")), store)
    assert [(item.file, item.read.slug) for item in coming.items if item.read.slug] == [("lot.toml", "lot")]


def test_too_much_in_all_is_refused_before_it_is_unpacked():
    noise = random.Random(1).randbytes(10_000).hex().encode() * 40  # noqa: S311  # some 60 times smaller when zipped
    many = zipped(*((f"lot-{number}.toml", noise) for number in range(MOST_BYTES // len(noise) + 1)))
    with pytest.raises(StoreError, match="unpacks to more than 24 MB"):
        open_zip(many)
    with pytest.raises(StoreError, match="is larger than 16 MB"):
        open_zip(many[:30] + b"\0" * MOST_ZIPPED)


def test_too_many_files_are_refused_before_their_list_is_read():
    many = zipped(*((f"{number}.toml", b"") for number in range(MOST_FILES + 1)), method=0)
    with pytest.raises(StoreError, match=f"holds more than {MOST_FILES} files"):
        open_zip(many)
    with pytest.raises(StoreError, match=f"would hold more than {MOST_FILES} files"):
        pack_files({f"{number}.toml": b"" for number in range(MOST_FILES + 1)})


def test_what_is_packed_comes_back_and_is_the_same_bytes_each_time():
    files = {"lot.toml": TEXT, "trucks/flatbed.toml": b"x", "empty.toml": b""}
    data = pack_files(files)
    assert open_zip(data) == files
    assert pack_files(dict(reversed(files.items()))) == data
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.namelist() == sorted(files)
        assert {one.date_time for one in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert archive.testzip() is None


CONTENTS = st.one_of(
    st.binary(max_size=200),
    st.builds(lambda one, times: one * times, st.binary(min_size=1, max_size=3), st.integers(0, LARGEST // 3)),
)


@settings(max_examples=40, deadline=None)
@given(st.dictionaries(st.from_regex(r"[a-z]{1,8}\.toml", fullmatch=True), CONTENTS, max_size=4))
def test_whatever_is_packed_can_be_opened_again(files):
    assert open_zip(pack_files(files)) == files


def test_more_than_is_taken_in_is_not_packed(monkeypatch):
    monkeypatch.setattr("planner.store.transfer.zip_safety.MOST_ZIPPED", 5_000)
    noise = random.Random(1).randbytes(6_000)  # noqa: S311  # nothing makes it smaller
    with pytest.raises(StoreError, match="the zip: would be larger than 16 MB: export fewer profiles"):
        pack_files({"lot.toml": noise})


def test_honest_zips_of_other_makers_are_opened():
    plain = zipped(("trucks/", b""), (entry("trucks/flatbed.toml", stat.S_IFREG | 0o600), TEXT), ("a b.toml", TEXT))
    assert open_zip(plain) == {"a b.toml": TEXT, "trucks/flatbed.toml": TEXT}
    assert open_zip(zipped(("дрова.toml", TEXT))) == {"дрова.toml": TEXT}
    alike = b"".join(
        b'[[readings]]\nat = 2026-05-04T07:%02d:00\nrear_left = { pressure = "42 psi" }\n' % (n % 60)
        for n in range(1000)
    )
    assert open_zip(zipped(("lot.toml", alike))) == {"lot.toml": alike}
    assert open_zip(END + b"\0" * 18) == {}


def test_no_bytes_however_changed_do_more_than_be_refused():
    draw = random.Random(5)  # noqa: S311  # the same ones every time
    sound = zipped(("lot.toml", TEXT * 4), ("trucks/flatbed.toml", TEXT), ("trailers/log-arch.toml", b"x"))
    refused = []
    for _ in range(3000):
        data = bytearray(sound)
        for _ in range(draw.randint(1, 6)):
            data[draw.randrange(len(data))] = draw.randrange(256)
        try:
            found = open_zip(bytes(data[: draw.choice([len(data), draw.randrange(len(data))])]))
        except StoreError as exc:
            refused.append(str(exc))
        else:
            assert all(".." not in path and "\\" not in path for path in found)
    assert len(refused) > 2000
    assert all(line.isprintable() for line in refused)
