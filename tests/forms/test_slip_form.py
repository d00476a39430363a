"""A slip written down, and what its numbers become in the files of truck and trailer."""

import tomllib
from datetime import date

import pytest

from planner.errors import BadInput, ConflictError
from planner.forms.draft import NEW, enter_text, fault_of, from_json, open_draft, text_of, to_json
from planner.forms.slip_form import SLIP_FORM, find_offers, take_back, use_slip
from planner.plans.weighing import weigh
from planner.store import SLIP, TRAILER, TRUCK
from planner.store.slip_files import with_named

QUARRY = "band-mill-at-the-quarry"
TODAY = date(2026, 11, 26)


@pytest.fixture
def found(store):
    return weigh(*with_named(store, store.read(SLIP, QUARRY), "slip"))


def files(folder):
    return {path.name: path.read_bytes() for kind in ("trucks", "trailers") for path in (folder / kind).glob("*.toml")}


def typed(draft, **texts):
    for key, text in texts.items():
        draft = enter_text(draft, key.replace("__", "."), text, "us")
    return draft


class TestDraft:
    def test_a_new_one_takes_readings_and_is_kept(self, store):
        draft = typed(open_draft(SLIP_FORM, store, NEW), alone__front_axle="4300", alone__rear_axle="3000 lb")
        assert draft.record.alone.front_axle.text == "4300 lb"
        again = from_json(SLIP_FORM, store, NEW, to_json(draft))
        assert again.record == draft.record

    def test_what_contradicts_the_rest_waits_and_is_told(self, store):
        draft = typed(open_draft(SLIP_FORM, store, QUARRY), hitched__rear_axle="2140 lb")
        assert draft.record.hitched.rear_axle.text == "4140 lb"
        assert "not weigh less hitched than alone" in fault_of(draft, "hitched.rear_axle", "us").rule
        assert text_of(draft, "hitched.rear_axle", "us") == "2140 lb"

    def test_a_table_emptied_is_gone(self, store):
        draft = typed(open_draft(SLIP_FORM, store, QUARRY), trailer_alone__gross="")
        assert draft.record.trailer_alone is None

    def test_it_is_saved_under_its_name(self, store, folder):
        draft = typed(open_draft(SLIP_FORM, store, NEW), lever__reading="310 lb", lever__tongue_arm="12 in")
        saved = SLIP_FORM.save(store, draft, "Beam in the yard")
        assert (folder / "slips" / "beam-in-the-yard.toml").exists()
        assert saved.record.lever.reading.text == "310 lb"


class TestUse:
    def test_both_files_get_what_was_chosen_with_date_and_source(self, store, folder, found):
        use_slip(store, found, {"gross", "ratio", "kerb"}, TODAY)
        trailer, truck = store.read(TRAILER, "band-mill"), store.read(TRUCK, "ridge-truck")
        assert trailer.gross_weight.text == "7213 lb"
        assert trailer.tongue_ratio == pytest.approx(0.12)
        assert trailer.spread["gross_weight"].text == "11 lb"
        assert 0.001 < trailer.spread["tongue_ratio"] < 0.002
        last = trailer.weighings[-1]
        assert (last.on, last.source) == (date(2026, 5, 4), "Band mill at the quarry, quarry scale, 2026-05-04")
        assert last.fields == ("gross_weight", "tongue_ratio")
        assert last.former == ("7200 lb", "12 %")
        assert truck.kerb.front_axle.text == "4302 lb"
        assert truck.kerb.rear_axle.text == "2995 lb"
        assert "# as weighed" in (folder / "trucks" / "ridge-truck.toml").read_text()

    def test_it_can_be_taken_back_to_the_letter(self, store, folder, found):
        before = files(folder)
        used = use_slip(store, found, {"gross", "kerb"}, TODAY)
        assert files(folder) != before
        take_back(store, used)
        assert store.read(TRAILER, "band-mill") == found.trailer
        tables = {name: tomllib.loads(text.decode()) for name, text in files(folder).items()}
        assert tables == {name: tomllib.loads(text.decode()) for name, text in before.items()}

    def test_a_field_is_its_owners_own_then(self, store, found):
        trailer = found.trailer.replaced(typical=("gross_weight", "track"))
        store.write(trailer, "band-mill")
        again = weigh(found.slip, found.truck, trailer, found.hitch)
        use_slip(store, again, {"gross"}, TODAY)
        assert store.read(TRAILER, "band-mill").typical == ("track",)

    def test_both_or_neither(self, store, folder, found):
        """The truck was changed since by somebody else: the trailer's file stays as it was too."""
        store.write(found.truck.replaced(gcwr="25000 lb"), "ridge-truck")
        before = files(folder)
        with pytest.raises(ConflictError):
            use_slip(store, found, {"gross", "kerb"}, TODAY)
        assert files(folder) == before

    def test_what_cannot_stand_is_refused(self, store, folder, found):
        slip = found.slip.replaced(alone={"front_axle": "9000 lb", "rear_axle": "3000 lb"}, hitched=None)
        heavy = weigh(slip, found.truck)
        before = files(folder)
        with pytest.raises(BadInput, match="gvwr"):
            use_slip(store, heavy, {"kerb"}, TODAY)
        assert files(folder) == before

    def test_nothing_chosen_is_said(self, store, found):
        with pytest.raises(BadInput, match="tick what is to be written"):
            use_slip(store, found, set(), TODAY)

    def test_a_deck_keeps_its_items_until_weight_and_ratio_are_to_take_their_place(self, store, folder, found):
        before = store.read(TRAILER, "log-deck")
        deck = weigh(found.slip.replaced(trailer="log-deck"), found.truck, before, None)
        offers = {one.name: one for one in find_offers(deck)}
        assert list(offers) == ["deck", "kerb"]
        assert not offers["deck"].certain
        used = use_slip(store, deck, {"deck"}, TODAY)
        after = store.read(TRAILER, "log-deck")
        assert not after.deck
        assert float(after.gross_weight) == pytest.approx(deck.told["gross"].value, abs=1.0)
        assert after.weighings[-1].fields == ("gross_weight", "tongue_ratio")
        assert after.left_share == pytest.approx(before.side_share, abs=1e-4)
        take_back(store, used)
        assert store.read(TRAILER, "log-deck") == before

    def test_what_reads_the_same_does_not_become_itself(self, found):
        offers = {one.name: one.words for one in find_offers(found)}
        assert offers["ratio"] == "12 %, as weighed"
        assert offers["gross"] == "7200 lb becomes 7213 lb"

    def test_wheels_and_bars_are_offered(self, store, found):
        bars = {"front_axle": "4160 lb", "rear_axle": "3868 lb", "trailer_axles": "6472 lb"}
        slip = found.slip.replaced(
            hitched_with_bars=bars,
            alone={"front_left": "2180 lb", "front_right": "2120 lb", "rear_left": "1520 lb", "rear_right": "1480 lb"},
        )
        offers = {one.name: one for one in find_offers(weigh(slip, found.truck, found.trailer, found.hitch))}
        assert set(offers) == {"gross", "ratio", "bars", "kerb", "kerb-left"}
        assert offers["bars"].words.startswith("0 % becomes")
