"""2,000 files changed at random: none crashes the store, hides a sound one or makes it write over anything."""

import random

import pytest

from planner.records import BadInput, BagChart, Slip
from planner.store import PROFILE, Store, StoreError
from planner.store.checking import check_files
from planner.store.kinds import KINDS
from tests.store.children import contents
from tests.store.conftest import TWIN

FILES = 2000
ODD = [
    "",
    "0",
    "-1",
    "1e400",
    "nan",
    "inf",
    "true",
    '"9**9**9 m"',
    '"\\u202e"',
    "[[1], [2]]",
    "{a = {b = 1}}",
    "1979-05-27",
]
KEYS = ["schema", "name", "truck", "pressures", "cargo", "x", '"a b"', "stance.front", "readings", "ключ", "steps"]


def flipped(raw, draw):
    """Flip some bits."""
    flipped = bytearray(raw)
    for _ in range(draw.randint(1, 12)):
        flipped[draw.randrange(len(flipped))] ^= 1 << draw.randrange(8)
    return bytes(flipped)


def cut(raw, draw):
    """Keep the beginning, the end, or all but some of the middle."""
    one, other = sorted((draw.randrange(len(raw)), draw.randrange(len(raw))))
    return draw.choice([raw[:one], raw[other:], raw[:one] + raw[other:]])


def shuffled(raw, draw):
    """Put lines in another order, leave some out and say some twice."""
    lines = raw.splitlines(keepends=True)
    return b"".join(draw.choices(lines, k=len(lines)))


def swapped(raw, draw):
    """Put odd values in place of some."""
    lines = raw.decode().splitlines()
    for _ in range(draw.randint(1, 4)):
        place = draw.randrange(len(lines))
        key, sign, _ = lines[place].partition("=")
        lines[place] = f"{key}{sign} {draw.choice(ODD)}"
    return "\n".join(lines).encode()


def made_up(raw, draw):
    """Write TOML, or nearly, that has nothing to do with the file."""
    text = "schema = 1\n" if draw.random() < 0.7 else ""
    for _ in range(draw.randint(0, 40)):
        mark = draw.random()
        key = draw.choice(KEYS)
        text += f"[{key}]\n" if mark < 0.2 else f"[[{key}]]\n" if mark < 0.3 else f"{key} = {draw.choice(ODD)}\n"
    return text.encode()


def noise(raw, draw):
    """Write bytes that are no text."""
    return draw.randbytes(draw.randint(0, 3000))


def leaning(record):
    """Return a record with another left share; a bag's chart with another source, a slip of another scale."""
    if isinstance(record, BagChart):
        return record.replaced(source="another sheet")
    if isinstance(record, Slip):
        return record.replaced(scale="another scale")
    kerb = getattr(record, "kerb", None)
    return record.replaced(left_share=0.375) if kerb is None else record.replaced(kerb=kerb.replaced(left_share=0.375))


SOUND = {"bag": "twin", "truck": "flatbed", "trailer": "log-arch", "profile": "wood-lot", "slip": "weighbridge"}
SLIP = """\
schema = 1
name = "Weighbridge"
truck = "flatbed"
trailer = "log-arch"

[alone]   # two in the cab
front_axle = "1900 kg"
rear_axle = "1400 kg"
"""
WAYS = (flipped, cut, shuffled, swapped, made_up, noise)


@pytest.fixture
def fuzzed(folder):
    """A folder with 2,000 files changed at random beside the sound ones."""
    (folder / "bags").mkdir()
    (folder / "bags/twin.toml").write_text(TWIN)
    (folder / "slips").mkdir()
    (folder / "slips/weighbridge.toml").write_text(SLIP)
    draw = random.Random(2026)  # noqa: S311  # the same files every time
    sound = {kind: next(iter((folder / kind.folder).glob("*.toml"))).read_bytes() for kind in KINDS}
    for number in range(FILES):
        kind = KINDS[number % len(KINDS)]
        raw = draw.choice(WAYS)(sound[kind], draw)
        (folder / kind.file(f"fuzz-{number}")).write_bytes(raw)
    return folder


def test_no_file_however_changed_crashes_or_changes_another(fuzzed):
    store, before = Store(fuzzed), contents(fuzzed)
    damaged = 0
    for kind in KINDS:
        entries = {entry.slug: entry for entry in store.entries(kind)}
        assert {slug: entry.brief is not None for slug, entry in entries.items() if "fuzz" not in slug} == {
            SOUND[kind.name]: True
        }
        for slug, entry in entries.items():
            assert (entry.brief is None) == bool(entry.problems)
            assert all(problem.file == kind.file(slug) and problem.line().isprintable() for problem in entry.problems)
            assert all(problem.remedy for problem in entry.problems)
            damaged += entry.brief is None
    assert damaged > FILES / 2
    assert contents(fuzzed) == before


def test_no_damaged_file_is_written_over_and_no_other_is_touched(fuzzed):
    store, before = Store(fuzzed), contents(fuzzed)
    sample = {kind: store.read(kind, SOUND[kind.name]) for kind in KINDS}
    written = {}
    for kind in KINDS:
        for entry in store.entries(kind):
            if "fuzz" not in entry.slug:
                continue
            if entry.brief is None:
                with pytest.raises(StoreError, match="was not overwritten"):
                    store.write(sample[kind], entry.slug)
            elif len(written) < 60:  # each waits for the disk
                new = leaning(entry.record)
                written[kind.file(entry.slug)] = kind, entry.slug, new
                store.write(new, entry.slug)
    after = contents(fuzzed)
    assert {name for name in after if after[name] != before[name]} <= written.keys()
    assert after.keys() == before.keys()
    for kind, slug, new in written.values():
        assert store.read(kind, slug) == new


def test_check_tells_of_every_damaged_file(fuzzed):
    store = Store(fuzzed)
    files = sorted(fuzzed.rglob("fuzz-*.toml"))[::5]
    named = {problem.file for problem in check_files(store, files)}
    for path in files:
        try:
            store.read_profile_path(path)
        except BadInput:
            continue
        assert str(path) not in named


HOSTILE = [
    "<script>alert(1)</script>",
    "**bold** [link](javascript:alert(1)) `code`",
    "מִגְרָשׁ העצים",
    "🪵🚚 lot",
    "$HOME && rm -rf / ; '\"",
    "{name} %s \\n \\u202e",
    "Robert'); DROP TABLE profiles;--",
    "CON",
    ".. / ..",
    "n" * 120,
]


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_name_is_text_like_any_other(store, folder, name):
    before = contents(folder.parent)
    slug = store.save_as(store.read_profile("wood-lot").replaced(truck="flatbed"), name)
    profile = store.read_profile(slug)
    assert profile.name == name
    store.write(profile.replaced(cargo=(profile.cargo[0].replaced(name=name),)), slug, expected=profile)
    (entry,) = [entry for entry in store.entries(PROFILE) if entry.slug == slug]
    assert (entry.name, entry.brief.cargo) == (name, (name,))
    back = store.rename(slug, "Plain")
    assert store.rename(back, name) == slug
    receipt = store.delete(slug)
    assert [one.name for one in store.binned()] == [name]
    store.restore(receipt)
    after = contents(folder.parent)
    assert after.keys() == before.keys() | {f"profiles/{slug}.toml"}
    assert {key: after[key] for key in before} == before


@pytest.mark.parametrize("name", ["n" * 10_000, "\x00", "a\nb", "\u202egnp.exe", "\u2066x\u2069", "\ud800", " "])
def test_a_name_that_would_mislead_is_refused_in_a_file_too(store, folder, profile_text, name):
    before = contents(folder)
    with pytest.raises(BadInput, match="name: must be"):
        store.save_as(store.read_profile("wood-lot"), name)
    assert contents(folder) == before
    quoted = "".join(f"\\u{ord(letter):04x}" for letter in name)
    (folder / "odd.toml").write_text(profile_text.replace('"Wood lot"', f'"{quoted}"'), "utf-8")
    entry = next(entry for entry in store.entries(PROFILE) if entry.slug == "odd")
    assert entry.problems
    assert all(problem.line().isprintable() and len(problem.line()) < 400 for problem in entry.problems)
