"""How many to make: by what too few and too many cost, as last season sold, less what places have sold already."""

import datetime
import math
from bisect import bisect_left, insort
from collections import defaultdict
from collections.abc import Sequence
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
        self.days: dict[tuple[str, str], list[datetime.date]] = defaultdict(list)
        for _, row in shop.making.plan:
            insort(self.days[row.set_or_item, row.place], row.by_when)
        sales: dict[tuple[datetime.date, str], list[StockMove]] = defaultdict(list)
        for move in standing(shop.movements.moves) if shop.making.plan else ():
            if move.kind == "sold" and move.day <= today:
                now = replace(move, code=shop.old_codes(move.code), set=shop.old_codes(move.set))
                sales[move.day, move.place].append(now)
        self.left: dict[str, dict[tuple[datetime.date, str], int]] = defaultdict(dict)
        self.at: dict[tuple[str, str], list[tuple[datetime.date, str]]] = defaultdict(list)  # "" is any place
        for at, moves in sorted(sales.items(), key=lambda each: each[0]):
            for code, number in sets_moved(moves, goods).items():
                self.left[code][at] = number
                for place in {at[1], ""}:
                    self.at[code, place].append(at)

    def take(self, line: int, row: PlanRow, codes: Sequence[str], asked: int) -> SoldAlready | None:
        """Return what is sold of a row that asks for so many of `codes`, which counts for no other; None of nothing."""
        since, sold = self._since(row), 0
        if since is None:
            return None
        for code in codes:
            left, days = self.left.get(code, {}), self.at.get((code, row.place), [])
            first = last = bisect_left(days, (since, ""))
            while last < len(days) and sold < asked:
                taken = min(left[days[last]], asked - sold)
                left[days[last]] -= taken
                sold += taken
                last += 1
            days[first:last] = [at for at in days[first:last] if left[at]]
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


# A plan proposed from last season.


def proposed(
    catalog: Catalog, today: datetime.date, share: Decimal
) -> tuple[tuple[PlanRow, ...], tuple[tuple[Season, datetime.date, datetime.date], ...]]:
    """Return a plan row for each set and piece that sold in a season's days of last year, times `share`, rounded up.

    The seasons are those that end on the day or later; beside the rows come those that were looked at, with the days.

    Raises:
        FieldError: it would be more of something than a plan takes.
    """
    shop, goods = catalog.shop, goods_of(catalog)
    rows: list[PlanRow] = []
    looked = []
    for season in shop.settings.seasons:
        if season.off_sale < today:
            continue
        first, last = years_later(season.on_sale, -1), years_later(season.off_sale, -1)
        looked.append((season, first, last))
        codes = _codes_in(catalog, season.name)
        moves = [move for move in standing(shop.movements.moves) if move.kind == "sold" and first <= move.day <= last]
        for place in dict.fromkeys(move.place for move in moves):
            sold = sets_moved(
                (
                    replace(move, code=shop.old_codes(move.code), set=shop.old_codes(move.set))
                    for move in moves
                    if move.place == place
                ),
                goods,
            )
            for code in sorted(set(sold) & codes):
                how_many = math.ceil(sold[code] * Fraction(share))
                if how_many > _MOST:
                    message = f"{share_text(share)} of the {sold[code]} of {code} that sold are more than a plan takes."
                    raise FieldError(message, "Ask for less, or mend what movements.csv says of it.")
                if how_many > 0:
                    rows.append(
                        PlanRow(set_or_item=code, place=place, how_many=how_many, by_when=max(today, season.on_sale))
                    )
    return tuple(rows), tuple(looked)


def _codes_in(catalog: Catalog, season: str) -> frozenset[str]:
    return frozenset(
        variant.code
        for facts in catalog.sets
        if facts.season and facts.season.name == season
        for variant in facts.variants
    )
