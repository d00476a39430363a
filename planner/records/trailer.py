"""The trailer: its weight and how it loads the hitch, or the deck items these come from."""

from collections.abc import Iterator
from typing import Annotated, Final

from pydantic import Field

from planner.records.base import Broken, Record, rule
from planner.records.couplings import Coupling
from planner.records.fields import (
    Count,
    Length,
    Name,
    Needed,
    Place,
    Rate,
    Ratio,
    Share,
    Step,
    Weight,
    default,
    too_many,
)
from planner.records.file_header import Described
from planner.units.quantity import Refusal, in_unit_of

GREATEST_TONGUE_RATIO: Final = 0.5  # with more on the coupling than on the axles it is no trailer


class DeckItem(Record):
    """Something on the trailer, or the empty trailer itself."""

    name: Annotated[Name, Field(title="Name")]
    weight: Annotated[Weight, Field(title="Weight")]
    ahead: Annotated[Place, Field(title="Ahead of axle centre")]
    left: Annotated[Place, Field(title="Left of centre")] = default("0 in", "length")


class Trailer(Described):
    """The trailer, as its owner knows it: gross weight and tongue ratio, or the items they come from."""

    coupling: Annotated[Coupling, Field(title="Coupling")]
    gross_weight: Annotated[Weight | None, Field(title="Gross weight"), Needed(), Step(100.0, 50.0)] = None
    tongue_ratio: Annotated[
        Annotated[Ratio, Field(ge=0, le=GREATEST_TONGUE_RATIO)] | None,
        Field(title="Tongue ratio"),
        Needed(),
        Step(0.5, 0.5),
    ] = None
    deck: tuple[DeckItem, ...] = ()
    coupling_height: Annotated[Length, Field(title="Coupling height, level")]
    parked_height: Annotated[Length, Field(title="Parked height, on its jack")]  # ready to hook
    axle_distance: Annotated[Length, Field(ge=0.3, title="Coupling to axle centre")]
    axle_count: Annotated[Count, Field(ge=1, le=4, title="Axles")]
    gvwr: Annotated[Weight, Field(title="GVWR")]
    axle_rating: Annotated[Weight, Field(title="Axle rating, each")]
    tyre_load_rating: Annotated[Weight | None, Field(title="Tyre load rating, each")] = None
    tyres_per_side: Annotated[Count, Field(ge=1, le=2, title="Tyres on each end of an axle")] = 1
    track: Annotated[Length, Field(ge=0.3, title="Track, wheel to wheel")]
    left_share: Annotated[Share, Field(title="Left share of its weight"), Step(1.0, 1.0)] = 0.5
    # front-axle restoration wanted; over 1 is a finding
    bars: Annotated[Ratio, Field(ge=0, le=3, title="Share of the front axle's lost load that they put back")] = 0.0
    # of the part over the truck's bed, trailer level
    underside: Annotated[Length | None, Field(title="Gooseneck: underside above the coupling")] = None
    # between neighbouring axles; leave out if they are equalised
    axle_spacing: Annotated[Length | None, Field(title="Axle spacing, not equalised")] = None
    # springs and tyres
    axle_rate: Annotated[Annotated[Rate, Field(gt=0)] | None, Field(title="Rate of one axle, both sides")] = None
    deck_length: Length | None = None  # of the loading area, for the V-value; left out: coupling to axle centre
    centre_height: Annotated[Length | None, Field(title="Centre of mass above the axles, loaded")] = None

    @property
    def weight(self) -> float:
        """Gross weight [kg]: as given, or the deck's sum."""
        return float(self.gross_weight) if self.gross_weight is not None else sum(item.weight for item in self.deck)

    @property
    def tongue_share(self) -> float:
        """Share of the gross weight on the coupling, bars slack: as given, or from the deck's moments."""
        if self.tongue_ratio is not None:
            return self.tongue_ratio
        return sum(item.weight * item.ahead for item in self.deck) / (self.axle_distance * self.weight)

    @property
    def side_share(self) -> float:
        """Share of the trailer's weight on its left: left_share, moved by what lies off centre on the deck."""
        return self.left_share + sum(item.weight * item.left for item in self.deck) / (self.track * self.weight)

    @property
    def loading_length(self) -> float:
        """Length of the loading area [m]: as given, or from coupling to axle centre."""
        return float(self.deck_length or self.axle_distance)

    @rule
    def _deck_has_no_more_than_is_put_there(self) -> Iterator[Broken]:
        """Require no more things than are put on a deck one by one."""
        yield from ((("deck",), refusal) for refusal in too_many(self.deck))

    @rule
    def _weighed_or_loaded(self) -> Iterator[Broken]:
        """Require exactly one of the two ways to say what it weighs."""
        weight, ratio, deck = self.gross_weight, self.tongue_ratio, self.deck
        if deck and (weight is not None or ratio is not None):
            why = "a trailer has gross_weight and tongue_ratio, or deck items, not both"
            yield ("deck",), Refusal(why, "both", "take one of the two out")
        elif not deck and weight is None:
            remedy = 'add gross_weight = "7200 lb", or [[deck]] items'
            yield ("gross_weight",), Refusal("needed for a trailer without deck items", "nothing", remedy)
        if not deck and ratio is None:
            remedy = "add tongue_ratio = 0.12, or [[deck]] items"
            yield ("tongue_ratio",), Refusal("needed for a trailer without deck items", "nothing", remedy)

    @rule
    def _deck_loads_the_coupling(self) -> Iterator[Broken]:
        """Require a deck that presses the coupling down, and does not rest mostly on it."""
        if not self.deck or self.gross_weight is not None or self.tongue_ratio is not None:
            return
        share = self.tongue_share
        got = f"{in_unit_of(share * self.weight, self.deck[0].weight)} ({share:.3g} of the gross weight)"
        if share < 0:
            remedy = "it is tail-heavy and would lift the hitch; move load forward"
            yield ("deck",), Refusal("must give a tongue load >= 0", got, remedy)
        elif share > GREATEST_TONGUE_RATIO:
            why = f"must give a tongue ratio <= {GREATEST_TONGUE_RATIO}"
            yield ("deck",), Refusal(why, got, "move load back toward the axles")

    @rule
    def _stands_on_both_sides(self) -> Iterator[Broken]:
        """Require load on the tyres of both sides: the coupling swivels, so they alone carry what is off centre."""
        if not self.weight or (self.tongue_ratio is None and not self.deck):
            return
        spare = (1.0 - self.tongue_share) / 2
        if abs(self.side_share - 0.5) > spare:
            least, most, got = (f"{100 * share:.3g} %" for share in (0.5 - spare, 0.5 + spare, self.side_share))
            why = f"must keep the left share at {least} to {most}, or the wheels on one side lift"
            field = "deck" if self.deck else "left_share"
            yield (field,), Refusal(why, got, "move load toward the centre line")
