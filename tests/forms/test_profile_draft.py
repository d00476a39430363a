import json
import shutil

import pytest

from planner.errors import ConflictError
from planner.forms import choices
from planner.forms.draft import NEW, enter_text, from_json, to_json
from planner.forms.fields_to_fix import check_savable
from planner.forms.profile_form import PROFILE_FORM, open_profile
from planner.forms.saving import level_work, save_profile, setup_of
from planner.front.session import draft_files
from planner.plans.saved_state import saved_pressures, standing
from planner.records import BadInput
from planner.store import StoreError
from planner.units.quantity import read

MILL = "mill-on-the-hill-road"


def tried(work):
    """Work with something of every sort in it."""
    for key, text in (("weight", "7400 lb"), ("left", "55 %"), ("bed.weight", "300 lb"), ("stance.rear", "lots")):
        work = enter_text(work, key, text, "us")
    return enter_text(work, "added.name", "Half a ro![w](x)", "us")


def test_a_draft_holds_all_of_the_work(store, work):
    new = tried(work)
    back = from_json(PROFILE_FORM, store, MILL, json.loads(json.dumps(to_json(new))))
    assert back == new


def test_readings_come_through_a_draft(store, folder, work):
    with (folder / f"{MILL}.toml").open("a", encoding="utf-8") as file:
        file.write('\n[[readings]]\nat = 2026-05-04T07:30:00\nfront_left = { pressure = "42 psi" }\n')
    read_anew = open_profile(store, MILL)
    assert from_json(PROFILE_FORM, store, MILL, json.loads(json.dumps(to_json(read_anew)))) == read_anew


@pytest.mark.parametrize("changed", [{}, {"profile": 3}, {"typed": None}, {"what_if": [1]}, {"profile": {"name": "x"}}])
def test_what_is_no_draft_is_refused(store, work, changed):
    draft = to_json(work) | changed if changed else {}
    with pytest.raises((ValueError, TypeError, KeyError, AttributeError)):
        from_json(PROFILE_FORM, store, MILL, draft)


def test_a_new_work_is_worth_keeping_once_something_is_typed(store):
    fresh = open_profile(store, NEW)
    assert (fresh.slug, fresh.base, fresh.trailer) == (NEW, None, None)
    assert not fresh.worth_keeping
    assert enter_text(fresh, "left", "51 %", "us").worth_keeping


def test_a_profile_whose_trailer_is_gone_opens_without_an_answer_and_says_why(store, folder):
    (folder / "trailers/band-mill.toml").unlink()
    work = open_profile(store, MILL)
    assert "band-mill" in choices.fault(store, work, "trailer").got
    with pytest.raises(BadInput, match="band-mill"):
        setup_of(work)
    assert choices.fault(store, choices.chosen(store, work, "trailer", "slab-hauler"), "trailer") is None


def test_a_new_work_takes_the_first_truck_that_can_be_read(store, folder):
    (folder / "trucks/ridge-truck.toml").write_text("schema = 1", "utf-8")
    assert open_profile(store, NEW).truck.name == "Skid truck"
    for slug in ("skid-truck", "yard-truck"):
        (folder / f"trucks/{slug}.toml").write_text("schema = 1", "utf-8")
    with pytest.raises(BadInput, match=r"trucks/yard-truck\.toml"):
        open_profile(store, NEW)


def test_what_no_file_holds_is_kept_but_is_not_unsaved(work):
    weighed = enter_text(work, "weighed.alone", "4280 lb", "us")
    assert weighed.worth_keeping
    assert not weighed.unsaved
    assert enter_text(weighed, "weight", "8000 lb", "us").unsaved
    assert enter_text(weighed, "weight", "heavy", "us").unsaved


# Drafts on disk


def test_a_draft_is_written_read_and_removed(folder, work):
    tag = draft_files.write_draft(folder, MILL, to_json(work))
    assert draft_files.read_draft(folder, MILL) == draft_files.Draft(tag, to_json(work))
    assert draft_files.tag_of(folder, MILL) == tag
    assert draft_files.kept(folder) == {MILL}
    draft_files.remove_draft(folder, MILL)
    draft_files.remove_draft(folder, MILL)
    assert draft_files.read_draft(folder, MILL) == draft_files.Draft(draft_files.GONE, None)


@pytest.mark.parametrize("raw", [b"", b"{", b"[]", b"\xff\xfe", b"[" * 100_000, b'{"a":' * 50_000])
def test_a_damaged_draft_has_no_content_and_is_set_aside(folder, raw):
    path = draft_files.draft_path(folder, MILL)
    path.parent.mkdir()
    path.write_bytes(raw)
    assert draft_files.read_draft(folder, MILL).content is None
    aside = draft_files.set_draft_aside(folder, MILL)
    assert (folder / aside).read_bytes() == raw
    assert draft_files.kept(folder) == frozenset()


def test_a_link_that_leads_the_drafts_out_of_the_folder_is_not_followed(folder, work, tmp_path):
    outside = tmp_path / "outside"
    outside.mkdir()
    tag = draft_files.write_draft(folder, MILL, to_json(work))
    shutil.move(folder / draft_files.FOLDER / f"{MILL}.json", outside)
    (folder / draft_files.FOLDER).rmdir()
    (folder / draft_files.FOLDER).symlink_to(outside, target_is_directory=True)
    before = (outside / f"{MILL}.json").read_bytes()
    assert draft_files.read_draft(folder, MILL) == draft_files.Draft(draft_files.GONE, None)
    assert draft_files.tag_of(folder, MILL) == draft_files.GONE != tag
    assert draft_files.kept(folder) == frozenset()
    for act in (lambda: draft_files.write_draft(folder, MILL, {}), lambda: draft_files.remove_draft(folder, MILL)):
        with pytest.raises(StoreError, match="leads out of the profiles folder: put a folder in its place"):
            act()
    assert (outside / f"{MILL}.json").read_bytes() == before
    assert [one.name for one in outside.iterdir()] == [f"{MILL}.json"]


@pytest.mark.parametrize("slug", ["../mill", "a/b", "con", "", "_", "x" * 300, "a.b"])
def test_a_draft_never_leaves_its_folder(folder, slug):
    with pytest.raises(BadInput):
        draft_files.draft_path(folder, slug)


# Choices


def test_a_trailer_is_hung_on_a_hitch_that_fits(store, work):
    new = choices.chosen(store, work, "trailer", "log-deck")
    assert (new.profile.trailer, new.profile.hitch, new.trailer.name) == ("log-deck", "bed ball", "Log deck")


def test_the_truck_alone_is_a_choice(store, work):
    new = choices.chosen(store, work, "trailer", choices.ALONE)
    assert new.profile.trailer is None
    assert new.towed is None
    assert level_work(new).hitch_load == 0.0


def test_a_trailer_with_no_hitch_to_fit_is_kept_as_chosen_with_the_remedy(store, folder, work):
    truck = folder / "trucks/ridge-truck.toml"
    text = truck.read_text("utf-8")
    start = text.index('[[hitches]]\nname = "bed ball"')
    truck.write_text(text[:start] + text[text.index("[air]") :], "utf-8")
    work = open_profile(store, MILL)
    new = choices.chosen(store, work, "trailer", "log-deck")
    assert new.profile == work.profile
    refusal = choices.fault(store, new, "trailer")
    assert "gooseneck" in refusal.rule
    assert "add a gooseneck" in refusal.remedy
    mended = choices.chosen(store, new, "trailer", "slab-hauler")
    assert mended.profile.trailer == "slab-hauler"
    assert mended.typed == {}


def test_a_damaged_trailer_is_told_of_when_chosen(store, folder, work):
    (folder / "trailers/log-deck.toml").write_text("schema = 1\nname = ", "utf-8")
    new = choices.chosen(store, work, "trailer", "log-deck")
    assert new.profile == work.profile
    assert "damaged" in choices.fault(store, new, "trailer").rule
    (folder / "trailers/log-deck.toml").write_text('schema = 1\nname = "Log deck"\n', "utf-8")
    assert choices.fault(store, new, "trailer").rule == "its file is damaged: coupling is required"
    (folder / "trailers/log-deck.toml").unlink()
    assert choices.fault(store, new, "trailer").rule == "no trailer has that name"


def test_another_truck_keeps_the_hitch_if_it_has_one_of_that_name(store, work):
    new = choices.chosen(store, work, "truck", "yard-truck")
    assert (new.truck.name, new.profile.hitch) == ("Yard truck", "receiver")


def test_another_hitch_is_a_choice_and_what_fits_is_no_fault(store, work):
    assert choices.chosen(store, work, "hitch", "bed ball").profile.hitch == "bed ball"
    assert choices.fault(store, work, "trailer") is None
    assert choices.fault(store, work.with_typed("trailer", "slab-hauler"), "trailer") is None


# Saving


def test_saving_writes_the_pressures_to_set(store, work):
    answer = level_work(work)
    new = save_profile(store, work, None, None, "")
    assert not new.changed
    saved = saved_pressures(store.read_profile(MILL))
    assert list(saved.values()) == pytest.approx(answer.set.pressure.ravel(), abs=1.0)
    assert all(text.text.endswith(" psi") for text in vars(store.read_profile(MILL).pressures).values())


def test_numbers_tried_are_not_written_unless_somebody_says_where(store, work):
    new = enter_text(work, "weight", "7400 lb", "us")
    with pytest.raises(BadInput, match="where the numbers go"):
        check_savable(new, "us")


def test_numbers_tried_go_into_the_trailer_s_file(store, work):
    save_profile(store, enter_text(work, "weight", "7400 lb", "us"), None, "write", "")
    assert store.read_trailer("band-mill").gross_weight == read("7400 lb", "weight")
    assert store.read_trailer("band-mill").gross_weight.text == "7400 lb"


def test_numbers_tried_go_into_a_new_trailer(store, work):
    new = save_profile(
        store, enter_text(work, "tongue", "14 %", "us"), "Mill, nose heavy", "new", "Band mill, nose heavy"
    )
    assert store.read_trailer("band-mill").tongue_ratio == 0.12
    assert store.read_profile(new.slug).trailer == "band-mill-nose-heavy"
    assert store.read_trailer("band-mill-nose-heavy").tongue_ratio == 0.14
    assert store.read_profile(MILL) == work.profile


def test_numbers_tried_are_dropped_and_the_pressures_are_those_of_the_file_s(store, work):
    save_profile(store, enter_text(work, "weight", "9400 lb", "us"), None, "drop", "")
    assert store.read_trailer("band-mill").gross_weight == read("7200 lb", "weight")
    expected = level_work(work).set.pressure.ravel()
    assert list(saved_pressures(store.read_profile(MILL)).values()) == pytest.approx(expected, abs=1.0)


def test_a_name_that_is_taken_leaves_the_trailer_as_it_was(store, work):
    with pytest.raises(BadInput, match="another profile has that name"):
        save_profile(store, enter_text(work, "weight", "7400 lb", "us"), "Slabs on Friday", "write", "")
    assert store.read_trailer("band-mill").gross_weight == read("7200 lb", "weight")


@pytest.mark.parametrize("name", ["", "x" * 121, "a\x00b", "\u202eevil"])
def test_a_name_that_cannot_be_is_refused_before_anything_is_written(store, folder, work, name):
    before = {path: path.read_bytes() for path in folder.rglob("*.toml")}
    with pytest.raises(BadInput, match="name"):
        save_profile(store, enter_text(work, "weight", "7400 lb", "us"), name, "write", "")
    assert {path: path.read_bytes() for path in folder.rglob("*.toml")} == before


def test_work_with_a_marked_field_is_not_saved(work):
    with pytest.raises(BadInput, match="cannot be used as typed"):
        check_savable(enter_text(work, "left", "120 %", "us"), "us")


def test_a_card_stands_at_the_pressures_saved(store, work):
    saved = save_profile(store, work, None, None, "")
    answer = standing(saved.profile, saved.truck, saved.trailer).answer
    assert answer.pressure == pytest.approx(level_work(work).set.pressure, abs=1.0)


def test_pressures_saved_that_one_line_cannot_hold_are_told_of(store):
    profile = store.read_profile("slabs-on-friday").replaced(pressures={"rear_left": "40 psi", "rear_right": "50 psi"})
    with pytest.raises(BadInput, match="both bags share"):
        standing(profile, store.read_truck(profile.truck), store.read_trailer(profile.trailer))


# Saving while others do


def test_when_the_profile_was_changed_elsewhere_the_trailer_is_not_written_either(store, work):
    heavy = work.with_numbers(gross_weight="8000 lb")
    store.write(work.profile.replaced(left_share=0.6), MILL)
    with pytest.raises(ConflictError, match="left_share"):
        save_profile(store, heavy, None, "write", "")
    assert store.read_trailer("band-mill").gross_weight.text == "7200 lb"
    assert store.read_profile(MILL).left_share == 0.6


def test_when_the_trailer_was_changed_elsewhere_the_profile_is_not_written_either(store, work):
    heavy = work.with_numbers(gross_weight="8000 lb").with_profile(left_share=0.52)
    store.write(store.read_trailer("band-mill").replaced(tongue_ratio=0.14), "band-mill")
    with pytest.raises(ConflictError) as caught:
        save_profile(store, heavy, None, "write", "")
    assert caught.value.theirs.tongue_ratio == 0.14
    assert store.read_trailer("band-mill").gross_weight.text == "7200 lb"
    assert store.read_profile(MILL) == work.base
