"""Trailers: weighed, or loaded item by item."""

from collections.abc import Callable
from typing import Any

import pytest

from planner.records import Trailer, read_record

Data = dict[str, Any]
Faults = Callable[[type, Data], list[str]]
LB = 0.45359237


@pytest.fixture
def deck(trailer: Data) -> Data:
    """The trailer loaded item by item: 7000 lb, moment 4000·30 + 3000·20 lb·in ahead, 3000·8 lb·in left."""
    del trailer["gross_weight"], trailer["tongue_ratio"]
    trailer["deck"] = [
        {"name": "Trailer, empty", "weight": "4000 lb", "ahead": "30 in"},
        {"name": "Saw head", "weight": "3000 lb", "ahead": "20 in", "left": "8 in"},
    ]
    return trailer


def test_a_weighed_trailer(trailer: Data) -> None:
    got = read_record(Trailer, trailer, "x.toml")
    assert got.weight == pytest.approx(7200 * LB)
    assert got.tongue_share == 0.12
    assert got.side_share == 0.5
    assert got.tyres_per_side == 1


def test_a_loaded_trailer(deck: Data) -> None:
    got = read_record(Trailer, deck, "x.toml")
    assert got.weight == pytest.approx(7000 * LB)
    assert got.tongue_share == pytest.approx(180_000 / 168 / 7000)
    assert got.side_share == pytest.approx(0.5 + 24_000 / 80 / 7000)


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        ({"tongue_ratio": 0.51}, "tongue_ratio: must be <= 0.5, got 0.51: "),
        ({"tongue_ratio": -0.1}, "tongue_ratio: must be >= 0, got -0.1: "),
        ({"axle_count": 5}, "axle_count: must be <= 4, got 5: "),
        ({"axle_count": 0}, "axle_count: must be >= 1, got 0: "),
        ({"bars": 3.1}, "bars: must be <= 3, got 3.1: "),
        ({"gross_weight": "230000 lb"}, "gross_weight: must be <= 220462 lb, got "),
        ({"deck": [{"name": "a", "weight": "1 lb", "ahead": "0 in"}]}, "deck: a trailer has gross_weight and tongue_"),
        ({"parked_hieght": "3 in"}, 'parked_hieght: unknown key "parked_hieght": did you mean parked_height?'),
    ],
)
def test_each_fault_is_told_once(trailer: Data, faults: Faults, change: Data, expected: str) -> None:
    lines = faults(Trailer, trailer | change)
    assert len(lines) == 1
    assert lines[0].startswith(expected)


def test_it_is_weighed_or_loaded(trailer: Data, faults: Faults) -> None:
    del trailer["gross_weight"]
    assert faults(Trailer, trailer)[0].startswith("gross_weight: needed for a trailer without deck items, got nothing")
    del trailer["tongue_ratio"]
    assert [line.split(":")[0] for line in faults(Trailer, trailer)] == ["gross_weight", "tongue_ratio"]


def test_more_things_than_are_put_on_a_deck_one_by_one_are_refused(deck: Data, faults: Faults) -> None:
    deck["deck"] *= 251
    (line,) = faults(Trailer, deck)
    assert "deck: must be no more than 500 things, got 502" in line


def test_a_tail_heavy_deck_is_refused_with_its_reason(deck: Data, faults: Faults) -> None:
    deck["deck"][0]["ahead"] = "-30 in"
    lines = faults(Trailer, deck)
    assert len(lines) == 1
    assert lines[0].startswith("deck: must give a tongue load >= 0, got -357.143 lb (-0.051 of the gross weight): ")
    assert lines[0].endswith("it is tail-heavy and would lift the hitch; move load forward")


def test_a_deck_does_not_rest_mostly_on_the_coupling(deck: Data, faults: Faults) -> None:
    deck["deck"][0]["ahead"] = "160 in"
    assert faults(Trailer, deck)[0].startswith("deck: must give a tongue ratio <= 0.5, got 4166.67 lb (0.595 of the ")


def test_a_deck_stands_on_both_sides(deck: Data, faults: Faults) -> None:
    deck["deck"][1]["left"] = "-100 in"
    (line,) = faults(Trailer, deck)
    assert line.startswith("deck: must keep the left share at 7.65 % to 92.3 %")
    assert line.endswith("or the wheels on one side lift, got -3.57 %: move load toward the centre line")


def test_a_weighed_trailer_stands_on_both_sides(trailer: Data, faults: Faults) -> None:
    trailer |= {"tongue_ratio": 0.2, "left_share": 0.9}
    assert read_record(Trailer, trailer, "x").side_share == 0.9
    trailer["left_share"] = 0.95
    assert faults(Trailer, trailer) == [
        (
            "left_share: must keep the left share at 10 % to 90 %, or the wheels on one side lift, got 95 %: "
            "move load toward the centre line"
        )
    ]


def test_a_ratio_that_may_be_left_out_has_a_spread(trailer: Data) -> None:
    got = read_record(Trailer, {**trailer, "spread": {"tongue_ratio": 0.01}}, "x.toml")
    assert got.spread == {"tongue_ratio": 0.01}


def test_where_its_numbers_come_from(trailer: Data) -> None:
    weighing = {"on": "2026-05-04", "source": "Quarry scale", "fields": ["gross_weight"], "former": ["7000 lb"]}
    got = read_record(Trailer, {**trailer, "weighings": [weighing]}, "x.toml")
    assert got.weighings[-1].fields == ("gross_weight",)
