"""What a list shows is kept and read anew when the file has changed; it is never believed over the file."""

import json
import os
import shutil
from hashlib import sha256

import platformdirs
import pytest

from planner.records import Brief
from planner.store import PROFILE, TRUCK, Store, index, record_files
from planner.store.reading import read_text


@pytest.fixture
def reads(monkeypatch):
    """The files that are read, as they are."""
    seen = []

    def watched(path, file, home=None):
        seen.append(file)
        return read_text(path, file, home)

    monkeypatch.setattr("planner.store.record_files.read_text", watched)
    return seen


@pytest.fixture
def many(store, folder, monkeypatch):
    """A folder of some files that have been as they are for a while, and a cache that is written at once."""
    monkeypatch.setattr(index, "SETTLED", -(10**12))
    monkeypatch.setattr(index, "WORTH", 1)
    for number in range(3):
        store.save_as(store.read_profile("wood-lot"), f"Lot {number}")
    (folder / "torn.toml").write_text("torn", "utf-8")
    index.reload_kept()
    return store


def names(store):
    return [(entry.slug, entry.name, entry.brief) for entry in store.entries(PROFILE)]


def test_a_second_list_reads_only_what_is_damaged_also_in_a_new_process(many, reads):
    first = names(many)
    assert len(reads) == 5
    reads.clear()
    assert names(many) == first
    assert reads == ["torn.toml"]
    index.reload_kept()  # as a new process does
    reads.clear()
    assert names(many) == first
    assert reads == ["torn.toml"]
    assert names(Store(many.folder)) == first


def test_a_record_is_read_when_it_is_asked_for(many, reads):
    names(many)
    reads.clear()
    entry = next(entry for entry in many.entries(PROFILE) if entry.slug == "lot-1")
    assert entry.brief == Brief.of(entry.record)
    assert entry.record == many.read_profile("lot-1")
    assert reads == ["torn.toml", "lot-1.toml", "lot-1.toml"]


def test_a_record_whose_file_is_damaged_after_it_was_listed_is_none(many, folder):
    names(many)
    entry = next(entry for entry in many.entries(PROFILE) if entry.slug == "lot-1")
    (folder / "lot-1.toml").write_text("torn", "utf-8")
    assert entry.record is None


def same_times(path, change):
    """Change a file and put its times back."""
    status = path.stat()
    change(path)
    os.utime(path, ns=(status.st_atime_ns, status.st_mtime_ns))


CHANGES = {
    "in place": lambda path: path.write_text(path.read_text("utf-8").replace('"Wood lot"', '"Mood lot"'), "utf-8"),
    "longer": lambda path: path.write_text(path.read_text("utf-8").replace('"Wood lot"', '"Long Wood lot"'), "utf-8"),
    "another file": lambda path: (
        path.with_suffix(".new").write_text(path.read_text("utf-8").replace('"Wood lot"', '"Mood lot"'), "utf-8"),
        os.replace(path.with_suffix(".new"), path),
    ),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES)
def test_a_changed_file_is_read_even_if_its_date_is_the_old_one(many, folder, change):
    names(many)
    same_times(folder / "wood-lot.toml", change)
    entry = next(entry for entry in many.entries(PROFILE) if entry.slug == "wood-lot")
    assert entry.name in ("Mood lot", "Long Wood lot")


def test_a_file_damaged_deleted_or_made_since_is_seen(many, folder):
    names(many)
    (folder / "lot-0.toml").write_text("torn", "utf-8")
    (folder / "lot-1.toml").unlink()
    shutil.copy(folder / "lot-2.toml", folder / "lot-3.toml")
    entries = {entry.slug: entry for entry in many.entries(PROFILE)}
    assert sorted(entries) == ["lot-0", "lot-2", "lot-3", "torn", "wood-lot"]
    assert entries["lot-0"].brief is None
    assert entries["lot-0"].problems
    assert entries["lot-3"].name == "Lot 2"


def test_a_file_just_changed_is_not_kept_yet(many, monkeypatch, reads):
    monkeypatch.setattr(index, "SETTLED", 60_000_000_000)
    for _ in range(2):
        names(many)
    assert len(reads) == 10


def test_links_are_read_each_time(many, folder, reads, tmp_path):
    (folder / "linked.toml").symlink_to("lot-0.toml")
    (folder / "trucks").rename(tmp_path / "outside")
    (folder / "trucks").symlink_to(tmp_path / "outside")
    for _ in range(2):
        reads.clear()
        names(many)
        assert reads.count("linked.toml") == 1
        (truck,) = many.entries(TRUCK)
        assert "is a link to a place outside the folder" in truck.problems[0].rule


def sealed(rows):
    body = json.dumps(rows).encode()
    return index.seal_of(body) + b"\n" + body


def body_of(raw):
    return raw.partition(b"\n")[2]


WRONG = {
    "empty": lambda raw: b"",
    "cut": lambda raw: raw[: len(raw) // 2],
    "one letter": lambda raw: raw.replace(b"Lot 1", b"Lot 9"),
    "another planner's": lambda raw: sha256(body_of(raw)).hexdigest().encode() + b"\n" + body_of(raw),
    "no seal": lambda raw: body_of(raw),
    "not JSON": lambda raw: index.seal_of(b"{") + b"\n{",
    "another shape": lambda raw: sealed([1, 2]),
    "short rows": lambda raw: sealed({"profile": {"lot-1": [[1, 2], "x"]}}),
    "deep": lambda raw: index.seal_of(b"[" * 100_000) + b"\n" + b"[" * 100_000,
}


@pytest.mark.parametrize("wrong", WRONG.values(), ids=WRONG)
def test_a_damaged_cache_is_built_anew(many, reads, wrong):
    first = names(many)
    path = index.kept_in(many.folder)
    path.write_bytes(wrong(path.read_bytes()))
    index.reload_kept()
    reads.clear()
    assert names(many) == first
    assert len(reads) == 5
    index.reload_kept()
    reads.clear()
    assert names(many) == first
    assert reads == ["torn.toml"]


def test_where_nothing_can_be_kept_lists_work(many, reads, monkeypatch, tmp_path):
    (tmp_path / "file").write_text("", "utf-8")
    monkeypatch.setattr(platformdirs, "user_cache_path", lambda name, appauthor: tmp_path / "file" / name)
    for _ in range(2):
        index.reload_kept()
        assert len(names(many)) == 5
    assert len(reads) == 10


def test_a_small_folder_keeps_nothing(store, folder, monkeypatch):
    monkeypatch.setattr(index, "SETTLED", -(10**12))
    store.entries(PROFILE)
    assert not index.kept_in(folder).exists()


def test_two_folders_are_kept_apart(many, folder, tmp_path):
    names(many)
    other = tmp_path / "other"
    shutil.copytree(folder, other)
    (other / "lot-1.toml").unlink()
    assert [slug for slug, _, _ in names(Store(other))] == ["lot-0", "lot-2", "torn", "wood-lot"]
    assert len(names(many)) == 5


def test_a_long_text_that_makes_no_sense_is_looked_through_once_and_told_of_each_time(store, folder, monkeypatch):
    text = "".join(f"k{n} = 1\n" for n in range(4_000)) + "# " + "x" * 20_000
    (folder / "wood-lot.toml").write_text(text, "utf-8")
    first = next(one for one in store.entries(PROFILE) if one.slug == "wood-lot").problems
    monkeypatch.setattr(record_files, "parse_toml", None)
    assert next(one for one in store.entries(PROFILE) if one.slug == "wood-lot").problems == first
    monkeypatch.undo()
    (folder / "wood-lot.toml").write_text(text.replace("k0", "j0"), "utf-8")
    assert next(one for one in store.entries(PROFILE) if one.slug == "wood-lot").problems != first
