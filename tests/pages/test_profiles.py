import pytest
from streamlit.runtime.scriptrunner_utils.exceptions import RerunException
from streamlit.runtime.scriptrunner_utils.script_requests import RerunData
from streamlit.testing.v1.element_tree import TextInput

from planner.forms.profile_form import open_profile
from planner.forms.saving import level_work
from planner.front.profiles import card, profile_list
from planner.front.session import draft_files
from planner.front.widgets import reply
from planner.plans.saved_state import saved_pressures
from planner.store import Store

from .conftest import MILL, PROFILES, Tab

HOSTILE = [
    "![x](http://example.org/x.png)",
    "<b>bold</b><script>alert(1)</script>",
    "[link](http://example.org)",
    "$x^2$ :red[x] `x` **x**",
    "../../etc/passwd",
    "con",
    "😀 שלום مرحبا",
    "x" * 120,
]


def cards(page: Tab) -> set[str]:
    """The profiles that have a card, by slug."""
    return {one.removeprefix("more-") for one in page.buttons() if one.startswith("more-")}


def links(page: Tab) -> list[tuple[str, str]]:
    """Words and query of every link."""
    return [(one.proto.label.replace("\\", ""), one.proto.query_string) for one in page.at.get("page_link")]


@pytest.fixture
def page(folder) -> Tab:
    return Tab()


def test_every_profile_has_a_card_that_leads_to_its_numbers(page, store):
    assert cards(page) == set(store.profiles())
    assert len(page.pictures()) == len(store.profiles())
    assert ("Set these", f"profile={MILL}") in links(page)
    assert ("Level this", f"profile={MILL}") in links(page)
    assert not page.errors()


def test_an_address_with_a_profile_opens_straight_to_its_numbers(folder):
    page = Tab(profile=MILL)
    assert page.query == {"profile": MILL}
    assert 'class="corners"' in page.html()
    assert cards(page) == set()


def test_the_link_from_a_profile_alone_leads_to_the_list(folder):
    page = Tab(profile=MILL)
    assert ("Profiles", f"profile={MILL}&view=list") in links(page)
    assert len(cards(page.go("profiles", profile=MILL, view="list"))) == PROFILES
    assert page.reloaded("profiles").query == {"profile": MILL, "view": "list"}


@pytest.mark.parametrize("slug", ["nothing", "../../etc/passwd", "con", "x" * 4000, "<b>", "%00", "_"])
def test_an_address_with_no_such_profile_says_so(folder, slug):
    page = Tab(profile=slug)
    assert "no profile has that name" in page.errors()
    assert ("To the list of profiles", "view=list") in links(page)
    assert 'class="corners"' not in page.html()


def test_a_copy_is_saved_and_taken_back(page, store):
    name_of(page, MILL).set_value("Mill, second set of saws")
    page.press(f"copy-{MILL}")
    assert "mill-second-set-of-saws" in cards(page)
    assert store.read_profile("mill-second-set-of-saws").cargo == store.read_profile(MILL).cargo
    page.press("undo")
    assert "mill-second-set-of-saws" not in cards(page)


def test_a_profile_is_renamed_with_its_unsaved_changes_and_named_back(page, store, folder):
    page.go("level", profile=MILL).type("left", "55 %").go("profiles", profile=MILL, view="list")
    name_of(page, MILL).set_value("Mill, north road")
    page.press(f"rename-{MILL}")
    assert "mill-north-road" in cards(page)
    assert MILL not in cards(page)
    assert draft_files.kept(folder) == {"mill-north-road"}
    moved = Tab("level", profile="mill-north-road")
    assert moved.field("left").value == "55 %"
    assert "clash" not in moved.words()
    page.press("undo")
    assert store.read_profile(MILL).name == "Mill on the hill road"
    assert Tab("level", profile=MILL).field("left").value == "55 %"


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("", "Name</b> is needed"),
        ("a\x00b", "plain letters"),
        ("x" * 200, "must be 1 to 120"),
    ],
)
def test_a_name_that_cannot_be_is_told_at_its_field(page, store, name, said):
    before = store.profiles()
    name_of(page, MILL).set_value(name)
    for action in ("copy", "rename"):
        page.press(f"{action}-{MILL}")
        assert said in page.html()
        assert not page.errors()
    assert store.profiles() == before


def test_a_name_that_another_has_is_asked_about(page, store):
    name_of(page, MILL).set_value("SLABS on friday ")
    page.run()
    assert "There is already Slabs on Friday." in page.html()
    assert ("Open Slabs on Friday", "profile=slabs-on-friday") in links(page)
    label = page.at.button(key=f"copy-{MILL}").label
    assert label.replace("\\", "") == "Save a copy as SLABS on friday 2"
    page.press(f"copy-{MILL}")
    assert store.read_profile("slabs-on-friday-2").name == "SLABS on friday 2"
    assert not page.errors()


def test_a_name_may_be_written_in_other_capitals(page, store):
    name_of(page, MILL).set_value("MILL on the hill road")
    page.run().press(f"rename-{MILL}")
    assert store.read_profile(MILL).name == "MILL on the hill road"


def test_a_reply_is_drawn_once_though_a_run_was_broken_off(page, monkeypatch):
    """Broken off before the reply's place, as by whoever presses something else: it is not drawn at the foot too."""
    place_drawn, reply_drawn, broken, drawn = profile_list._draw_gone, reply._draw, [], []

    def break_off(place):
        if reply.is_here(f"gone-{place}") and not broken:
            broken.append(place)
            raise RerunException(RerunData())
        place_drawn(place)

    def draw():
        drawn.append(len(broken))
        reply_drawn()

    page.press(f"more-{MILL}")
    monkeypatch.setattr(profile_list, "_draw_gone", break_off)
    monkeypatch.setattr(reply, "_draw", draw)
    page.press(f"delete-{MILL}")
    assert len(drawn) == len(broken) == 1
    assert "is deleted" in page.words()


def test_a_profile_is_deleted_and_brought_back_with_its_unsaved_changes(page, store, folder):
    text = (folder / f"{MILL}.toml").read_bytes()
    page.go("level", profile=MILL).type("left", "55 %").go("profiles", profile=MILL, view="list")
    page.press(f"more-{MILL}").press(f"delete-{MILL}")
    assert MILL not in cards(page)
    assert "profile" not in page.query
    assert draft_files.kept(folder) == frozenset()
    page.press("undo")
    assert (folder / f"{MILL}.toml").read_bytes() == text
    assert Tab("level", profile=MILL).field("left").value == "55 %"


def test_undo_stays_until_the_next_action(page):
    page.press(f"more-{MILL}").press(f"delete-{MILL}")
    assert "undo" in page.run().buttons()
    page.press("more-slabs-on-friday").press("delete-slabs-on-friday").press("undo")
    assert "undo" not in page.buttons()
    assert MILL not in cards(page)
    assert "slabs-on-friday" in cards(page)


def test_a_damaged_file_says_what_is_wrong_and_the_others_work(folder, store):
    (folder / "torn.toml").write_text('schema = 1\nname = "Torn', "utf-8")
    (folder / "wrong.toml").write_text(
        'schema = 1\nname = "Wrong"\ntruck = "ridge-truck"\nleft_shere = 0.5\n[[cargo]]\nweight = "5 psi"\n',
        "utf-8",
    )
    (folder / "Not A Slug.toml").write_text("", "utf-8")
    page = Tab()
    said = page.errors().replace("\\", "")
    assert "torn.toml" in said
    assert "Did you mean left_share?" in said
    assert "expected a weight" in said
    assert "Rename it to not-a-slug.toml" in said
    assert len(page.pictures()) == PROFILES
    page.press("more-torn").press("delete-torn")
    assert store.profiles().count("torn") == 0
    assert not page.press("undo").errors().count("has a fault")
    assert (folder / "torn.toml").exists()


def test_a_profile_whose_trailer_is_damaged_says_so_on_its_card_only(folder):
    (folder / "trailers/band-mill.toml").write_text('schema = 1\nname = "Band mill"\n', "utf-8")
    page = Tab()
    assert "trailers/band-mill.toml" in page.errors().replace("\\", "")
    assert len(page.pictures()) == 3
    assert "trailers/band-mill.toml" in Tab("level", profile=MILL).errors().replace("\\", "")


def test_an_empty_folder_says_what_to_do(tmp_path, monkeypatch):
    monkeypatch.setenv("PLANNER_PROFILES", str(tmp_path))
    page = Tab()
    assert "What does the door label say?" in [one.value for one in page.at.header]  # it opens on one's own truck
    page.go("garage").go("profiles")
    assert "no profiles here yet" in page.words()
    assert "--profiles" in page.html()
    assert "there is no truck here yet" in Tab("level").errors()


def test_a_folder_with_trucks_only_leads_to_the_level_page(folder, store):
    for slug in store.profiles():
        store.delete(slug)
    assert ("Level a load, then save it as a profile", "profile=_new") in links(Tab())


def test_a_folder_that_has_gone_is_told_of(tmp_path, monkeypatch):
    monkeypatch.setenv("PLANNER_PROFILES", str(tmp_path / "nowhere"))
    assert "is no longer there" in Tab().errors()
    assert "PLANNER_PROFILES" not in Tab().errors()  # a name that its owner may never have given


@pytest.mark.parametrize("name", HOSTILE)
def test_a_hostile_name_stays_in_the_folder_and_is_shown_as_text(folder, name):
    store = Store(folder)
    slug = store.save_as(store.read_profile(MILL), name)
    here = {path.name for path in folder.parent.iterdir()}
    page = Tab()
    assert slug in cards(page)
    assert here == {folder.name}
    label = page.press(f"more-{slug}").at.button(key=f"delete-{slug}").label
    assert not any(mark in label.replace("\\" + mark, "") for mark in "![<$`*:")
    level = Tab("level", profile=slug)
    assert level.at.title[0].value.replace("\\", "").replace("\u2060", "") == name
    assert "<script" not in level.html() + page.html()
    level.type("added.name", name).type("added.weight", "1 lb").type("added.x", "0 in").press("add")
    assert "<script" not in level.html()
    assert level.press(f"off-{len(store.read_profile(MILL).cargo)}").press("undo").errors() == ""


def test_the_card_of_a_saved_profile_shows_what_is_saved(folder, store):
    level = Tab("level", profile=MILL).press("save")
    saved = saved_pressures(store.read_profile(MILL))
    assert len(saved) == 4
    assert list(saved.values()) == pytest.approx(level_work(open_profile(store, MILL)).set.pressure.ravel(), abs=1.0)
    assert level.go("profiles", profile=MILL).errors() == ""


@pytest.mark.parametrize(
    ("line", "other", "said"),
    [
        ("[[cargo]]", '[pressures]\nfront_left = "30 psi"\n[[cargo]]', "has no bag"),
        ("[[cargo]]", '[pressures]\nrear_left = "50 psi"\nrear_right = "60 psi"\n[[cargo]]', "both bags share"),
        ('hitch = "receiver"', 'hitch = "chain"', "must be a hitch of the truck"),
    ],
)
def test_a_profile_whose_parts_do_not_fit_says_so_on_its_card_and_alone(folder, line, other, said):
    path = folder / "slabs-on-friday.toml"
    path.write_text(path.read_text("utf-8").replace(line, other, 1), "utf-8")
    page = Tab()
    assert said in page.errors()
    assert len(page.pictures()) == PROFILES - 1
    alone = Tab(profile="slabs-on-friday")
    assert said in alone.errors()
    assert 'class="corners"' not in alone.html()


def test_a_profile_that_no_sum_can_be_made_of_says_so(folder, monkeypatch):
    def overflow(*records):
        raise OverflowError("the load is beyond all numbers")

    monkeypatch.setattr("planner.front.profiles.card.standing", overflow)
    card.face_of_card.clear()
    page = Tab()
    card.face_of_card.clear()
    assert page.errors().count("the load is beyond all numbers") == PROFILES


def test_a_profile_alone_says_what_is_not_in_it(folder):
    Tab("level", profile=MILL).type("left", "55 %")
    assert "Level has unsaved changes" in Tab(profile=MILL).html()


def test_a_name_typed_on_a_card_is_there_after_another_page(page):
    name_of(page, MILL).set_value("Mill, north")
    page.run().go("level", profile=MILL).go("profiles", profile=MILL, view="list")
    assert name_of(page, MILL).value == "Mill, north"
    page.press(f"copy-{MILL}")
    assert name_of(page, MILL).value == ""


def name_of(page: Tab, slug: str) -> TextInput:
    """The field for a new name on a card, which is opened for it."""
    if f"delete-{slug}" not in page.buttons():
        page.press(f"more-{slug}")
    return next(one for one in page.at.text_input if (one.key or "").startswith(f"name-{slug}-"))
