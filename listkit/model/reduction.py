"""Reductions: lower prices with a first and a last day; [[reduction]] in shop.toml or in a set.toml."""

from decimal import Decimal
from typing import Annotated, Final

from pydantic import AfterValidator, Field

from listkit import bounds
from listkit.model.fields import Code, Count, Day, Ending, EndingField, Name, Part, ShopModel, YesNo, at_most
from listkit.problem import FieldError, quoted
from listkit.units.spoken import Spoken

PRIOR_DAYS = 30  # Directive 98/6/EC, Art. 6a(2), as amended by Directive (EU) 2019/2161


def _lowers_something(share: Decimal) -> Decimal:
    if share == 0:
        raise FieldError("it lowers nothing.", 'Write how much less a price is, as in "15 %".')
    return share


def _lowers(ending: Ending) -> Ending:
    if ending.share is None:
        raise FieldError('"keep" lowers nothing.', 'Write the last digits that the lower price has, as in ".95".')
    return ending


def _days(count: int) -> int:
    if not 1 <= count <= 365:
        raise FieldError(f"{count} days cannot be looked back.", "Write from 1 to 365.")
    return count


Days = Annotated[Count, AfterValidator(_days)]


class Reduction(ShopModel):
    """A lower price from one day until another, both of them included; by a share, or down to a new ending."""

    name: str = Field(default="", description="What you call it; buyers never read it.", examples=["Advent"])
    first: Day = Field(alias="from", description="The first day of the lower price.")
    until: Day = Field(description="The last day of the lower price.")
    by: Annotated[Part, AfterValidator(_lowers_something)] | None = Field(
        default=None,
        description='So much less, as in "15 %"; rounded down to whole pennies or cents.',
        examples=["15 %"],
    )
    ending: Annotated[EndingField, AfterValidator(_lowers)] | None = Field(
        default=None, description='Or down to the next lower price that ends so: ".95".'
    )
    channels: tuple[Name, ...] = Field(default=(), description="Keys of the channels; all when left out.")

    def label_in(self, spoken: Spoken) -> str:
        """Return what a message calls it."""
        return f"the reduction {quoted(self.name)}" if self.name else f"the reduction from {spoken.day(self.first)}"

    @property
    def sound(self) -> bool:
        """Whether it says when and how much; what is not sound is told, and lowers nothing."""
        return self.first <= self.until and (self.by is None) != (self.ending is None)


class ShopReduction(Reduction):
    """A reduction of several sets; a set's own goes before it."""

    sets: tuple[Code, ...] = Field(default=(), description="Codes of the sets; all when left out.")


MOST: Final = at_most(bounds.REDUCTIONS)


class Announcing(ShopModel):
    """What may be said of a reduction. The defaults are the EU's general rule; your country's own goes first."""

    announce: YesNo = Field(default=True, description='false: texts never say "was ..., now ...".')
    prior_days: Days = Field(
        default=PRIOR_DAYS, description="A price is compared with the lowest of so many days before."
    )
    known_days: Days | None = Field(
        default=None,
        description="So many of them must be on record; fewer only where your country has a rule for new goods.",
    )
    further_cuts: YesNo = Field(
        default=False,
        description="true where your country lets a cut that grows without a break go by the price before it began.",
    )
