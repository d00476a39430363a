"""The trailer: its weight and how it loads the hitch, or the deck items these come from."""

from collections.abc import Iterator
from typing import Annotated, Final

from pydantic import Field

from planner.records.base import Broken, Record, rule
from planner.records.couplings import Coupling
from planner.records.fields import Count, Length, Name, Place, Rate, Ratio, Share, Weight, default, too_many
from planner.records.file_header import Described
from planner.units.quantity import Refusal, in_unit_of

GREATEST_TONGUE_RATIO: Final = 0.5  # with more on the coupling than on the axles it is no trailer


class DeckItem(Record):
    """Something on the trailer, or the empty trailer itself."""

    name: Name
    weight: Weight
    ahead: Place  # of the axle centre
    left: Place = default("0 in", "length")  # of the centre line


class Trailer(Described):
    """The trailer, as its owner knows it: gross weight and tongue ratio, or the items they come from."""

    coupling: Coupling
    gross_weight: Weight | None = None
    tongue_ratio: Annotated[Ratio, Field(ge=0, le=GREATEST_TONGUE_RATIO)] | None = None
    deck: tuple[DeckItem, ...] = ()
    coupling_height: Length  # when the trailer sits level
    parked_height: Length  # on its jack, ready to hook
    axle_distance: Annotated[Length, Field(ge=0.3)]  # coupling to axle centre
    axle_count: Annotated[Count, Field(ge=1, le=4)]
    gvwr: Weight
    axle_rating: Weight  # each
    tyre_load_rating: Weight | None = None  # each
    tyres_per_side: Annotated[Count, Field(ge=1, le=2)] = 1  # of one axle
    track: Annotated[Length, Field(ge=0.3)]
    left_share: Share = 0.5  # of the trailer's own weight
    bars: Annotated[Ratio, Field(ge=0, le=3)] = 0.0  # front-axle restoration wanted; over 1 is a finding
    underside: Length | None = None  # of the part over the truck's bed, above the coupling, trailer level
    axle_spacing: Length | None = None  # between neighbouring axles that are not equalised; leave out if they are
    axle_rate: Annotated[Rate, Field(gt=0)] | None = None  # springs and tyres of one axle, both sides
    deck_length: Length | None = None  # of the loading area, for the V-value; left out: coupling to axle centre
    centre_height: Length | None = None  # of the loaded trailer's centre of mass, above the axles

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

    @rule
    def _deck_has_no_more_than_is_put_there(self) -> Iterator[Broken]:
        """Require no more things than are put on a deck one by one."""
        yield from ((("deck",), refusal) for refusal in too_many(self.deck))

    @rule
    def _weighed_or_loaded(self) -> Iterator[Broken]:
        """Require exactly one of the two ways to say what it weighs."""
        weight, ratio, deck = self.gross_weight, self.tongue_ratio, self.deck
        if deck and (weight is not None or ratio is not None):
            why = "a trailer has gross_weight and tongue_ratio, or deck items"
            yield ("deck",), Refusal(why, "both", "take one of the two ways out")
        elif not deck and weight is None:
            remedy = 'add gross_weight = "7200 lb", or [[deck]] items'
            yield ("gross_weight",), Refusal("a trailer without deck items needs it", "nothing", remedy)
        if not deck and ratio is None:
            remedy = "add tongue_ratio = 0.12, or [[deck]] items"
            yield ("tongue_ratio",), Refusal("a trailer without deck items needs it", "nothing", remedy)

    @rule
    def _deck_loads_the_coupling(self) -> Iterator[Broken]:
        """Require a deck that presses the coupling down, and does not rest mostly on it."""
        if not self.deck or self.gross_weight is not None or self.tongue_ratio is not None:
            return
        share = self.tongue_share
        got = f"{in_unit_of(share * self.weight, self.deck[0].weight)} ({share:.3g} of the gross weight)"
        if share < 0:
            remedy = "it is tail-heavy and would lift the hitch; slide load forward"
            yield ("deck",), Refusal("must give a tongue load >= 0", got, remedy)
        elif share > GREATEST_TONGUE_RATIO:
            why = f"must give a tongue ratio <= {GREATEST_TONGUE_RATIO}"
            yield ("deck",), Refusal(why, got, "slide load back towards the axles")

    @rule
    def _stands_on_both_sides(self) -> Iterator[Broken]:
        """Require load on the tyres of both sides: the coupling swivels, so they alone carry what is off centre."""
        if not self.weight or (self.tongue_ratio is None and not self.deck):
            return
        spare = (1.0 - self.tongue_share) / 2
        if abs(self.side_share - 0.5) > spare:
            why = f"must keep the left share in {0.5 - spare:.3g} to {0.5 + spare:.3g}, or the wheels of a side lift"
            field = "deck" if self.deck else "left_share"
            yield (field,), Refusal(why, f"{self.side_share:.3g}", "move load towards the centre line")
