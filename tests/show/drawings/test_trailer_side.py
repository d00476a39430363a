"""A trailer by itself: to scale, every load and item named, nothing cut or overlapping whatever lies on it."""

import random

import pytest

from planner.plans.trailer_deck import deck_plan, slide_for
from planner.show.drawings.cargo import MOST_NAMED
from planner.show.drawings.svg import WIDTH
from planner.show.drawings.trailer_side import centre_words, deck_side, loads_words, place_words, slide_words
from planner.show.drawings.trailer_top import deck_above
from planner.store import Store
from tests.show.conftest import DEMO, make_trailer
from tests.show.reading import height_of, middle, misplaced, points, shapes, words

TRAILERS = Store(DEMO).trailers()


def loaded(*items, **changes):
    """A trailer of items: name, weight in lb, inches ahead of the axles and left of centre."""
    deck = [{"name": name, "weight": f"{w} lb", "ahead": f"{a} in", "left": f"{y} in"} for name, w, a, y in items]
    return make_trailer(gross_weight=None, tongue_ratio=None, deck=deck, **changes)


LOADED = loaded(("Empty trailer", 4000, 30, 0), ("Saw head", 3000, 20, 8))


@pytest.mark.parametrize("slug", TRAILERS)
@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("draw", [deck_above, deck_side])
def test_the_demo_s_trailers_are_drawn_with_nothing_cut_or_overlapping(draw, slug, system):
    drawing = draw(deck_plan(Store(DEMO).read_trailer(slug)), system)
    assert misplaced(drawing) == []
    assert drawing.alt


def _random(seed):
    """A trailer with any number of items, long names and short, somewhere on it or beyond it."""
    rng = random.Random(seed)  # noqa: S311  # to draw trailers, not lots
    count, length = rng.choice([0, 1, 2, 3, 5, 6, 7, 12]), rng.uniform(60, 400)
    labels = {
        "axle_distance": f"{length} in",
        "axle_count": rng.randint(1, 4),
        "tyres_per_side": rng.randint(1, 2),
        "coupling": rng.choice(["ball", "gooseneck", "fifth_wheel", "pintle"]),
        "coupling_height": f"{rng.uniform(12, 50)} in",
        "track": f"{rng.uniform(50, 100)} in",
        "tyre_load_rating": None,
    }
    if not count:
        return make_trailer(**labels, tongue_ratio=rng.uniform(0, 0.5), left_share=rng.uniform(0.3, 0.7))
    ahead = [rng.uniform(-0.3, 1.1) * length for _ in range(count)]
    ahead[0] = 0.2 * length
    weights = [rng.uniform(20, 900) for _ in range(count)]
    weights[0] = 9000
    names = [rng.choice(["Chest", "Oak logs", "A saw head with its long, long name", "木"]) for _ in range(count)]
    left = [rng.uniform(-40, 40) if weight < 900 else 0 for weight in weights]
    return loaded(*zip(names, weights, ahead, left, strict=True), **labels)


@pytest.mark.parametrize("seed", range(80))
def test_any_trailer_is_drawn(seed):
    plan, system = deck_plan(_random(seed)), ("us", "metric")[seed % 2]
    drawings = deck_above(plan, system), deck_side(plan, system)
    assert [misplaced(drawing) for drawing in drawings] == [[], []]
    assert all("nan" not in drawing.svg for drawing in drawings)


def test_from_the_side_lengths_and_heights_are_to_one_scale_front_to_the_left():
    drawing = deck_side(deck_plan(LOADED), "us")
    (hitch,), wheels = shapes(drawing, "hitch"), shapes(drawing, "trailer-wheel")
    axle = sum(middle(one)[0] for one in wheels) / len(wheels)
    inch = (axle - middle(hitch)[0]) / 168
    assert inch > 0
    ground = middle(wheels[0])[1] + float(wheels[0].get("r"))
    assert (ground - middle(hitch)[1]) / inch == pytest.approx(19, abs=0.05)
    (centre,) = shapes(drawing, "centre")
    assert (axle - middle(centre)[0]) / inch == pytest.approx(180_000 / 7000, abs=0.05)
    boxes = sorted((axle - middle(box)[0]) / inch for box in shapes(drawing, "cargo"))
    assert boxes == pytest.approx([20, 30], abs=0.05)


def test_from_above_places_are_to_one_scale_front_up_left_left():
    drawing = deck_above(deck_plan(LOADED), "us")
    tyres, (hitch,) = shapes(drawing, "tyre"), shapes(drawing, "hitch")
    assert len(tyres) == 4
    axle = sum(middle(one)[1] for one in tyres) / 4
    inch = (axle - middle(hitch)[1]) / 168
    assert max(middle(one)[0] for one in tyres) - min(middle(one)[0] for one in tyres) == pytest.approx(
        80 * inch, abs=0.05
    )
    (centre,) = shapes(drawing, "centre")
    assert (WIDTH / 2 - middle(centre)[0]) / inch == pytest.approx(24_000 / 7000, abs=0.05)
    lefts = sorted((WIDTH / 2 - middle(box)[0]) / inch for box in shapes(drawing, "cargo"))
    assert lefts == pytest.approx([0, 8], abs=0.05)


def test_twin_tyres_are_drawn_as_pairs():
    drawing = deck_above(deck_plan(make_trailer(axle_count=3, tyres_per_side=2)), "us")
    assert len(shapes(drawing, "tyre")) == 12


def test_loads_are_told_at_coupling_axles_and_wheels():
    plan = deck_plan(make_trailer(left_share=0.52))
    side, above = words(deck_side(plan, "us")), words(deck_above(plan, "us"))
    assert {"864 lb", "on the ball", "6,336 lb", "on 2 axles, 3,168 lb each", "19 in", "168 in"} <= set(side)
    assert {"864 lb", "3,312 lb", "1,656 lb a tyre", "3,024 lb", "left wheels", "right wheels"} <= set(above)
    assert {"on the axle"} <= set(words(deck_side(deck_plan(make_trailer(axle_count=1)), "us")))
    assert "2,874 kg" in words(deck_side(plan, "metric"))


def test_arrows_grow_with_their_loads():
    def arrows(ratio):
        drawing = deck_side(deck_plan(make_trailer(tongue_ratio=ratio)), "us")
        return [line for line in drawing.svg.splitlines() if 'stroke-width="2.4"' in line]

    def length(line):
        (_, top), (_, bottom) = points({"d": line.split('d="')[1].split('"')[0]})
        return bottom - top

    coupling, axles = map(length, arrows(0.12))
    assert coupling < axles
    assert length(arrows(0.3)[0]) > coupling


def test_items_are_named_with_their_weights_and_many_get_numbers_and_a_list():
    assert {"Saw head 3,000 lb", "Empty trailer 4,000 lb"} <= set(words(deck_side(deck_plan(LOADED), "us")))
    many = deck_plan(loaded(*((f"Log {n}", 900, 5 + 6 * n, 0) for n in range(MOST_NAMED + 1))))
    assert {"1", "7"} <= set(words(deck_side(many, "us")))
    assert "7. Log 6, 900 lb" in words(deck_above(many, "us"))


def test_an_item_behind_the_deck_or_ahead_of_the_coupling_is_still_on_the_paper():
    plan = deck_plan(loaded(("Trailer", 5000, 30, 0), ("Boom", 200, -150, 0), ("Winch", 150, 185, 10)))
    for draw in (deck_above, deck_side):
        drawing = draw(plan, "us")
        for box in shapes(drawing, "cargo"):
            x, y = middle(box)
            assert 0 < x < WIDTH
            assert 0 < y < height_of(drawing)


def test_the_centre_of_mass_is_as_high_as_its_owner_says():
    low, high = (deck_side(deck_plan(make_trailer(centre_height=one)), "us") for one in (None, "40 in"))
    assert middle(shapes(high, "centre")[0])[1] < middle(shapes(low, "centre")[0])[1]


def test_alt_texts_say_what_is_seen():
    above, side = deck_above(deck_plan(LOADED), "us").alt, deck_side(deck_plan(LOADED), "us").alt
    assert "Saw head 3,000 lb, 20 in ahead of the axle centre, 8 in to the left" in above
    assert "Centre of mass 25.7 in ahead of the axle centre, 3.4 in left." in above
    assert "1,071 lb on the ball, 15.3 % of 7,000 lb; 5,929 lb on 2 axles, 2,964 lb each." in side
    assert "Ball 19 in above ground." in side
    assert "On it: Empty trailer, Saw head." in side


def test_names_are_shown_as_text_only():
    drawing = deck_side(deck_plan(loaded(("<b>&", 4000, 30, 0))), "us")
    assert "&lt;b&gt;&amp; 4,000 lb" in drawing.svg


# In words


def test_which_way_to_slide():
    assert slide_words(slide_for(LOADED, "Saw head", 0.12), "us") == (
        "Slide Saw head 13 in back for 12 %: to 7 in ahead of the axle centre."
    )
    assert "ahead for 18 %" in slide_words(slide_for(LOADED, "Saw head", 0.18), "metric")
    there = slide_for(LOADED, "Saw head", LOADED.tongue_share)
    assert slide_words(there, "us") == "Saw head is where it should be for 15.3 %."


def test_a_slide_that_cannot_be_says_what_can():
    light = loaded(("Empty trailer", 4000, 30, 0), ("Chest", 300, 20, 0))
    assert slide_words(slide_for(light, "Chest", 0.3), "us") == (
        "Sliding Chest alone does not give 30 %: it would have to go 25.2 ft ahead. "
        "At the coupling it gives 23.6 %. Move something heavier, or more than one."
    )
    assert "As far behind the axles as the coupling is ahead it gives 9.6 %." in slide_words(
        slide_for(light, "Chest", 0.05), "us"
    )


def test_an_item_beyond_the_coupling_has_its_way_s_end_there():
    hung = loaded(("Empty trailer", 4000, 10, 0), ("Winch", 300, 200, 0))
    found = slide_for(hung, "Winch", hung.tongue_share - 0.005)
    assert found.by < 0
    assert "At the coupling it gives" in slide_words(found, "us")


def test_places_behind_the_axles_are_called_so():
    assert place_words(-1.0, "metric") == "1000 mm behind the axle centre"


def test_words_of_loads_and_centre():
    plan = deck_plan(make_trailer())
    assert loads_words(plan, "us") == "864 lb on the ball, 12 % of 7,200 lb; 6,336 lb on 2 axles, 3,168 lb each"
    assert centre_words(plan, "us") == "centre of mass 20.2 in ahead of the axle centre"
