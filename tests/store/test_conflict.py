"""A save made from a stale copy is refused, with what changed and both at hand."""

import re

import pytest

from planner.records import Cargo, Pressures, Profile
from planner.store import Change, ConflictError, StoreError
from planner.store.conflict import changes_between, conflict_error


@pytest.fixture
def base(store):
    return store.read_profile("wood-lot")


def test_the_second_save_of_one_copy_is_told_what_changed(store, folder, base):
    theirs = base.replaced(pressures=Pressures(rear_left="42 psi"))
    store.write(theirs, "wood-lot", expected=base)
    before = (folder / "wood-lot.toml").read_bytes()
    mine = base.replaced(pressures=Pressures(rear_left="44 psi"))
    with pytest.raises(ConflictError) as caught:
        store.write(mine, "wood-lot", expected=base)
    assert str(caught.value) == (
        'wood-lot.toml: was changed somewhere else since you opened it (pressures.rear_left nothing is now "42 psi"): '
        "take the new one, or keep yours and save again"
    )
    assert caught.value.theirs == theirs
    assert caught.value.changes == (Change("pressures.rear_left", "", "42 psi"),)
    assert (folder / "wood-lot.toml").read_bytes() == before
    assert store.write(mine, "wood-lot", expected=caught.value.theirs) == "wood-lot"  # keep mine, knowing of theirs
    assert store.read_profile("wood-lot") == mine


def test_what_was_only_typed_in_another_unit_is_a_change_too(store, base):
    store.write(base.replaced(cargo=(base.cargo[0].replaced(weight="18.14 kg"), base.cargo[1])), "wood-lot")
    with pytest.raises(ConflictError, match=r'cargo\[0\].weight "40 lb" is now "18.14 kg"'):
        store.write(base.replaced(left_share=0.4), "wood-lot", expected=base)


def test_a_copy_that_is_still_the_file_is_saved_and_comments_of_others_stay(store, folder, base):
    path = folder / "wood-lot.toml"
    path.write_text(path.read_text("utf-8").replace("# full can", "# half full"), "utf-8")
    store.write(base.replaced(left_share=0.4), "wood-lot", expected=base)
    assert "# half full" in path.read_text("utf-8")
    assert store.read_profile("wood-lot").left_share == 0.4


def test_what_others_deleted_or_renamed_is_not_made_again(store, folder, base):
    store.rename("wood-lot", "Other lot")
    with pytest.raises(
        ConflictError, match="was deleted or renamed somewhere else since you opened it: save it under"
    ) as ex:
        store.write(base.replaced(left_share=0.4), "wood-lot", expected=base)
    assert ex.value.theirs is None
    assert store.profiles() == ["other-lot"]


def test_what_others_made_meanwhile_is_not_written_over(store, base):
    with pytest.raises(ConflictError, match="was made somewhere else since you opened it: take the new one") as caught:
        store.write(base.replaced(left_share=0.4), expected=None)
    assert caught.value.theirs == base
    assert store.write(base.replaced(name="New"), expected=None) == "new"


def test_a_file_damaged_meanwhile_is_not_written_over(store, folder, base):
    (folder / "wood-lot.toml").write_text("torn", "utf-8")
    with pytest.raises(StoreError, match="is damaged, so it was not overwritten"):
        store.write(base.replaced(left_share=0.4), "wood-lot", expected=base)
    assert (folder / "wood-lot.toml").read_text("utf-8") == "torn"


def test_trucks_and_trailers_are_guarded_alike(store):
    truck = store.read_truck("flatbed")
    store.write(truck.replaced(gvwr="5100 kg"))
    with pytest.raises(ConflictError, match=r'^trucks/flatbed.toml: .*gvwr "5200 kg" is now "5100 kg"'):
        store.write(truck.replaced(gvwr="5000 kg"), "flatbed", expected=truck)


def test_many_changes_are_counted_and_long_values_cut():
    def profile(share, name, count):
        return Profile(
            name="Lot",
            truck="flatbed",
            left_share=share,
            stance={"front": f"{count} in"},
            cargo=tuple(Cargo(name=name, weight=f"{i} lb", x="0 in") for i in range(1, count)),
        )

    one, other = profile(0.5, "Saw", 2), profile(0.4, "S" * 100, 3)
    assert [change.field for change in changes_between(one, other)] == [
        "left_share",
        "stance.front",
        "cargo[0].name",
        *(f"cargo[1].{name}" for name in ("name", "weight", "x")),
    ]
    line = str(conflict_error("lot.toml", one, other))
    assert re.search(r'left_share "0.5" is now "0.4"; stance.front "2 in" is now "3 in"; ', line)
    assert f'cargo[0].name "Saw" is now "{"S" * 60}…"; 3 more)' in line
