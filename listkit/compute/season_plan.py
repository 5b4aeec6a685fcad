"""How many to make: by what too few and too many cost, as last season sold, less what places have sold already."""

import datetime
import math
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from itertools import accumulate
from statistics import NormalDist
from typing import Final

from listkit.compute.catalog import Catalog
from listkit.compute.movements import Goods, goods_of, sets_moved, standing
from listkit.compute.season_end import years_later
from listkit.model.making import Likely, PlanRow
from listkit.model.movements import StockMove
from listkit.model.settings import Season
from listkit.model.shop import Shop
from listkit.problem import FieldError
from listkit.units.quantity import share_text

_NEARLY_ALL: Final = 1 - Fraction(1, 10**12)  # a share that no float tells from all
_MOST: Final = 999_999_999  # of a row: nine digits
_FINE: Final = 9  # digits to which a quantile is trusted before it is rounded up


@dataclass(frozen=True, slots=True)
class Advice:
    """How many to make where one too few costs `under` and one too many `over`: the share of years to be enough for.

    `quantity` is None where there is no end to it: nothing left over costs anything, and any number may be asked for.
    """

    under: Decimal
    over: Decimal
    share: Fraction
    quantity: int | None


def enough_share(under: Decimal, over: Decimal) -> Fraction:
    """Return under ÷ (under + over), exact: of so many seasons the best number is enough; 0 where nothing is lost.

    The newsvendor's critical fraction; see the tests for published examples.
    """
    return Fraction(under) / (Fraction(under) + Fraction(over)) if under > 0 else Fraction(0)


def season_quantity(likely: Likely, share: Fraction) -> int | None:
    """Return the least number of pieces that is enough with this share; None where no number is."""
    if not share:
        return 0
    if likely.steps:
        reached = accumulate(Fraction(part) for _, part in likely.steps)
        return next(number for (number, _), so_far in zip(likely.steps, reached, strict=True) if so_far >= share)
    if likely.low is not None:
        return math.ceil(likely.low + (likely.high - likely.low) * share)
    mean = likely.mean or Decimal(0)
    if not likely.spread:
        return math.ceil(mean)
    if share > _NEARLY_ALL:
        return None
    quantile = NormalDist(float(mean), float(likely.spread)).inv_cdf(float(share))
    return max(0, math.ceil(round(quantile, _FINE)))


def advice_of(row: PlanRow) -> Advice | None:
    """Return how many to make of a row that says what too few and too many cost, and what may be asked for."""
    if row.sold_out is None or row.left_over is None or row.likely is None:
        return None
    under, over = row.sold_out.amount, row.left_over.amount
    share = enough_share(under, over)
    return Advice(under, over, share, season_quantity(row.likely, share))


# What a place has sold already.


@dataclass(frozen=True, slots=True)
class SoldAlready:
    """Of a row of the plan: how many of what it asks for its place has sold already, since a day, that day included."""

    line: int
    code: str
    place: str
    asked: int
    sold: int
    since: datetime.date

    @property
    def wanted(self) -> int:
        """How many are still wanted."""
        return self.asked - self.sold


class SoldSoFar:
    """Sales at places, counted for the rows of the plan that they were made for.

    A sale counts for one row at most, and for none of those whose day is before it: from the day after the row before
    of the same code and place; of the first one from the day on which the set's season begins, of an item the latest
    season that holds the row's day. Where neither says when the plan began nothing is taken off, for the sales might be
    last year's.
    """

    def __init__(self, catalog: Catalog, goods: Goods, today: datetime.date) -> None:
        shop = catalog.shop
        self.seasons = shop.settings.seasons
        self.of_sets = {
            code: facts.season
            for facts in catalog.sets
            for code in (facts.code, *(variant.code for variant in facts.variants))
        }
        days: dict[tuple[str, str], set[datetime.date]] = defaultdict(set)
        for _, row in shop.making.plan:
            days[row.set_or_item, row.place].add(row.by_when)
        self.days = {key: sorted(those) for key, those in days.items()}
        by_day: dict[tuple[datetime.date, str], list[StockMove]] = defaultdict(list)
        for move in standing(shop.movements.moves) if shop.making.plan else ():
            if move.kind == "sold" and move.day <= today:
                now = replace(move, code=shop.old_codes(move.code), set=shop.old_codes(move.set))
                by_day[move.day, move.place].append(now)
        sales: dict[tuple[str, str], list[_Sales]] = defaultdict(list)  # of each code at a place, and at "" of all
        for (day, place), moves in sorted(by_day.items()):
            for code, number in sets_moved(moves, goods).items():
                sold = _Sales(day, number)
                for where in {"", place}:
                    sales[code, where].append(sold)
        self.sales = {key: _NotCounted(those) for key, those in sales.items()}

    def take(self, line: int, row: PlanRow, codes: Sequence[str], asked: int) -> SoldAlready | None:
        """Return what is sold of a row that asks for so many of `codes`, which counts for no other; None of nothing."""
        since, sold = self._since(row), 0
        if since is None:
            return None
        for code in codes:
            sales = self.sales.get((code, row.place))
            for each in sales.since(since) if sales else ():
                if sold == asked:
                    break
                taken = min(each.left, asked - sold)
                each.left -= taken
                sold += taken
        return SoldAlready(line, row.set_or_item, row.place, asked=asked, sold=sold, since=since) if sold else None

    def _since(self, row: PlanRow) -> datetime.date | None:
        days = self.days[row.set_or_item, row.place]
        if earlier := bisect_left(days, row.by_when):
            return days[earlier - 1] + datetime.timedelta(1)
        season = self.of_sets.get(row.set_or_item)
        if season is not None:
            return season.on_sale
        holding = [each.on_sale for each in self.seasons if each.on_sale <= row.by_when <= each.off_sale]
        return max(holding, default=None)


@dataclass(slots=True)
class _Sales:
    """What was sold of a code on a day at a place, as far as it counts for no row yet."""

    day: datetime.date
    left: int


class _NotCounted:
    """Sales in the order of their days; those of which nothing is left are stepped over together."""

    def __init__(self, sales: list[_Sales]) -> None:
        self._sales = sales
        self._days = [each.day for each in sales]
        self._next = list(range(1, len(sales) + 1))

    def since(self, day: datetime.date) -> Iterator[_Sales]:
        """Yield the sales of a day and later of which anything is left."""
        at = self._left_from(bisect_left(self._days, day))
        while at < len(self._sales):
            yield self._sales[at]
            at = self._left_from(at + 1)

    def _left_from(self, at: int) -> int:
        gone = []
        while at < len(self._sales) and not self._sales[at].left:
            gone.append(at)
            at = self._next[at]
        for each in gone:
            self._next[each] = at
        return at


# A plan proposed from last season.


def proposed(
    catalog: Catalog, today: datetime.date, share: Decimal
) -> tuple[tuple[PlanRow, ...], tuple[tuple[Season, datetime.date, datetime.date], ...]]:
    """Return a plan row for each set and piece that sold in a season's days of last year, times `share`, rounded up.

    The seasons are those that end on the day or later, and not before they begin, which is told; beside the rows come
    those that were looked at, with the days.

    Raises:
        FieldError: it would be more of something than a plan takes.
    """
    shop, goods = catalog.shop, goods_of(catalog)
    rows: list[PlanRow] = []
    looked = []
    sold_of = _sold_of(shop)
    for season in shop.settings.seasons:
        if season.off_sale < max(today, season.on_sale):
            continue
        first, last = years_later(season.on_sale, -1), years_later(season.off_sale, -1)
        looked.append((season, first, last))
        by_place: dict[str, list[StockMove]] = defaultdict(list)
        of_season = (sold for code in _codes_in(catalog, season.name) for sold in sold_of.get(code, ()))
        for _, move in sorted(of_season, key=lambda sold: sold[0]):
            if first <= move.day <= last:
                by_place[move.place].append(move)
        for place, moves in by_place.items():
            for code, number in sorted(sets_moved(moves, goods).items()):
                how_many = math.ceil(number * Fraction(share))
                if how_many > _MOST:
                    message = f"{share_text(share)} of the {number} of {code} that sold are more than a plan takes."
                    raise FieldError(message, "Ask for less, or mend what movements.csv says of it.")
                if how_many > 0:
                    rows.append(
                        PlanRow(set_or_item=code, place=place, how_many=how_many, by_when=max(today, season.on_sale))
                    )
    return tuple(rows), tuple(looked)


def _sold_of(shop: Shop) -> Mapping[str, list[tuple[int, StockMove]]]:
    """Return what was sold of each code, with its place among all that was."""
    sold_of: dict[str, list[tuple[int, StockMove]]] = defaultdict(list)
    for at, move in enumerate(standing(shop.movements.moves)):
        if move.kind == "sold":
            now = replace(move, code=shop.old_codes(move.code), set=shop.old_codes(move.set))
            sold_of[now.set or now.code].append((at, now))
    return sold_of


def _codes_in(catalog: Catalog, season: str) -> frozenset[str]:
    return frozenset(
        variant.code
        for facts in catalog.sets
        if facts.season and facts.season.name == season
        for variant in facts.variants
    )
