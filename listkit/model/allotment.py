"""The allotment: what an owner wishes of it, [allotment] in shop.toml; and the numbers that it gave, allotment.csv."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated, Final

from pydantic import AfterValidator, Field

from listkit import bounds
from listkit.model.fields import Code, Count, Name, Share, ShopModel, at_most
from listkit.problem import FieldError, Place
from listkit.units.quantity import share_text

ALLOTMENT_COLUMNS: Final = ("place", "code", "pieces", "after line")
SHOPS: Final = "wholesale"
"""The place that pieces are put by for shops under, where [allotment] names it."""


_MOST_WEIGHT: Final = 100


def _few_times(share: Decimal) -> Decimal:
    if share > _MOST_WEIGHT:
        raise FieldError(f"{share_text(share)} is more than any sale counts.", 'Write 10000 % or less, as in "150 %".')
    return share


WishWeight = Annotated[Share, AfterValidator(_few_times)]


class Wish(ShopModel):
    """What is to hold of some goods at a place, whatever else keeps more."""

    place: Name | None = Field(
        default=None,
        description='Key of the channel, or "wholesale" for pieces put by for shops; every channel when left out.',
        examples=["stall"],
    )
    of: tuple[Code, ...] = Field(
        default=(),
        description="Codes of sets, variants or single pieces; each that the place shows when left out.",
        examples=[["OHS-1"]],
    )
    least: Count = Field(
        default=0,
        description="The place gets at least so many of each; of a set, its variants together. Without codes: as far "
        "as pieces last.",
        examples=[3],
    )
    most: Count | None = Field(
        default=None, description="It gets at most so many of each: no more than it can sell.", examples=[20]
    )
    weight: WishWeight = Field(
        default=Decimal(1),
        description="How much what a sale keeps counts there: below 100 % where fewer are sold, above it where you "
        "would rather sell.",
        examples=["80 %"],
    )


class Allotment(ShopModel):
    """How the pieces there are go to the places, so that none is promised twice."""

    first: tuple[Name, ...] = Field(
        default=(),
        description="Keys of channels: where several ways keep the same, those named first get more. The others "
        "follow by their keys.",
        examples=[["stall"]],
    )
    together: tuple[tuple[Name, ...], ...] = Field(
        default=(),
        description="Channels that are one shop, as one in another language: they show the same numbers.",
        examples=[[["web_shop", "web_shop_fr"]]],
    )
    wishes: Annotated[tuple[Wish, ...], at_most(bounds.WISHES)] = Field(
        default=(), alias="wish", description="What is to hold at a place, one [[allotment.wish]] each."
    )

    def counted_at(self, place: str) -> str:
        """Return the place whose numbers a place shows: the first of those that are one shop with it, else itself."""
        return next((group[0] for group in self.together if place in group), place)

    def in_order(self, places: Iterable[str]) -> tuple[str, ...]:
        """Return places in the order in which they come first: shops that order, those named, the others by key."""
        ranks = {place: at for at, place in enumerate((SHOPS, *self.first))}
        return tuple(sorted(places, key=lambda place: (ranks.get(place, len(ranks)), place)))


@dataclass(frozen=True, slots=True)
class AllottedRow:
    """A row of allotment.csv: so many pieces of a code for a place.

    `after` is the last line of movements.csv that was known when it was allotted, 0 where there was none: what the
    place sold in later lines is taken off its number.
    """

    place: str
    code: str
    pieces: int
    after: int = 0
    line: int = 0


@dataclass(frozen=True, slots=True)
class AllotmentRead:
    """The rows of allotment.csv in their order; `file` is "" where there is none, `whole` is whether all were read."""

    file: str = ""
    rows: tuple[AllottedRow, ...] = ()
    whole: bool = True

    def place(self, line: int = 0) -> Place:
        """Return the place of a line."""
        return Place(self.file, line)


NO_ALLOTMENT: Final = AllotmentRead()


@dataclass(frozen=True, slots=True)
class Allotted:
    """How many of which code each place may sell today, by place and code.

    `short` are the rows that the pieces there are do not suffice for, each with how many it lacks; `unknown` those
    whose place or code is not there.
    """

    numbers: Mapping[tuple[str, str], int]
    short: tuple[tuple[AllottedRow, int], ...] = ()
    unknown: tuple[AllottedRow, ...] = ()
