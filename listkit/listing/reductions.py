"""What a listing says of a reduction: "was ..., now ... until ...", on the lawful prior price alone.

Which price that is comes from outside, with the reason where there is none: nothing is announced that is
not lower than it (Directive 98/6/EC, Art. 6a; CJEU C-330/23). Only a reminder; the local rules come first.
"""

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from listkit.compute.catalog import Variant
from listkit.compute.rulings import Ruling
from listkit.listing.formats import date_text, money_text
from listkit.listing.words import Words, fill
from listkit.model.reduction import PRIOR_DAYS
from listkit.units.money import Money


@dataclass(frozen=True, slots=True)
class PriorPrice:
    """What a variant's lower price on a channel may be compared with.

    `lowest` is None where nothing may be announced; `reason` says why, or what was compared.
    """

    channel: str
    code: str
    lowest: Money | None
    reason: str = ""


@dataclass(frozen=True, slots=True)
class OnDay:
    """The day that listings are made for, None for prices as usual; and what reductions may be compared with.

    `announce` is False where nothing is to be said, whatever is known.
    """

    day: datetime.date | None = None
    priors: tuple[PriorPrice, ...] = ()
    announce: bool = True
    prior_days: int = PRIOR_DAYS

    def of_channel(self, channel: str) -> Mapping[str, PriorPrice]:
        """Return what is known of a channel, by the codes of variants."""
        return {one.code: one for one in self.priors if one.channel == channel}


USUAL: Final = OnDay()


@dataclass(frozen=True, slots=True)
class Announced:
    """A lower price that may be announced, with the lawful price before it."""

    price: Money
    prior: Money


@dataclass(frozen=True, slots=True)
class ShownReduction:
    """The reduction in force on one listing: what is announced, and why more is not ("" where all is)."""

    ruling: Ruling
    announced: tuple[Announced, ...] = ()
    whole: bool = False  # whether all variants have the one price that is announced
    silent: str = ""


def shown_reduction(ruling: Ruling, variants: Iterable[Variant], priors: Mapping[str, PriorPrice]) -> ShownReduction:
    """Return what is announced of the variants of one listing.

    A buyer knows a variant by its price: of several with one price, the lowest prior price counts, and none where
    one of them has none.
    """
    by_price: dict[Decimal, list[tuple[Variant, PriorPrice | None]]] = {}
    for one in variants:
        by_price.setdefault(one.price.amount, []).append((one, priors.get(one.code)))
    announced, silent = [], ""
    for _, alike in sorted(by_price.items()):
        lowest = [prior.lowest.amount if prior and prior.lowest else None for _, prior in alike]
        known = [amount for amount in lowest if amount is not None]
        price = alike[0][0].price
        if len(known) == len(lowest) and min(known) > price.amount:
            announced.append(Announced(price, Money(min(known), price.currency)))
        else:
            silent = silent or _why(alike)
    return ShownReduction(ruling, tuple(announced), len(by_price) == 1, silent)


def _why(alike: list[tuple[Variant, PriorPrice | None]]) -> str:
    one, prior = next((pair for pair in alike if pair[1] is None or pair[1].lowest is None), alike[0])
    return f"{one.code}: {prior.reason if prior and prior.reason else 'no price before is known.'}"


def announcement(words: Words, shown: ShownReduction, on: OnDay) -> tuple[str, ...]:
    """Return the sentences that announce a reduction, none where nothing may be announced."""
    if not shown.announced:
        return ()
    until = date_text(shown.ruling.reduction.until, words.language)
    sentences = words.sentences
    pairs = [{"prior": _money(one.prior, words), "price": _money(one.price, words)} for one in shown.announced]
    if shown.whole:
        told = fill(sentences.reduced, **pairs[0], until=until)
    else:
        each = tuple(fill(sentences.reduced_each, **pair) for pair in pairs)
        told = fill(sentences.reduced_all, prices=words.all_of(each), until=until)
    return told, fill(sentences.prior, days=str(on.prior_days))


def _money(money: Money, words: Words) -> str:
    return money_text(money.amount, money.currency, words.language)
