"""Two tabs, or a laptop and a phone, on one profile: nothing is overwritten without being asked."""

import errno

import pytest

from planner.forms import draft_export
from planner.front.session import draft_files
from planner.store.transfer.import_zip import import_files
from planner.store.transfer.preview import compare_with_folder, read_zip
from planner.store.transfer.zip_safety import open_zip

from .conftest import MILL, Tab


@pytest.fixture
def two(folder) -> tuple[Tab, Tab]:
    return Tab("level", profile=MILL), Tab("level", profile=MILL)


def test_a_tab_without_changes_follows_what_another_saved(two, store):
    one, other = two
    one.type("left", "52 %").press("save")
    assert other.run().field("left").value == "52 %"
    assert "keep" not in other.buttons()


def test_a_tab_without_changes_follows_what_another_is_changing(two):
    one, other = two
    one.type("left", "52 %")
    assert other.run().field("left").value == "52 %"


def test_changes_in_both_are_offered_both_ways_and_nothing_is_written_meanwhile(two, folder):
    one, other = two
    one.type("left", "52 %")
    kept = draft_files.read_draft(folder, MILL).content
    other.type("left", "48 %")
    assert {"keep", "take"} <= other.buttons()
    assert "being changed in another tab" in other.words()
    assert draft_files.read_draft(folder, MILL).content == kept
    other.press("save")
    assert "changed in another tab" in other.errors()


def test_taking_the_other_drops_what_was_here(two):
    one, other = two
    one.type("left", "52 %")
    other.type("left", "48 %").press("take")
    assert other.field("left").value == "52 %"
    assert "take" not in other.buttons()


def test_keeping_what_is_here_makes_it_the_draft_and_the_first_tab_follows(two):
    one, other = two
    one.type("left", "52 %")
    other.type("left", "48 %").press("keep")
    assert "take" not in other.buttons()
    assert other.reloaded("level").field("left").value == "48 %"
    assert one.run().field("left").value == "48 %"


def test_a_profile_saved_elsewhere_is_not_written_over_unasked(two, store):
    one, other = two
    other.type("weight", "8000 lb")
    one.run()
    store.write(store.read_profile(MILL).replaced(left_share=0.6), MILL)
    other.type("saving.fate", "drop").press("save")
    assert "changed in another tab" in other.errors()
    assert "was saved in another tab" in other.words()
    assert store.read_profile(MILL).left_share == 0.6
    other.press("keep").press("save")
    assert store.read_profile(MILL).left_share == 0.5


def test_a_save_pressed_before_the_change_in_another_tab_was_seen_is_asked_again(two, store):
    one, other = two
    one.at.button(key="save").click()
    other.type("left", "48 %")
    one.run()
    assert "changed in another tab" in one.errors()
    assert one.field("left").value == "48 %"
    assert store.read_profile(MILL).pressures is None
    assert other.press("save").errors() == ""
    assert store.read_profile(MILL).left_share == 0.48


def test_a_profile_deleted_elsewhere_can_be_saved_again_or_let_go(two, store):
    _, other = two
    other.type("left", "48 %")
    store.delete(MILL)
    other.run()
    assert "was deleted or renamed somewhere else" in other.words()
    other.press("keep").press("save")
    assert store.read_profile(MILL).left_share == 0.48


def test_a_profile_deleted_elsewhere_is_let_go(two, store):
    _, other = two
    other.type("left", "48 %")
    store.delete(MILL)
    other.run().press("take")
    assert other.at.title[0].value != "Mill on the hill road"


def test_a_tab_that_left_with_a_clash_finds_it_again(two):
    one, other = two
    one.type("left", "52 %")
    other.type("left", "48 %").go("level", profile="slabs-on-friday").go("level", profile=MILL)
    assert other.field("left").value == "48 %"
    assert "take" in other.buttons()


@pytest.mark.parametrize("text", ['{"profile": 3', '{"profile": 3}', "[]", '{"base": null, "profile": {"name": 1}}'])
def test_a_damaged_draft_is_set_aside_and_said(folder, text):
    path = draft_files.draft_path(folder, MILL)
    path.parent.mkdir()
    path.write_text(text, "utf-8")
    page = Tab("level", profile=MILL)
    assert "could not be read" in page.errors()
    assert page.field("left").value == "50 %"
    assert [one.suffix for one in path.parent.iterdir()] == [".damaged"]


def test_a_disk_that_refuses_is_said_and_the_work_goes_on(folder):
    (folder / draft_files.FOLDER).write_text("a file where the folder should be", "utf-8")
    page = Tab("level", profile=MILL).type("left", "55 %")
    assert "cannot be written" in page.run().errors()
    assert page.field("left").value == "55 %"


def test_a_draft_whose_trailer_is_damaged_waits_until_it_is_mended(folder, store):
    Tab("level", profile=MILL).type("left", "55 %").type("weight", "8000 lb")
    path = folder / "trailers/band-mill.toml"
    text = path.read_text("utf-8")
    path.write_text("schema = 1", "utf-8")
    assert "trailers/band-mill.toml" in Tab("level", profile=MILL).errors().replace("\\", "")
    path.write_text(text, "utf-8")
    mended = Tab("level", profile=MILL)
    assert mended.field("left").value == "55 %"
    assert mended.field("weight").value == "8000 lb"


@pytest.mark.parametrize("page", ["level", "hitch", "trim", "air", "weigh"])
def test_a_profile_whose_trailer_is_gone_opens_and_another_can_be_chosen(folder, store, page):
    (folder / "trailers/band-mill.toml").unlink()
    tab = Tab(page, profile="weekly-mill-run")
    if page != "weigh":  # which asks the slips for a trailer
        assert 'no trailer has that name, got "band-mill"' in tab.errors().replace("\\", "")
    tab.go("level", profile="weekly-mill-run")
    assert "<b>✗ Trailer</b>" in tab.html()
    assert "No trailer: the truck alone" not in tab.html()
    tab.type("trailer", "slab-hauler")
    assert not tab.errors()
    assert all(tab.pressures())
    tab.press("save")
    assert store.read_profile("weekly-mill-run").trailer == "slab-hauler"


@pytest.mark.parametrize("page", ["level", "trim"])
def test_a_profile_whose_truck_is_gone_opens_on_another_and_keeps_what_was_typed(folder, store, page):
    Tab("level", profile=MILL).type("left", "55 %")
    (folder / "trucks/ridge-truck.toml").unlink()
    tab = Tab(page, profile=MILL)
    assert 'no truck has that name, got "ridge-truck"' in tab.errors().replace("\\", "")
    tab.at.selectbox(key="other-truck").set_value("yard-truck")
    tab.run().press("use-truck")
    assert not tab.errors()
    assert store.read_profile(MILL).truck == "ridge-truck"  # nothing is saved until its owner says so
    tab.go("level", profile=MILL)
    assert tab.field("left").value == "55 %"
    assert all(tab.pressures())
    tab.press("save")
    assert store.read_profile(MILL).truck == "yard-truck"


def test_a_disk_that_refuses_an_action_is_said(folder, monkeypatch):
    page = Tab()

    def refuse(*given):
        raise OSError(5, "Input/output error", "profile.toml")

    monkeypatch.setattr("planner.store.Store.delete", refuse)
    page.press(f"more-{MILL}").press(f"delete-{MILL}")
    assert "the disk refuses: Input/output error" in page.errors().replace("\\", "")


def test_a_clash_says_what_the_other_changed(two, store):
    _, other = two
    other.type("bed.weight", "100 lb")
    store.write(store.read_profile(MILL).replaced(left_share=0.6), MILL)
    assert "left_share" in other.run().words().replace("\\", "")
    assert "is now" in other.words()


def test_a_trailer_changed_elsewhere_since_it_was_shown_is_not_written_over_unasked(level, store):
    level.type("weight", "8000 lb").type("saving.fate", "write")
    store.write(store.read_trailer("band-mill").replaced(gross_weight="9000 lb"), "band-mill")
    level.press("save")
    assert "was changed somewhere else" in level.errors()
    assert "9000 lb" in level.errors()
    assert store.read_trailer("band-mill").gross_weight.text == "9000 lb"
    assert store.read_profile(MILL).pressures is None
    assert level.field("saving.fate").value is None
    level.press("save")
    assert "choose under save" in level.errors().lower()
    level.type("saving.fate", "write").press("save")
    assert store.read_trailer("band-mill").gross_weight.text == "8000 lb"


def test_a_reload_may_save_what_another_session_typed(level, store):
    level.type("left", "52 %").reloaded("level").press("save")
    assert store.read_profile(MILL).left_share == 0.52


def test_the_same_numbers_written_otherwise_are_no_reason_to_refuse(level, store, folder):
    level.type("left", "52 %")
    path = folder / f"{MILL}.toml"
    text = path.read_text("utf-8")
    written = text.replace('weight = "420 lb"', 'weight = "420.0 lb"')
    assert written != text
    path.write_text(written, "utf-8")
    assert "keep" not in level.press("save").buttons()
    assert level.errors() == ""
    assert store.read_profile(MILL).left_share == 0.52


# Drafts that the disk refuses


@pytest.fixture
def full_disk():
    """A disk that is full, for drafts, until undone."""

    def full(path, data):
        raise OSError(errno.ENOSPC, "No space left on device", str(path))

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(draft_files.atomic_write, "replace_file", full)
        yield patch


def test_a_full_disk_is_told_of_at_once_and_for_as_long_as_it_lasts(level, full_disk):
    level.type("left", "52 %")
    assert "The profile is not kept." in level.errors()
    assert "the disk is full" in level.errors()
    assert "Unsaved changes, kept on this machine" not in level.words()
    level.type("left", "53 %").go("profiles", profile=MILL, view="list")
    assert "the disk is full" in level.errors()
    level.go("level", profile=MILL).type("left", "54 %")
    assert "the disk is full" in level.errors()
    full_disk.undo()
    level.run()
    assert level.errors() == ""
    assert "Unsaved changes, kept on this machine" in level.words()
    assert level.reloaded("level").field("left").value == "54 %"


def test_a_place_for_drafts_that_comes_to_be_is_no_other_tab(level, folder):
    place = folder / draft_files.FOLDER
    place.write_text("a file where the folder should be", "utf-8")
    level.type("left", "52 %")
    assert "The profile is not kept." in level.errors()
    place.unlink()
    level.type("left", "53 %")
    assert level.errors() == ""
    assert "another tab" not in level.words()
    assert level.reloaded("level").field("left").value == "53 %"


def test_a_place_for_drafts_that_goes_while_one_works_is_no_other_tab(level, folder):
    place = folder / draft_files.FOLDER
    level.type("left", "52 %")
    place.rename(folder / "elsewhere")
    place.write_text("a file where the folder should be", "utf-8")
    level.type("left", "53 %")
    assert "The profile is not kept." in level.errors()
    assert "another tab" not in level.words()
    place.unlink()
    level.run()
    assert level.errors() == ""
    assert level.reloaded("level").field("left").value == "53 %"


def test_a_place_for_a_trailers_draft_that_comes_to_be_is_no_other_tab(folder, tab):
    place = folder / "trailers" / draft_files.FOLDER
    place.write_text("a file where the folder should be", "utf-8")
    page = tab("garage", trailer="band-mill").type("trailer.gvwr", "9000 lb")
    assert "The trailer is not kept." in page.errors()
    place.unlink()
    page.type("trailer.gvwr", "9100 lb")
    assert page.errors() == ""
    assert "another tab" not in page.words()
    assert "Unsaved changes, kept on this machine" in page.words()


def test_what_is_not_kept_is_still_there_after_another_profile(level, full_disk):
    level.type("left", "52 %").go("level", profile="slabs-on-friday")
    assert level.errors() == ""
    level.go("level", profile=MILL)
    assert level.field("left").value == "52 %"
    assert "the disk is full" in level.errors()
    assert "take" not in level.buttons()


def test_what_is_not_kept_can_be_taken_away_and_brought_in_again(level, store, folder, full_disk):
    level.type("left", "52 %").type("weight", "7400 lb").type("stance.rear", "lots")
    assert any(one.proto.label.startswith("Save the profile") for one in level.at.get("download_button"))
    data = draft_export.zip_draft(store, level.at.session_state["_tab"].profile.work)
    assert '# "stance.rear": "lots"' in open_zip(data)[f"{MILL}.toml"].decode()
    full_disk.undo()
    assert {item.state for item in compare_with_folder(read_zip(data, "typed.zip"), store).items} == {"differs", "same"}
    import_files(compare_with_folder(read_zip(data, "typed.zip"), store), store, "theirs", {})
    assert store.read_profile(MILL).left_share == 0.52
    assert store.read_trailer("band-mill").gross_weight.text == "7400 lb"


def test_a_new_profile_that_is_not_kept_can_be_taken_away_too(folder, store, tab, full_disk):
    page = tab("level", profile="_new").type("trailer", "band-mill")
    data = draft_export.zip_draft(store, page.at.session_state["_tab"].profile.work)
    assert "new-profile.toml" in open_zip(data)
    assert compare_with_folder(read_zip(data, "typed.zip"), store).count("new") == 1


def test_a_trailer_that_is_not_kept_is_told_of_and_can_be_taken_away(folder, store, tab, full_disk):
    page = tab("garage", trailer="band-mill").type("trailer.gvwr", "9000 lb")
    assert "The trailer is not kept." in page.errors()
    assert "Unsaved changes, kept on this machine" not in page.words()
    page.type("trailer.track", "lots").go("level", profile=MILL)
    assert "The trailer is not kept." in page.errors()
    data = draft_export.zip_draft(store, page.at.session_state["_tab"].trailer.work)
    (item,) = compare_with_folder(read_zip(data, "typed.zip"), store).items
    assert [one.field for one in item.changes] == ["gvwr"]
    assert '# "track": "lots"' in open_zip(data)["trailers/band-mill.toml"].decode()
    full_disk.undo()
    assert page.run().errors() == ""
    assert page.reloaded("level").go("garage", trailer="band-mill").field("trailer.gvwr").value == "9000 lb"


def test_what_is_changed_back_while_the_file_was_saved_elsewhere_lets_the_file_in(level, store):
    """The draft from before came back instead, as if it had just been typed."""
    saved = level.field("weight").value
    level.type("weight", "8000")
    store.write(store.read_profile(MILL).replaced(cargo=()), MILL)
    level.run()
    assert "saved in another tab" in level.words()
    level.type("weight", saved)
    assert "saved in another tab" not in level.words()
    assert level.field("weight").value == saved
    assert level.reloaded("level").field("weight").value == saved
