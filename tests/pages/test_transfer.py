"""Taking away and bringing in on a page of its own, without a browser."""

import io
import threading
import zipfile

import pytest
from streamlit.testing.v1 import AppTest

from planner import export
from planner.front.profiles import csv_export, import_progress
from planner.front.profiles.import_progress import AT_ONCE
from planner.plans import saved_state
from planner.store import PROFILE, Store, history
from planner.store.transfer.export import export_all, export_profiles
from planner.store.transfer.zip_safety import open_zip, pack_files

from .conftest import MILL, PROFILES

SCRIPT = (
    "from planner.front.profiles import transfer\nfrom planner.front.widgets import reply\n"
    "transfer.draw_transfer()\nreply.draw_left_over()\n"
)
HOSTILE = [
    "<b>bold</b><script>alert(1)</script>",
    "![x](http://stranger.example/x.png)",
    "$x^2$ :red[x] **x**",
    "😀 שלום",
]


class Page:
    """A page with the piece on it."""

    def __init__(self):
        self.at = AppTest.from_string(SCRIPT, default_timeout=300)
        self.run()

    def run(self):
        self.at.run()
        assert not self.at.exception
        return self

    def upload(self, data, name="mail.zip"):
        self.one("file_uploader", "zip").set_value((name, data, "application/zip"))
        return self.run()

    def one(self, kind, what):
        """Return a widget that goes with the zip, whichever zip it is."""
        (found,) = [one for one in getattr(self.at, kind) if (one.key or "").startswith(f"moving-{what}-")]
        return found

    def press(self, key):
        self.at.button(key=key).click()
        return self.run()

    @property
    def words(self):
        parts = [*self.at.header, *self.at.markdown, *self.at.error]
        return "\n".join([*(str(one.value) for one in parts), *(one.proto.body for one in self.at.get("html"))])

    @property
    def keys(self):
        return {button.key for button in self.at.button}


@pytest.fixture
def page(folder):
    return Page()


@pytest.fixture
def theirs(store):
    """The demo as another person has it: a heavier truck, other stance, one profile more."""
    inside = open_zip(export_all(store).data)
    truck = inside["trucks/ridge-truck.toml"].replace(b'gvwr = "11500 lb"', b'gvwr = "11000 lb"')
    mill = inside[f"{MILL}.toml"].replace(b'"420 lb"', b'"400 lb"') + b'\n[pressures]\nrear_left = "50 psi"\n'
    more = inside[f"{MILL}.toml"].replace(b"Mill on the hill road", b"More")
    return pack_files(
        inside | {"trucks/ridge-truck.toml": truck, f"{MILL}.toml": mill, "more.toml": more, "x.exe": b"MZ"}
    )


def test_there_are_buttons_for_one_for_everything_and_for_the_table(page):
    assert [one.proto.label for one in page.at.get("download_button")] == [
        "Back up everything",
        "Table of all profiles (CSV)",
        "Export with its truck and trailer",
    ]
    assert "bring" not in page.keys


def test_an_empty_folder_can_only_be_filled(folder, store):
    data = export_all(store).data
    for slug in store.profiles():
        store.delete(slug)
    page = Page()
    assert [one.proto.label for one in page.at.get("download_button")] == ["Back up everything"]
    page.upload(data).press("bring")
    assert len(store.profiles()) == PROFILES


def test_what_the_buttons_make_is_what_is_there(store, folder):
    (folder / "torn.toml").write_text("torn", "utf-8")
    assert export.zip_of_all(store) == export_all(store).data
    assert export.zip_of(store, MILL) == export_profiles(store, [MILL]).data
    rows = export.table_of(store, "metric").decode("utf-8-sig").split("\r\n")
    assert len(rows) == 1 + PROFILES + 1 + 1
    assert "[bar]" in rows[0]
    assert any(row.startswith("torn,") and "cannot be used: torn.toml: is not valid TOML" in row for row in rows)
    assert next(row for row in rows if row.startswith("Mill on")).count("planned") == 1


def test_numbers_that_no_truck_has_have_a_line_without_numbers(store, monkeypatch):
    def no_rest(*records):
        raise ArithmeticError("no rest found")

    monkeypatch.setattr(saved_state, "answers_of", no_rest)
    assert export.table_of(store, "us").decode().count("cannot be used: no rest found") == PROFILES


@pytest.fixture
def long_list(folder, monkeypatch):
    """A page whose profiles are more than are put into a table at once, and worked out two at a time."""
    monkeypatch.setattr(csv_export, "AT_ONCE", 3)
    monkeypatch.setattr(csv_export, "TOGETHER", 2)
    return Page()


@pytest.fixture
def held(monkeypatch):
    """What holds a table after its first two profiles until it is set."""
    go, real = threading.Event(), csv_export.lines_of

    def lines_of(store, entries):
        if entries[0].slug != store.profiles()[0]:
            assert go.wait(60)
        return real(store, entries)

    monkeypatch.setattr(csv_export, "lines_of", lines_of)
    return go


def _table(page):
    return page.at.session_state["_tab"].table


def _labels(page):
    return [one.proto.label for one in page.at.get("download_button")]


def test_a_long_table_is_made_on_a_thread_of_its_own_and_is_that_of_the_button(long_list, store):
    assert long_list.at.button(key="table-begin").label == f"Table of all profiles (CSV), {PROFILES} lines"
    assert "Table of all profiles (CSV)" not in _labels(long_list)
    long_list.press("table-begin")
    _table(long_list).wait()
    long_list.run()
    assert _table(long_list).data() == export.table_of(store, "us")
    assert any(label.startswith("Save the table as of") for label in _labels(long_list))
    assert {"table-stop", "table-go-on"}.isdisjoint(long_list.keys)


def test_a_long_table_shows_how_far_it_is_and_a_stop_keeps_what_is_done(long_list, held, store):
    long_list.press("table-begin").run()
    assert "table-stop" in long_list.keys
    (bar,) = long_list.at.get("progress")
    assert bar.proto.text in [f"{n} of {PROFILES} profiles are in the table." for n in (0, 2)]
    long_list.press("table-stop")
    held.set()
    _table(long_list).wait()
    long_list.run()
    assert _table(long_list).ready < PROFILES
    assert f"Save the first {_table(long_list).ready} of {PROFILES} lines (CSV)" in _labels(long_list)
    whole = export.table_of(store, "us")
    assert whole.startswith(_table(long_list).data())
    long_list.press("table-go-on")
    _table(long_list).wait()
    long_list.run()
    assert _table(long_list).data() == whole


def test_a_long_table_in_other_units_is_another_one(long_list, store):
    long_list.press("table-begin")
    _table(long_list).wait()
    long_list.at.session_state["_tab"].system = "metric"
    long_list.run()
    assert long_list.at.button(key="table-begin").label == f"Table of all profiles (CSV), {PROFILES} lines"


def test_a_long_table_that_fails_on_its_thread_says_so_where_it_is_asked_for(folder, store, monkeypatch):
    def broken(*given):
        raise RuntimeError("broken")

    monkeypatch.setattr(csv_export, "lines_of", broken)
    made = csv_export.TableExport(store, "us")
    made.wait()
    assert not made.under_way
    with pytest.raises(RuntimeError, match="broken"):
        made.data()


def test_a_zip_is_shown_before_it_changes_anything(page, store, folder, theirs):
    before = {path: path.read_bytes() for path in folder.rglob("*.toml")}
    page.upload(theirs)
    assert "17 files: 1 new, 2 different from yours, 1 not to be used, 13 the same as here" in page.words.replace(
        "\\", ""
    )
    assert "gvwr: yours 11500 lb, theirs 11000 lb" in page.words
    assert "pressures.rear_left: yours nothing, theirs 50 psi" in page.words
    assert "is not one of the planner&#x27;s files" in page.words
    assert page.at.button(key="bring").label == "Bring in 1 file"
    assert {path: path.read_bytes() for path in folder.rglob("*.toml")} == before


def test_mine_are_kept_unless_something_else_is_chosen(page, store, theirs):
    page.upload(theirs).press("bring")
    assert "Brought in: 1 new, 2 of yours kept as they are" in page.words.replace("\\", "")
    assert "more" in store.profiles()
    assert store.read_truck("ridge-truck").gvwr.text == "11500 lb"
    page.press("undo")
    assert "more" not in store.profiles()


def test_theirs_are_taken_and_given_back(page, store, folder, theirs):
    before = {path.name: path.read_bytes() for path in [*folder.glob("*.toml"), *folder.glob("tr*/*.toml")]}
    page.upload(theirs)
    page.one("radio", "all").set_value("theirs")
    page.run()
    assert page.at.button(key="bring").label == "Bring in 3 files"
    page.press("bring")
    assert store.read_truck("ridge-truck").gvwr.text == "11000 lb"
    assert history.read_history(store, MILL).kept[0].reason == "imported"
    assert "bring" not in page.keys  # the zip is let go of: pressed once more, it would come twice
    page.upload(theirs)
    assert "16 the same as here" in page.words
    assert "The same as here: bags/double-convoluted.toml, " in page.words
    assert page.at.button(key="bring").disabled
    page.press("undo")
    assert {path.name: path.read_bytes() for path in [*folder.glob("*.toml"), *folder.glob("tr*/*.toml")]} == before


def test_both_are_kept_for_one_file_and_mine_for_the_rest(page, store, theirs):
    page.upload(theirs)
    page.one("selectbox", f"{MILL}.toml").set_value("both")
    page.run()
    assert page.at.button(key="bring").label == "Bring in 2 files"
    page.press("bring")
    assert f"{MILL}-brought-in" in store.profiles()
    assert store.read_truck("ridge-truck").gvwr.text == "11500 lb"


def test_a_zip_that_is_refused_says_why_once(page):
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        archive.writestr("../../evil.toml", b"x")
    page.upload(made.getvalue(), "![x](http://stranger.example/x.png).zip")
    (error,) = page.at.error
    said = error.value.replace("\\", "")
    assert "holds a path that leads outside" in said
    assert "![x]" not in error.value
    assert "bring" not in page.keys
    page.upload(b"no zip")
    assert "is not a zip" in page.at.error[0].value


def test_what_changed_meanwhile_is_not_written_over(page, store, folder, theirs):
    page.upload(theirs)
    page.one("radio", "all").set_value("theirs")
    page.run()
    file = folder / f"{MILL}.toml"
    file.write_text(file.read_text("utf-8") + "# mine\n", "utf-8")
    page.press("bring")
    assert "was changed here after the zip was opened" in page.words.replace("\\", "")
    assert file.read_text("utf-8").endswith("# mine\n")
    assert "more" not in store.profiles()


def test_what_will_not_work_together_is_told_before_and_after(page, store, folder):
    inside = open_zip(export_profiles(store, [MILL]).data)
    alone = inside[f"{MILL}.toml"].replace(b'"ridge-truck"', b'"lost-truck"').replace(b"Mill on the hill road", b"Lost")
    page.upload(pack_files({"lost.toml": alone}))
    assert "names the truck &quot;lost-truck&quot;, which is not in the zip and not here" in page.words
    page.press("bring")
    assert "no truck has that name" in page.at.error[0].value


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_names_are_text(store, folder, name, tmp_path):
    slug = store.save_as(store.read_profile(MILL), name)
    data = export_profiles(store, [slug]).data
    other = Store(folder)
    other.write(other.read_profile(slug).replaced(left_share=0.4), slug)
    page = Page().upload(data)
    assert "<script>" not in page.words
    assert "<b>bold" not in page.words
    assert name.replace("<", "&lt;").replace(">", "&gt;")[:20] in page.words
    page.one("radio", "all").set_value("both")
    page.run().press("bring")
    assert len([one for one in store.entries(PROFILE) if one.name.startswith(name[:20])]) == 2
    assert not page.at.error


@pytest.fixture
def many(store):
    """A zip of more profiles than are brought in at once."""
    inside = open_zip(export_profiles(store, [MILL]).data)
    text = inside[f"{MILL}.toml"]
    more = {f"many-{n}.toml": text.replace(b"Mill on the hill road", b"Many %d" % n) for n in range(AT_ONCE + 1)}
    return pack_files(more)


def test_many_files_come_in_on_a_thread_of_their_own_and_go_again(page, store, many):
    page.upload(many).press("bring")
    running = page.at.session_state["_tab"].importing
    if running is not None:  # else it had ended by the time that the page was drawn
        running.wait()
        page.run()
    assert f"Brought in: {AT_ONCE + 1} new." in page.words.replace("\\", "")
    assert page.at.session_state["_tab"].importing is None
    assert len(store.profiles()) == PROFILES + AT_ONCE + 1
    page.press("undo")
    assert len(store.profiles()) == PROFILES


def test_an_import_under_way_shows_how_far_it_is_and_is_called_off(page, store, many, monkeypatch):
    drawn, real = threading.Event(), import_progress.import_files

    def bring(coming, store, choice, each, tell):
        def told(ready, of):
            tell(ready, of)
            if ready == 20:
                assert drawn.wait(60)

        return real(coming, store, choice, each, told)

    monkeypatch.setattr(import_progress, "import_files", bring)
    page.upload(many).press("bring")
    running = page.at.session_state["_tab"].importing
    page.run()
    assert "call-off" in page.keys
    assert "bring" not in page.keys
    page.press("call-off")
    drawn.set()
    running.wait()
    page.run()
    assert import_progress.CALLED_OFF in page.words.replace("\\", "")
    assert len(store.profiles()) == PROFILES
    assert "undo" not in page.keys


def test_an_import_that_fails_on_its_thread_says_why(page, store, folder, many, monkeypatch):
    def refuse(*given):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(type(folder), "write_bytes", refuse)
    page.upload(many).press("bring")
    running = page.at.session_state["_tab"].importing
    if running is not None:
        running.wait()
        page.run()
    assert "the disk is full" in page.words
    assert len(store.profiles()) == PROFILES
