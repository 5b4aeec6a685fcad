"""A season looked back on: what it left, what is left of it, how to clear that, and what goes off where.

Every figure is of what is there already: movements, the ledger's prices, fees and costs as they are today. Prices that
the ledger has not are today's, and it is said how many.
"""

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from typing import Final

from listkit.actions.leaving import Leaving, leaving, replaced
from listkit.actions.new_set import passes_checks
from listkit.actions.order_book import OrderLog, log_of
from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.movements import Goods, goods_of, sheet_stock
from listkit.compute.prices import priced
from listkit.compute.proposals import SetProposal, Wish, propose_sets
from listkit.compute.reductions import reduced_variants
from listkit.compute.sales import sale_on
from listkit.compute.season_end import (
    NOTHING,
    Gone,
    Keeps,
    SetWorth,
    Sold,
    Use,
    costs_of,
    gone_of,
    keeps_until,
    pieces_gone,
    ranked,
    scarcest,
    set_worth,
    shared_out,
    year_around,
    years_later,
)
from listkit.compute.seasons import family_of
from listkit.edit.new_set import usable_items
from listkit.ledger.history import PricePoint, channel_prices, lawful_reduction
from listkit.ledger.old_codes import joined_prices
from listkit.ledger.orders import orders
from listkit.ledger.store import LEDGER
from listkit.listing.listings import Listing
from listkit.model.channel import Channel
from listkit.model.fields import SetStatus, Status
from listkit.model.movements import StockMove
from listkit.model.reduction import Reduction
from listkit.model.settings import Season
from listkit.model.shop import Shop
from listkit.picture.encode import thumbnail
from listkit.picture.open import BYTE_LIMIT
from listkit.pipeline import WHOLESALE, list_catalog, open_shop
from listkit.problem import FieldError, quoted
from listkit.read.source import read_bytes
from listkit.read.wording import listed, perhaps
from listkit.units.money import Money

_STEPS: Final = tuple(range(50, 0, -5))  # per cent that prices may be lowered by, the most first
_MOST_TRIED: Final = 20  # items of which a set of leftovers is looked for
_MOST_YEARS: Final = 5  # that are looked back


@dataclass(frozen=True, slots=True)
class Left:
    """What is left of one code: how many, what one cost, how long it keeps, which coming sets hold it."""

    code: str
    name: str
    number: int
    cost: Decimal
    keeps: Keeps
    coming: tuple[str, ...]
    alone: bool  # whether it is sold as a single piece too

    @property
    def worth(self) -> Decimal:
        """What all of it cost."""
        return self.number * self.cost


@dataclass(frozen=True, slots=True)
class Cut:
    """By how much a set's prices may go down at a place, None where not at all, and what may be said of it.

    `price` is the lowest price then, `share` what may be announced; `reason` says what it is compared with, or why not.
    """

    code: str
    place: str
    by: Decimal | None
    price: Money | None
    share: Decimal
    reason: str


@dataclass(frozen=True, slots=True)
class YearRun:
    """One run of a season: its days, the year around them, and what its sets came to."""

    season: Season
    number: int
    takings: Decimal
    kept: Decimal
    minutes: Decimal


@dataclass(frozen=True, slots=True)
class SeasonEnd:
    """All that is known of a season on a day; `sets` are ranked, `scarce` is the code of what was scarce, "" for none.

    `further` shares out what is left of it. `supposed` counts pieces whose price is today's, as no ledger has it.
    """

    shop: Shop
    season: Season
    day: datetime.date
    sets: tuple[SetWorth, ...]
    scarce: str
    further: tuple[tuple[str, int], ...]
    left: tuple[Left, ...]
    of_leftovers: tuple[SetProposal, ...]
    cuts: tuple[Cut, ...]
    leaving: tuple[Leaving, ...]
    replaced: tuple[tuple[str, str], ...]
    years: tuple[YearRun, ...]
    supposed: int
    lost: tuple[str, ...]
    drafts: tuple[str, ...]

    @property
    def runs(self) -> bool:
        """Whether it is not over yet."""
        return self.day <= self.season.off_sale

    @property
    def number(self) -> int:
        """How many sets went in all."""
        return sum(each.number for each in self.sets)


def end_of_season(folder: Path, name: str, day: datetime.date, scarce: str = "") -> SeasonEnd:
    """Return what a season came to; `scarce` names what was scarce, found out where it is "".

    Raises:
        FieldError: there is no such season, no set is in it, or the ledger cannot be used.
    """
    shop = open_shop(folder, measure_at_most=0).shop
    catalog = build_catalog(shop)
    season = season_called(shop, name)
    family = family_of(shop.settings.seasons, season)
    finished = tuple(each for each in catalog.sets if each.source.gift_set.status is not SetStatus.DRAFT)
    facts = tuple(each for each in finished if each.season == season)
    if not facts:
        message = f'no finished set is in the season "{season.name}".'
        raise FieldError(message, f'Write season = "{season.name}" into its sets, and finish one that is a draft.')
    look = _Look.at(catalog, facts, season, day)
    scarce = look.code_of(scarce) if scarce else look.scarce(facts, season)
    years, sold = look.runs(tuple(each for each in finished if each.season in family), season)
    of_set = _by_set(sold, facts)
    worths = ranked([set_worth(each, of_set[each.code], look.goods, scarce) for each in facts], scarce)
    left = look.left(facts, season)
    codes = {variant.code for each in facts for variant in each.variants}
    return SeasonEnd(
        shop=shop,
        season=season,
        day=day,
        sets=worths,
        scarce=scarce,
        further=_further(worths, next((each.number for each in left if each.code == scarce), 0)),
        left=left,
        of_leftovers=look.of_leftovers(left),
        cuts=tuple(look.cuts(season)),
        leaving=tuple(leaving(catalog, facts, season, look.listings, look.log)),
        replaced=tuple(replaced(facts, catalog, season)),
        years=years,
        supposed=sum(abs(each.gone.number) for each in sold if not each.known and each.gone.code in codes),
        lost=look.lost(season),
        drafts=look.moved_drafts(family, season),
    )


def pictures_of(end: SeasonEnd, longest: int = 320) -> dict[str, str]:
    """Return a small picture of each set as an address that holds it, by codes; none where it cannot be opened."""
    pictures, root = {}, end.shop.root
    for each in end.sets:
        photo = each.facts.source.front
        content = read_bytes(root, photo.file, limit=BYTE_LIMIT) if photo else None
        if photo and isinstance(content, bytes):
            with suppress(FieldError):
                pictures[each.code] = thumbnail(root / photo.file, longest, content)
    return pictures


def _folded(name: str) -> str:
    return " ".join(name.split()).casefold()


def season_called(shop: Shop, name: str) -> Season:
    """Return a season by its name.

    Raises:
        FieldError: there is none of that name.
    """
    names = [season.name for season in shop.settings.seasons]
    wanted = _folded(name)
    season = next((each for each in shop.settings.seasons if _folded(each.name) == wanted), None)
    if season is None:
        there = f"There are: {listed(names, 'and')}." if names else "shop.toml has no [[season]] yet."
        raise FieldError(f"there is no season {quoted(name)}.", perhaps(name, names, names=True) or there)
    return season


def _by_set(sold: Iterable[Sold], facts: Iterable[SetFacts]) -> dict[str, list[Sold]]:
    """Return what went of each set, by its code."""
    set_of = {variant.code: each.code for each in facts for variant in each.variants}
    by_set: dict[str, list[Sold]] = {code: [] for code in set_of.values()}
    for each in sold:
        if each.gone.code in set_of:
            by_set[set_of[each.gone.code]].append(each)
    return by_set


def _further(worths: Sequence[SetWorth], there: int) -> tuple[tuple[str, int], ...]:
    """Return what to make of what is left of the scarce thing, of each set no more than went of it."""
    used = [(each.code, each.scarce) for each in worths if each.scarce.number > 0]
    uses = [Use(code, of.kept / of.number, Decimal(of.pieces) / of.number, of.number) for code, of in used]
    return tuple((use.name, number) for use, number in shared_out(uses, Decimal(there)))


@dataclass(frozen=True, slots=True)
class _Look:
    """A shop looked at on a day: what everything about one of its seasons is worked out from.

    `moves` are by today's codes; `histories` are the ledger's prices by channel; `listings` have the season's sets as
    each channel shows them on its last day.
    """

    catalog: Catalog
    goods: Goods
    day: datetime.date
    moves: tuple[StockMove, ...]
    histories: Mapping[str, Mapping[str, Sequence[PricePoint]]]
    log: OrderLog
    listings: tuple[Listing, ...]

    @classmethod
    def at(cls, catalog: Catalog, facts: tuple[SetFacts, ...], season: Season, day: datetime.date) -> "_Look":
        """Return what is to be known of a shop and the finished sets of one of its seasons."""
        shop, now = catalog.shop, catalog.shop.old_codes
        ledger, there = shop.root / LEDGER, (shop.root / LEDGER).exists()
        moves = shop.movements.moves
        return cls(
            catalog=catalog,
            goods=goods_of(catalog),
            day=day,
            moves=tuple(replace(each, code=now(each.code), set=now(each.set)) for each in moves) if now else moves,
            histories={
                channel.key: joined_prices(channel_prices(ledger, channel.key, shop.settings.currency), now.now)
                if there
                else {}
                for channel in shop.channels
            },
            log=log_of(orders(ledger), shop.stockists, shop.settings.currency),
            listings=list_catalog(replace(catalog, sets=facts, singles=()), season.off_sale).listings.listings,
        )

    @property
    def shop(self) -> Shop:
        return self.catalog.shop

    def code_of(self, text: str) -> str:
        """Return the code of what the owner calls scarce."""
        code = self.goods.find(text)
        if code is None or code in self.goods.sets:
            raise FieldError(f'"{text[:60]}" is no item, box or card.', "Write a code that listkit stock shows.")
        return code

    def free(self) -> dict[str, int]:
        """Return what is free of each code that is counted or in the sheet."""
        return {code: max(0, number) for code, number in sheet_stock(self.shop.items, self.shop.packaging).items()}

    def parts(self, facts: Iterable[SetFacts]) -> tuple[str, ...]:
        """Return the codes of all that some sets are made of, each once."""
        codes = (code for each in facts for variant in each.variants for code, _ in self.goods.parts[variant.code])
        return tuple(dict.fromkeys(codes))

    def scarce(self, facts: Sequence[SetFacts], season: Season) -> str:
        first, last = year_around(season)
        return scarcest(self.parts(facts), self.free(), pieces_gone(self.moves, first, min(last, self.day)))

    def lost(self, season: Season) -> tuple[str, ...]:
        """Return the codes of sets that moved in the year of the season and are in no file any more."""
        first, last = year_around(season)
        moves = (move for move in self.moves if first <= move.day <= last)
        return tuple(dict.fromkeys(move.set for move in moves if move.set and move.set not in self.goods.sets))

    def moved_drafts(self, family: Sequence[Season], season: Season) -> tuple[str, ...]:
        """Return the codes of drafts of a season and those called alike that moved: no figure counts them."""
        drafts = {
            variant.code: each.code
            for each in self.catalog.sets
            if each.season in family and each.source.gift_set.status is SetStatus.DRAFT
            for variant in each.variants
        }
        _, last = year_around(season)
        return tuple(dict.fromkeys(drafts[move.set] for move in self.moves if move.set in drafts and move.day <= last))

    # What went

    def runs(self, facts: Sequence[SetFacts], season: Season) -> tuple[tuple[YearRun, ...], tuple[Sold, ...]]:
        """Return the runs of a season up to the day, the latest first, and all that went in its own year."""
        variants = {variant.code: (each, variant) for each in facts for variant in each.variants}
        sold_of = _Prices(self).sold
        gone = gone_of(self.moves, self.goods, frozenset(variants))
        runs, latest = [], tuple[Sold, ...]()
        for back in range(_MOST_YEARS):
            of_year = Season(
                name=season.name,
                on_sale=years_later(season.on_sale, -back),
                off_sale=years_later(season.off_sale, -back),
            )
            first, last = year_around(of_year)
            there = [each for each in gone if first <= each.day <= min(last, self.day)]
            sold = tuple(sold_of(each, *variants[each.code]) for each in there)
            latest = latest if back else sold
            if there or not back:
                boxes = [variants[each.code][1].box for each in there]
                minutes = sum(
                    (each.number * box.minutes for each, box in zip(there, boxes, strict=True) if box), NOTHING
                )
                takings = sum((each.gone.number * each.price for each in sold), NOTHING)
                kept = sum((each.gone.number * each.kept for each in sold), NOTHING)
                runs.append(YearRun(of_year, sum(each.number for each in there), takings, kept, minutes))
        return tuple(runs), latest

    # What is left

    def left(self, facts: Sequence[SetFacts], season: Season) -> tuple[Left, ...]:
        """Return what is left of all that the season's sets are made of, what is worth most first."""
        free, figures = self.free(), self.shop.stock.figures if self.shop.stock else {}
        alone = {single.code for single in self.shop.singles}
        coming = self._coming(season)
        costs, months = costs_of(self.shop), {item.code: item.shelf_life for item in self.shop.items}
        rows = []
        for code in self.parts(facts):
            if not free.get(code):
                continue
            counted = figures[code].counted_on if code in figures else None
            of_code = [move for move in self.moves if move.code == code]
            first = min((move.day for move in of_code if move.kind == "counted"), default=counted)
            keeps = keeps_until(of_code, free[code], months[code], first) if code in months else Keeps()
            sets = tuple(each.code for each in coming if code in self.parts((each,)))
            name, cost = self.goods.names[code], costs[code]
            row = Left(code, name, number=free[code], cost=cost, keeps=keeps, coming=sets, alone=code in alone)
            rows.append(row)
        return tuple(sorted(rows, key=lambda each: (-each.worth, each.code)))

    def _coming(self, season: Season) -> tuple[SetFacts, ...]:
        """Return the sets that are on sale after a season, drafts too."""
        live = (each for each in self.catalog.sets if each.source.gift_set.sold_as is not Status.CLOSED)
        return tuple(each for each in live if each.season is None or each.season.off_sale > season.off_sale)

    # How to clear it

    def of_leftovers(self, left: Sequence[Left]) -> tuple[SetProposal, ...]:
        """Return the best set with something that no coming set holds, of what is left and of which most is there."""
        rest = {each.code for each in left if not each.coming}
        usable = sorted(
            usable_items(self.shop), key=lambda item: (item.code not in rest, -(item.on_hand or 0), item.code)
        )
        if not any(item.code in rest for item in usable):
            return ()
        wish = Wish(
            count=1,
            sound=lambda facts: (
                bool(rest & {item.code for item in facts.items}) and passes_checks(self.shop, self.day, facts)
            ),
        )
        sold = pieces_gone(self.moves, self.day - datetime.timedelta(364), self.day)
        return propose_sets(self.shop, self.catalog, usable[:_MOST_TRIED], sold, wish).best

    def cuts(self, season: Season) -> Iterator[Cut]:
        """Yield by how much each set that can still be made may go down at each place that sells it."""
        if season.on_sale > self.day:
            return
        for listing in self.listings:
            if listing.offers and listing.facts.can_make != 0:
                yield self._cut(listing.facts, listing.channel)

    def _cut(self, facts: SetFacts, channel: Channel) -> Cut:
        announcing, least = self.shop.settings.announcing, self.shop.settings.prices.lowest_margin
        for percent in _STEPS:
            stated = {"from": self.day, "until": self.day, "by": f"{percent} %"}
            reduction = Reduction.model_validate(stated)
            lowered = reduced_variants(facts.variants, reduction)
            sales = [sale_on(channel, variant, facts, self.shop) for variant in lowered if variant.usual]
            if len(sales) < len(lowered) or min(sale.margin or NOTHING for sale in sales) < least:
                continue
            prices, days = self.histories[channel.key], (announcing.prior_days, announcing.known_days)
            spoken = self.shop.settings.spoken
            said = [
                lawful_reduction(prices.get(each.code, ()), self.day, each.price.amount, *days, spoken=spoken)
                for each in lowered
            ]
            worst = min(said, key=lambda each: each.share)
            share = worst.share if announcing.announce else NOTHING
            price = min((each.price for each in lowered), key=lambda money: money.amount)
            by = Decimal(percent) / 100
            return Cut(facts.code, channel.name, by=by, price=price, share=share, reason=worst.reason)
        reason = "nothing less keeps the lowest margin."
        return Cut(facts.code, channel.name, by=None, price=None, share=NOTHING, reason=reason)


class _Prices:
    """What one of a variant brought and left on a day: by the price that the ledger has, else by today's."""

    def __init__(self, look: _Look) -> None:
        self._shop = look.shop
        self._channels = {channel.key: channel for channel in look.shop.channels}
        self._histories = look.histories
        self._orders = {  # what shops paid for one, by the order's name in the movements and the code
            (f"order {order.number}", str(line["code"])): Decimal(str(line["each"]))
            for order, _ in look.log.orders
            for line in order.facts["lines"]
        }
        self._known: dict[tuple[str, str, Decimal | None], tuple[Decimal, Decimal]] = {}

    def sold(self, gone: Gone, facts: SetFacts, variant: Variant) -> Sold:
        """Return what went, with what one of it brought and left."""
        if gone.place == WHOLESALE:
            each = self._orders.get((gone.note, gone.code))
            price = variant.wholesale.amount if each is None else each
            return Sold(gone, price, price - variant.full_cost.amount, each is not None)
        price_then = _price_on(self._histories.get(gone.place, {}).get(gone.code, ()), gone.day)
        key = gone.place, gone.code, price_then
        if key not in self._known:
            self._known[key] = self._sale(gone.place, price_then, facts, variant)
        return Sold(gone, *self._known[key], price_then is not None)

    def _sale(self, place: str, price: Decimal | None, facts: SetFacts, variant: Variant) -> tuple[Decimal, Decimal]:
        if price is not None:
            usual = variant.prices
            variant = replace(variant, prices=priced(usual.steps, price, usual.net))
        if place in self._channels:
            sale = sale_on(self._channels[place], variant, facts, self._shop)
            return sale.price.amount, sale.kept.amount
        prices = variant.prices
        return prices.price.amount, prices.price.amount - prices.tax.amount - variant.full_cost.amount


def _price_on(points: Sequence[PricePoint], day: datetime.date) -> Decimal | None:
    """Return the price that stood on a day, None where none is on record for it."""
    last = next((point for point in reversed(points) if point.day <= day), None)
    return last.price if last else None
