"""Listings: set × channel, with exactly the words, rows and photos that will be written.

Frozen values only: what `check` looks at is what `write` writes. Limits come only from the channel.
"""

import datetime
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any, Final

from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.reductions import Ruling
from listkit.compute.sales import Sale
from listkit.compute.seasons import Phase
from listkit.listing.sentences import fill
from listkit.listing.words import Words
from listkit.model.channel import USUAL_BLOCKS, Channel, Crop
from listkit.model.item import Item
from listkit.model.naming import NAME_FIRST, Naming
from listkit.model.photo import Cut
from listkit.model.reduction import PRIOR_DAYS
from listkit.model.shop import Photo
from listkit.problem import Place, Problem
from listkit.units.money import Money
from listkit.units.spoken import date_text, money_text

# What a listing says of a reduction: "was ..., now ... until ...", on the lawful prior price alone.
#
# Which price that is comes from outside, with the reason where there is none: nothing is announced that is
# not lower than it (Directive 98/6/EC, Art. 6a; CJEU C-330/23). Only a reminder; the local rules come first.

PAGE_ENDINGS: Final = {"html": "html", "plain": "txt", "markdown": "md"}


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


USUAL_DAY: Final = OnDay()
PRE_ORDER: Final = "PreOrder"
"""Of schema.org's ItemAvailability (release 30): it can be ordered before it is to be had."""


@dataclass(frozen=True, slots=True)
class Announced:
    """A lower price that may be announced, with the lawful price before it, and the options that it is of if few."""

    price: Money
    prior: Money
    options: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ShownReduction:
    """The reduction in force on one listing: what is announced, and why more is not ("" where all is)."""

    ruling: Ruling
    announced: tuple[Announced, ...] = ()
    whole: bool = False  # whether all variants have the one price that is announced
    silent: str = ""


def shown_reduction(
    ruling: Ruling,
    variants: Iterable[Variant],
    priors: Mapping[str, PriorPrice],
    names: Mapping[Decimal, tuple[str, ...]],
) -> ShownReduction:
    """Return what is announced of the variants of one listing; `names` are the options that each price is of.

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
            announced.append(Announced(price, Money(min(known), price.currency), names.get(price.amount, ())))
        else:
            silent = silent or _why(alike)
    return ShownReduction(ruling, tuple(announced), len(by_price) == 1, silent)


def _why(alike: list[tuple[Variant, PriorPrice | None]]) -> str:
    one, prior = next((pair for pair in alike if pair[1] is None or pair[1].lowest is None), alike[0])
    return f"{one.code}: {prior.reason if prior and prior.reason else 'no price before is known.'}"


def announcement(wording: Words, shown: ShownReduction, on: OnDay) -> tuple[str, ...]:
    """Return the sentences that announce a reduction, none where nothing may be announced."""
    if not shown.announced:
        return ()
    until = date_text(shown.ruling.reduction.until, wording.language)
    sentences = wording.sentences
    pairs = [{"prior": _money(one.prior, wording), "price": _named_price(one, wording)} for one in shown.announced]
    if shown.whole:
        told = fill(sentences.reduced, **pairs[0], until=until)
    else:
        each = tuple(fill(sentences.reduced_each, **pair) for pair in pairs)
        told = fill(sentences.reduced_all, prices=wording.all_of(each), until=until)
    return told, fill(sentences.prior, days=str(on.prior_days))


def _named_price(lowered: Announced, wording: Words) -> str:
    """Return "sugar scrub or bath salts £16.00", or the price alone."""
    return " ".join(filter(None, (wording.one_of(lowered.options), _money(lowered.price, wording))))


def _money(money: Money, wording: Words) -> str:
    return money_text(money.amount, money.currency, wording.language)


@dataclass(frozen=True, slots=True)
class Picture:
    """One finished picture: which crop, where it is cut, its file name and its address on the web."""

    crop: Crop
    cut: Cut
    name: str
    address: str


@dataclass(frozen=True, slots=True)
class ListedPhoto:
    """A photo in a listing, with the words for it and a picture for each of the channel's crops.

    A crop with `if_tight` "leave out" has no picture of a photo that does not suit it; `serves_main` is whether the
    first crop has one.
    """

    photo: Photo
    alt: str
    pictures: tuple[Picture, ...]
    serves_main: bool = True

    @property
    def main(self) -> Picture | None:
        """The picture that feeds name: the first crop's."""
        return self.pictures[0] if self.pictures and self.serves_main else None


@dataclass(frozen=True, slots=True)
class ShownOption:
    """An option as the channel shows it, its name letter for letter a choice of the offers.

    `price` is the lowest with this option, None where all options of the slot cost the same; `from_price`
    says that another slot can make it dearer.
    """

    says: str
    item: Item
    price: Money | None
    default: bool
    sold_out: bool
    from_price: bool = False


@dataclass(frozen=True, slots=True)
class ShownSlot:
    """A slot and its options in the order of the set, sold-out ones left out where the channel hides them."""

    name: str
    options: tuple[ShownOption, ...]


@dataclass(frozen=True, slots=True)
class Offer:
    """One variant as the channel shows it.

    `choices` are letter for letter the options of the text. `stock` is None when nothing in it is counted.
    `availability` is a name of schema.org's ItemAvailability. `images` are addresses, its
    own photo first, of the channel's first crop. `prior` is the lawful price before an announced reduction.
    `net_declaration` is the whole of it as a label declares it, `unit_price` "" where the channel asks for none or
    the pieces are unlike.
    """

    variant: Variant
    name: str
    choices: tuple[str, ...]
    stock: int | None
    availability: str
    images: tuple[str, ...]
    sale: Sale
    contents: tuple[str, ...]
    ingredients: tuple[str, ...]
    cautions: tuple[str, ...]
    net_contents: tuple[str, ...]
    prior: Money | None = None
    net_declaration: str = ""
    allergens: tuple[str, ...] = ()
    unit_price: str = ""
    figures_of: str = ""  # in a set's own row: the variant whose figures it has

    @property
    def price(self) -> Money:
        """What a buyer pays here, tax included."""
        return self.variant.prices.price

    @property
    def kept(self) -> Money:
        """What the channel leaves of one sale."""
        return self.sale.kept

    @property
    def usual_price(self) -> Money:
        """What a buyer pays here while no reduction is in force; what shops are suggested."""
        return self.variant.usual_price

    @property
    def in_stock(self) -> bool:
        """Whether it can be bought today; what is not counted can, what is only ordered before its season cannot."""
        return self.stock != 0 and self.availability != PRE_ORDER

    @property
    def item_codes(self) -> tuple[str, ...]:
        """The codes of what is in it, in order."""
        return tuple([piece.item.code for piece in self.variant.pieces])

    @property
    def box(self) -> str:
        """The gift box's code; empty without one."""
        return self.variant.box.code if self.variant.box else ""

    @property
    def width(self) -> Decimal | None:
        """The closed box from left to right in mm, where its outside is stated."""
        return self._outside(0)

    @property
    def depth(self) -> Decimal | None:
        """The closed box from front to back in mm."""
        return self._outside(1)

    @property
    def height(self) -> Decimal | None:
        """The closed box as it stands, in mm."""
        return self._outside(2)

    def parcel(self, side: int) -> Decimal | None:
        """Return a side of the carton's outside in mm, 0 for the longest; None without a carton."""
        carton = self.variant.carton
        return sorted(carton.outside.sides, reverse=True)[side] if carton else None

    def _outside(self, side: int) -> Decimal | None:
        box = self.variant.box
        return box.outside.sides[side] if box and box.outside else None

    @property
    def shelf_life(self) -> int | None:
        """Months of what keeps least; None when nothing says."""
        lives = [life for piece in self.variant.pieces if (life := piece.item.shelf_life) is not None]
        return min(lives) if lives else None


@dataclass(frozen=True, slots=True)
class Listing:
    """One set on one channel. `description` is in the channel's kind of text, `plain` the same in one line."""

    channel: Channel
    facts: SetFacts
    language: str
    country: str
    maker: tuple[str, str, str]  # the shop's name, who answers for the goods with postal address, e-mail address
    currency: str
    title: str
    theme: str
    description: str
    plain: str
    keywords: tuple[str, ...]
    slots: tuple[ShownSlot, ...]
    offers: tuple[Offer, ...]
    photos: tuple[ListedPhoto, ...]
    dropped_photos: tuple[Photo, ...]  # what the channel's limit leaves out
    address: str
    reduction: ShownReduction | None = None  # in force here today
    price_turns: datetime.date | None = None  # the last day before a reduction begins or ends
    phase: Phase = Phase.ON_SALE  # where the day lies in the season
    pricing: tuple[str, ...] = ()  # out of season, codes of the variants that set prices
    most: int | None = None  # how many the channel may sell of all variants together; None where nothing counts
    stated: SetFacts | None = None  # with the signs that the channel replaces; None where it replaces none
    blocks: tuple[str, ...] = USUAL_BLOCKS  # of the text, less those that went because it was too long
    block_sizes: tuple[tuple[str, int], ...] = ()  # what each takes, of a text that is still too long
    block_lines: tuple[tuple[str, str], ...] = ()  # blocks in one line, of those that the feed has a field for
    small_print: int = 0  # letters of the text's ingredients, notes on them, cautions and what defers to the rules
    naming: Naming = NAME_FIRST  # how its language calls a piece
    words_file: str = ""  # where its names are translated; empty in the shop's own language

    @property
    def brand(self) -> str:
        """The shop's name."""
        return self.maker[0]

    @property
    def folder(self) -> str:
        """The set's folder, which names its files."""
        return self.facts.source.folder

    @property
    def as_stated(self) -> SetFacts:
        """The set in the listing's language, with every sign that was written."""
        return self.stated or self.facts

    def block_line(self, block: str) -> str:
        """Return a block of the text in one line; "" where the feed has no field for it."""
        return dict(self.block_lines).get(block, "")

    @property
    def page(self) -> str:
        """Where its page goes in the output folder, where the channel makes pages."""
        return f"{self.channel.key}/listings/{self.folder}.{PAGE_ENDINGS[self.channel.text]}"

    @property
    def slot_names(self) -> tuple[str, ...]:
        """What the buyer chooses, in order."""
        return tuple(slot.name for slot in self.slots)

    @property
    def alts(self) -> tuple[str, ...]:
        """Words for the photos, in their order."""
        return tuple(photo.alt for photo in self.photos)

    @property
    def buyable(self) -> tuple[Offer, ...]:
        """The offers that set prices: those that can be bought, or all where none can; out of season as in it."""
        if self.pricing:
            codes = frozenset(self.pricing)
            return tuple(offer for offer in self.offers if offer.variant.code in codes)
        return tuple(offer for offer in self.offers if offer.in_stock) or self.offers

    @property
    def cheapest(self) -> Money:
        """The lowest price among the variants that can be bought; of all shown where none can."""
        return min((offer.price for offer in self.buyable), key=lambda money: money.amount)

    @property
    def dearest(self) -> Money:
        """The highest price among the same."""
        return max((offer.price for offer in self.buyable), key=lambda money: money.amount)

    @property
    def on_sale(self) -> datetime.date | None:
        """The season's first day."""
        return self.facts.season.on_sale if self.facts.season else None

    @property
    def off_sale(self) -> datetime.date | None:
        """The season's last day."""
        return self.facts.season.off_sale if self.facts.season else None

    @property
    def price_until(self) -> datetime.date | None:
        """Prices hold as long as the season, or until a reduction begins or ends before that."""
        return min((day for day in (self.off_sale, self.price_turns) if day is not None), default=None)

    def place(self, *key: str | int) -> Place:
        """Return the place in the set's own file, or in that of the language; the report finds the line."""
        if self.words_file and key[:1] and key[0] in ("name", "title", "theme", "keywords"):
            of_what = ("items",) if self.facts.is_single else ("sets",)
            return Place(self.words_file, key=(*of_what, self.facts.code, *(() if self.facts.is_single else key)))
        return self.facts.source.place(*key)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A set, in the channel's words, that a channel could show and does not: by its season, or by its own choice."""

    channel: str
    facts: SetFacts
    phase: Phase = Phase.ON_SALE


@dataclass(frozen=True, slots=True)
class Listings:
    """All listings: channels in the order of their keys, in each the sets in the order of their seasons.

    `problems` are the faults of templates and stories met on the way; a listing with a fault is left out. `left_out`
    are the sets that a channel leaves out by its own rules. `made` keeps what follows from all this alone and is asked
    for by several, as the printed papers: see `papers.py`.
    """

    catalog: Catalog
    listings: tuple[Listing, ...]
    problems: tuple[Problem, ...] = ()
    left_out: tuple[LeftOut, ...] = ()
    made: dict[type, Any] = field(default_factory=dict, init=False, repr=False, compare=False)

    def __iter__(self) -> Iterator[Listing]:
        return iter(self.listings)

    def by_channel(self) -> Iterator[tuple[Channel, tuple[Listing, ...]]]:
        """Yield every channel of the shop with its own listings, empty ones too."""
        of_key = defaultdict[str, list[Listing]](list)
        for listing in self.listings:
            of_key[listing.channel.key].append(listing)
        for channel in self.catalog.shop.channels:
            yield channel, tuple(of_key[channel.key])
