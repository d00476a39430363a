"""A file keeps the hand it was written in: what did not change is not touched."""

import difflib
import tomllib
from datetime import UTC, date, datetime, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planner.records import CORNERS, Cargo, CornerReading, Pressures, Profile, Reading, Stance, Truck, read_record
from planner.store.toml_layout import amend_table, changed_text, match_tables, new_text


def lines_changed(before, after):
    """The lines that went and those that came."""
    lines = list(difflib.unified_diff(before.splitlines(), after.splitlines(), lineterm="", n=0))[2:]
    return [line for line in lines if not line.startswith("@@")]


@pytest.fixture
def profile(profile_text):
    return read_record(Profile, tomllib.loads(profile_text), "x")


@pytest.fixture
def truck(truck_text):
    return read_record(Truck, tomllib.loads(truck_text), "x")


def changes(text, old, **new):
    """Write a change into a text; check that it reads back; return the lines of the difference."""
    record = old.replaced(**new)
    after = changed_text(text, old, record)
    assert read_record(type(old), tomllib.loads(after), "x") == record
    return lines_changed(text, after)


def test_nothing_changed_leaves_every_character(profile_text, profile, truck_text, truck):
    assert changed_text(profile_text, profile, profile) == profile_text
    assert changed_text(truck_text, truck, truck) == truck_text


def test_a_record_built_anew_from_the_same_values_leaves_every_character(profile_text, profile):
    full = Profile.model_validate(profile.model_dump(by_alias=True))
    assert full.model_fields_set > profile.model_fields_set
    assert changed_text(profile_text, profile, full) == profile_text


def test_one_changed_value_is_one_changed_line_and_keeps_its_comment(profile_text, profile):
    assert changes(profile_text, profile, trailer="log-arch-2") == [
        '-trailer = "log-arch"   # borrowed',
        '+trailer = "log-arch-2"   # borrowed',
    ]
    assert changes(profile_text, profile, stance=profile.stance.replaced(lean="6 mm")) == [
        '-lean = "1/4 in" # left up',
        '+lean = "6 mm" # left up',
    ]


def test_one_more_value_is_one_more_line_beside_its_elder(profile_text, profile):
    after = changed_text(profile_text, profile, profile.replaced(left_share=0.52))
    assert lines_changed(profile_text, after) == ["+left_share = 0.52"]
    assert '"receiver"\nleft_share = 0.52\n\n# never level' in after
    rear = changed_text(profile_text, profile, profile.replaced(stance=profile.stance.replaced(rear="1 in")))
    assert '[stance]\nfront = "0 in"\nrear = "1 in"\nlean' in rear


def test_a_value_taken_back_to_its_default_keeps_its_line(profile_text, profile):
    stance = Stance(front="0 in", lean="0 in")
    assert changes(profile_text, profile, stance=stance)[1:] == ['+lean = "0 in" # left up']
    assert changes(profile_text, profile, stance=Stance()) == ['-lean = "1/4 in" # left up']


def test_a_value_typed_in_another_unit_is_written_as_typed(profile_text, profile):
    can = profile.cargo[0].replaced(x="304.8 mm")
    assert can == profile.cargo[0]
    assert changes(profile_text, profile, cargo=(can, profile.cargo[1])) == ['-x = "12 in"', '+x = "304.8 mm"']


def test_the_first_pressures_come_as_a_table_of_their_own(profile_text, profile):
    new = changes(profile_text, profile, pressures=Pressures(rear_left="42 psi", rear_right="3.1 bar"))
    assert new == ["+[pressures]", '+rear_left = "42 psi"', '+rear_right = "3.1 bar"', "+"]


def test_a_cargo_item_goes_with_its_comment_and_no_other(profile_text, profile):
    after = changed_text(profile_text, profile, profile.replaced(cargo=profile.cargo[1:]))
    assert "# full can" not in after
    assert '# lives under the seat\n[[cargo]]\nname = "Saw"' in after
    assert all(line.startswith("-") for line in lines_changed(profile_text, after))


def test_all_cargo_goes(profile_text, profile):
    after = changed_text(profile_text, profile, profile.replaced(cargo=()))
    assert "cargo" not in after
    assert "# full can" not in after
    assert read_record(Profile, tomllib.loads(after), "x").cargo == ()


def test_a_cargo_item_comes_between_two(profile_text, profile):
    box = Cargo(name="Box", weight="10 kg", x="0 in")
    cargo = (profile.cargo[0], box, profile.cargo[1])
    new = changes(profile_text, profile, cargo=cargo)
    assert sorted(new) == sorted(["+[[cargo]]", '+name = "Box"', '+weight = "10 kg"', '+x = "0 in"', "+"])


def test_cargo_in_another_order_takes_its_comments_along(profile_text, profile):
    after = changed_text(profile_text, profile, profile.replaced(cargo=profile.cargo[::-1]))
    assert after.index("# lives under the seat\n[[cargo]]") < after.index("# full can\n[[cargo]]")


def test_a_renamed_cargo_item_keeps_its_comment(profile_text, profile):
    cargo = (profile.cargo[0].replaced(name="Water can"), profile.cargo[1])
    assert changes(profile_text, profile, cargo=cargo) == ['-name = "Fuel can"', '+name = "Water can"']


def test_a_reading_comes_last_with_its_corners_on_a_line_each(profile_text, profile):
    corner = CornerReading(pressure="41 psi", ride_height="20 in")
    reading = Reading(at=datetime(2026, 5, 6, 18, 0, tzinfo=None), rear_left=corner)
    new = changes(profile_text, profile, readings=(*profile.readings, reading))
    assert [line for line in new if line != "+"] == [
        "+[[readings]]",
        "+at = 2026-05-06T18:00:00",
        '+rear_left = { pressure = "41 psi", ride_height = "20 in" }',
    ]


def test_a_number_inside_an_inline_table_changes_alone(profile_text, profile):
    reading = profile.readings[0]
    hers = reading.replaced(rear_left=reading.rear_left.replaced(ride_height="20.2 in"))
    assert changes(profile_text, profile, readings=(hers,)) == [
        '-rear_left = { pressure = "42 psi", ride_height = "20.1 in" }',
        '+rear_left = { pressure = "42 psi", ride_height = "20.2 in" }',
    ]
    more = reading.replaced(rear_right=CornerReading(pressure="40 psi", ride_height="20 in"))
    assert changes(profile_text, profile, readings=(more,)) == [
        '-rear_right = { pressure = "40 psi" }',
        '+rear_right = { pressure = "40 psi", ride_height = "20 in" }',
    ]


def test_a_point_of_a_chart_changes_alone(truck_text, truck):
    bag = truck.rear.bag.replaced(height=("81 mm", "150 mm", "220 mm"))
    assert changes(truck_text, truck, rear=truck.rear.replaced(bag=bag)) == [
        '-    "80 mm",   # on the stop',
        '+    "81 mm",   # on the stop',
    ]


def test_a_chart_gets_longer_and_shorter(truck_text, truck):
    old = truck.rear.bag
    longer = old.replaced(height=(*old.height, "0.23 m"), area=(*old.area, "200 cm**2"))
    changes(truck_text, truck, rear=truck.rear.replaced(bag=longer))
    shorter = old.replaced(height=old.height[:2], area=old.area[:2])
    changes(truck_text, truck, rear=truck.rear.replaced(bag=shorter))


def test_a_bag_and_a_hitch_go_and_come(truck_text, truck):
    no_bag = truck.rear.replaced(bag=None, steel_rate="80 N/mm", steel_load="5 kN")
    gone = truck.replaced(rear=no_bag, hitches=())
    without = changed_text(truck_text, truck, gone)
    assert "bag" not in without
    assert "hitches" not in without
    again = changed_text(without, gone, truck)
    assert read_record(Truck, tomllib.loads(again), "x") == truck
    assert again.index("[rear.tyres]") < again.index("[rear.bag]") < again.index("[[hitches]]")
    assert "steel_rate" not in again.split("[rear]")[1]


def test_spreads_written_without_quotes_are_rewritten_with_them(truck_text, truck):
    bare = truck_text + "\n[spread]\nfront.tyres.rate = '20 N/mm'\nkerb.left_share = 0.01\n"
    old = read_record(Truck, tomllib.loads(bare), "x")
    assert changed_text(bare, old, old) == bare
    after = changed_text(bare, old, old.replaced(spread=dict(old.spread) | {"front.tyres.rate": "30 N/mm"}))
    assert after.endswith('[spread]\n"front.tyres.rate" = "30 N/mm"\n"kerb.left_share" = 0.01\n')


def test_a_new_file_has_its_fields_in_order(profile, truck):
    new = profile.replaced(pressures=Pressures(rear_left="42 psi"), cargo=())
    text = new_text(new)
    assert text == (
        'schema = 1\nname = "Wood lot"\ntruck = "flatbed"\ntrailer = "log-arch"\nhitch = "receiver"\n\n'
        '[stance]\nfront = "0 in"\nlean = "1/4 in"\n\n[pressures]\nrear_left = "42 psi"\n\n'
        "[[readings]]\nat = 2026-05-04T07:30:00\n"
        'rear_left = { pressure = "42 psi", ride_height = "20.1 in" }\nrear_right = { pressure = "40 psi" }\n'
    )
    for record in (profile, truck, new):
        assert read_record(type(record), tomllib.loads(new_text(record)), "x") == record


def test_line_lengths_stay_on_one_line():
    wanted = {"air": {"duty": 1.0, "line_length": dict.fromkeys(CORNERS, "2 m")}}
    assert amend_table("", wanted) == (
        '\n[air]\nduty = 1.0\nline_length = { front_left = "2 m", front_right = "2 m", rear_left = "2 m", '
        'rear_right = "2 m" }\n'
    )


def test_windows_line_ends_stay(profile_text, profile):
    text = profile_text.replace("\n", "\r\n")
    new = profile.replaced(
        left_share=0.4, cargo=profile.cargo[:1], pressures=Pressures(rear_left="1 bar"), trailer="other", readings=()
    )
    after = changed_text(text, profile, new)
    assert read_record(Profile, tomllib.loads(after), "x") == new
    assert "\n" not in after.replace("\r\n", "")


def test_a_file_without_a_last_line_end_stays_without(profile_text, profile):
    text = profile_text.rstrip()
    assert changes(text, profile, left_share=0.4) == ["+left_share = 0.4"]
    assert changes(text, profile, trailer="other")[1] == '+trailer = "other"   # borrowed'
    changes(text, profile, pressures=Pressures(rear_left="1 bar"), readings=profile.readings[:0])
    assert changed_text(text, profile, profile) == text


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ('stance.front = "1"\nname = "x"\n', {"stance": {"front": "1", "rear": "2"}, "name": "x"}),
        ('[front.tyres]\nrate = "1"\n', {"front": {"tyres": {"rate": "1"}, "track": "2"}}),
        ('[front.tyres]\nrate = "1"\n', {"front": {"track": "2"}}),
        ('[front.tyres]\nrate = "1"\n', {"front": {"tyres": {}}}),
        ('[front.tyres]\nrate = "1"\n', {"front": {}}),
        ('stance.front = "1"\n', {"stance": {}, "name": "x"}),
        ("[a.b.c]\nx = 1\n", {"a": {"b": {"c": {}}}}),
        ("[a]", {"a": {"b": 1}}),
        ("[a]", {"a": {}, "b": {"c": 1}}),
        ('cargo = []\nname = "x"\n', {"name": "x", "cargo": [{"name": "a"}]}),
        ('cargo = [{ name = "a" }, { name = "b", x = 1 }]\n', {"cargo": [{"name": "b", "x": 2}]}),
        ('[[cargo]]\nname = "a"\n[cargo.more]\nx = 1\n', {"cargo": [{"name": "a", "more": {"x": 2, "y": 3}}]}),
        ('[[a]]\nname = "1"\n[b]\n[[a]]\nname = "2"\n', {"a": [{"name": "2"}, {"name": "3"}], "b": {}}),
        ('[[a]]\nname = "1"\n[[a.b]]\nname = "x"\n', {"a": [{"name": "1", "b": [{"name": "y"}, {"name": "x"}]}]}),
        ("[[a]]\n[[a]]\n", {"a": [{"b": 1}, {}, {"c": 2}]}),
        ("a = 1\n", {"a": {"b": {"c": 1}, "d": []}}),
        ("[a]\nb = 1\n", {"a": "text"}),
        ("[[a]]\nb = 1\n", {"a": {"b": 1}}),
        ("[[a]]\nb = 1\n", {"a": []}),
        ('a = { b.c = 1, "d e" = [1, [2, 3]] }\n', {"a": {"b": {"c": 2}, "d e": [1, [2, 4]]}}),
        ("\"a b\".'c.d' = 1 # why\n", {"a b": {"c.d": 2, "": {}}}),
        ('a = """\n[x]\n# no \\"""comment""""\nb = 1\n', {"a": 'two\n"lines"', "b": 2}),
        ("a = '''\n[x] # ''\n'''\nb = 1\n", {"a": "x", "b": 1}),
        ("a = [ # [\n  [1, 2], # '''\n  [3],\n]\n[b]\n", {"a": [[1, 2], [3, 4]], "b": {"c": 1}}),
        ("  [ a . b ]\n  c = 1\n", {"a": {"b": {"c": 2, "d": 3}}}),
        ("# only a comment", {"a": 1}),
        ("# head\n\n[a]\nb = 1\n", {"c": 1}),
        ("", {"a": True, "b": 1.5e300, "c": datetime(2026, 1, 2, tzinfo=UTC), "d": date(2026, 1, 2), "e": time(1, 2)}),
        ("", {"a": '\x00\x1f\x7f"\\\t\r\n\u2028é🪵'}),
    ],
)
def test_any_way_of_writing_it_can_be_changed(text, wanted):
    assert tomllib.loads(amend_table(text, wanted)) == wanted
    assert tomllib.loads(amend_table(text.replace("\n", "\r\n"), wanted)) == wanted
    assert amend_table(text, tomllib.loads(text)) == text


NAMES = st.sampled_from(["name", "a", "b", "front_left", "rear_left", "front.tyres", "é ", "1"])
SCALARS = st.one_of(st.text(max_size=4), st.integers(-9, 9), st.floats(-9, 9), st.datetimes(timezones=st.none()))
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(
        st.lists(SCALARS, max_size=3),
        st.dictionaries(NAMES, inner, max_size=4),
        st.lists(st.dictionaries(NAMES, inner, max_size=3), max_size=3),
    ),
    max_leaves=12,
)
TABLES = st.dictionaries(NAMES, VALUES, max_size=5)


@given(TABLES, TABLES, TABLES)
def test_any_table_becomes_any_other(first, second, third):
    text = ""
    for table in (first, second, third, first):
        text = amend_table(text, table)
        assert tomllib.loads(text) == table


def test_tables_of_an_array_find_their_own():
    a, b, c = {"name": "a"}, {"name": "b"}, {"name": "c"}
    assert match_tables([a, b], [b, a]) == [1, 0]
    assert match_tables([a, b], [a, c]) == [0, 1]
    assert match_tables([a, b], [c, a]) == [None, 0]
    assert match_tables([a, b], [a, c, b]) == [0, None, 1]
    assert match_tables([a, a], [a, a]) == [0, 1]
    assert match_tables([{}], [{}, {}]) == [0, None]


ABOARD = """
schema = 1
name = "p"
truck = "t"

[[aboard]] # rides along
place = "passenger"
weight = "180 lb"

[[aboard]] # filled on Fridays
place = "fuel tank"
share = 0.5
"""


def test_who_is_aboard_keeps_comments_by_the_place():
    old = read_record(Profile, tomllib.loads(ABOARD), "x")
    passenger, fuel = old.aboard
    assert changes(ABOARD, old, aboard=(fuel,)) == [
        "-[[aboard]] # rides along",
        '-place = "passenger"',
        '-weight = "180 lb"',
        "-",
    ]
    assert changes(ABOARD, old, aboard=(passenger, fuel.replaced(share=0.75))) == ["-share = 0.5", "+share = 0.75"]


def test_cargo_put_at_a_place_is_a_change_of_its_own_lines(profile_text, profile):
    item = profile.cargo[0]
    there = item.replaced(x=None, y=None, at="passenger")
    lines = changes(profile_text, profile, cargo=(there, *profile.cargo[1:]))
    assert sorted(lines) == ['+at = "passenger"', f'-x = "{item.x.text}"']
