"""The papers of market day and post day: layouts and what they show, and the sheet to type into after the market."""

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from decimal import Decimal
from typing import Any, Final

from listkit.compute.catalog import SetFacts, Variant
from listkit.compute.freight import postage
from listkit.compute.market import MarketPlan, TakeLine
from listkit.listing.day_words import DayWords, MarketWords, market_headings
from listkit.listing.formats import list_text, weight_text
from listkit.listing.sentences import fill
from listkit.listing.words import size_text
from listkit.model.channel import Channel
from listkit.model.shop import Shop
from listkit.units.money import Money
from listkit.units.spoken import date_text, half_up, money_text
from listkit.units.weight import Weight
from listkit.write.print import Layout, layout_with, own_head

MARKET: Final = ("day/market.typ", "print/common.typ")
POST: Final = ("day/post.typ", "print/common.typ")
_LARGE: Final = 24  # lines of a market page that go on it in larger type


def _page(shop: Shop, title: str, running: str) -> dict[str, Any]:
    """Return the head without the address: she knows her own, and rows need the room."""
    return {**own_head(shop, title), "postal": "", "running": running}


# Market day


@dataclass(frozen=True, slots=True)
class MarketDay:
    """A plan with the place and day that it is for; `stated` says that the owner wrote the numbers herself."""

    plan: MarketPlan
    channel: Channel
    day: datetime.date
    stated: bool


def market_layout(market: MarketDay, shop: Shop, spoken: MarketWords) -> Layout:
    """Return the page to take along."""
    plan, language = market.plan, shop.settings.language
    taken = [line for line in plan.lines if line.take]
    day = date_text(market.day, language)
    facts = {
        **_page(shop, spoken.title, f"{spoken.title} · {market.channel.name} · {day}"),
        "head": [(spoken.place, market.channel.name), (spoken.day, day)],
        "why": _why(market, spoken, language),
        "words": asdict(spoken),
        "size": "large" if len(taken) <= _LARGE else "small",
        "lines": [_line(line, language) for line in taken],
        "short": [
            fill(spoken.short, code=line.on_sale.code, wanted=str(line.wanted), take=str(line.take))
            for line in plan.lines
            if line.take < line.wanted and market.stated
        ],
        "together": fill(spoken.together, sets=str(plan.sets), pieces=str(plan.pieces)),
        "also": list(_also(market, spoken, shop, len(taken))),
        "crates": [
            fill(spoken.crate_of, number=str(number), weight=_heavy(weight, shop))
            for number, weight in enumerate(plan.crates, 1)
        ],
        "currency": shop.settings.currency,
    }
    return layout_with(shop, MARKET, facts, day=market.day)


def _heavy(weight: Weight, shop: Shop) -> str:
    """Return the weight of a crate: to a tenth of a kilogram, or in pounds."""
    if shop.settings.measures.customary:
        return shop.settings.measures.weight(weight, rounded=True)
    return weight_text(Weight(half_up(weight.grams / 100, 0) * 100), shop.settings.language, unit="kg")


def _why(market: MarketDay, spoken: MarketWords, language: str) -> str:
    if market.stated:
        return spoken.counted
    days = tuple(date_text(day, language, style="medium") for day in market.plan.like_days)
    return fill(spoken.like_days, days=list_text(days, language)) if days else spoken.evenly


def _line(line: TakeLine, language: str) -> dict[str, str]:
    variant, facts = line.on_sale.variant, line.on_sale.facts
    return {
        "crate": _crates(line.crates),
        "code": line.on_sale.code,
        "name": facts.name,
        "more": _more(variant, facts, language),
        "free": "" if line.on_sale.most is None else str(line.on_sale.most),
        "take": str(line.take),
    }


def _crates(numbers: Sequence[int]) -> str:
    """Return in which crates a line lies, which are filled one after the other.

    >>> _crates((1, 2)), _crates((3, 4, 5)), _crates(())
    ('1, 2', '3–5', '')
    """
    return f"{numbers[0]}–{numbers[-1]}" if len(numbers) > 2 else ", ".join(map(str, numbers))


def _more(variant: Variant, facts: SetFacts, language: str) -> str:
    """Return what tells this one apart: the choices of a set, the size of a single piece."""
    if facts.is_single:
        return size_text(variant.pieces[0].item, language)
    return ", ".join(choice.says for choice in variant.choices)


def _also(market: MarketDay, spoken: MarketWords, shop: Shop, lines: int) -> Iterator[str]:
    plan = market.plan
    yield from (fill(spoken.boxes, count=str(number), code=code) for code, number in plan.boxes)
    yield fill(spoken.bags, count=str(plan.sets + -(-plan.pieces // 2)))  # two single pieces a bag; no source
    if plan.cards:
        yield fill(spoken.cards, count=str(plan.cards))
    if shop.settings.cards is not None:
        yield fill(spoken.price_cards, count=str(lines))
    if plan.scents:
        yield fill(spoken.testers, scents=list_text(plan.scents, shop.settings.language))


def market_rows(market: MarketDay, spoken: MarketWords, language: str) -> Iterator[tuple[str, ...]]:
    """Yield the rows of the sheet to type into, the headings first; taken along is what the page says."""
    yield tuple(heading for heading, _ in market_headings(spoken))
    for line in market.plan.lines:
        if line.take:
            more = _more(line.on_sale.variant, line.on_sale.facts, language)
            name = ", ".join(filter(None, (line.on_sale.facts.name, more)))
            day, take = market.day.isoformat(), str(line.take)
            yield (day, market.channel.key, line.on_sale.code, name, take, take, "", "", "", "", "")


# Post day


@dataclass(frozen=True, slots=True)
class PostParcel:
    """One row of a day's orders: so many of one code, each in a parcel of its own."""

    order: str
    facts: SetFacts
    variant: Variant
    quantity: int
    card: bool


def post_layout(parcels: Sequence[PostParcel], shop: Shop, spoken: DayWords, day: datetime.date) -> Layout:
    """Return the list of a day's parcels, in the order in which their papers are."""
    post, language = spoken.post, shop.settings.language
    rows, total = [], Decimal(0)
    for parcel in parcels:
        services, weight = _services(parcel, shop), parcel.variant.weights.parcel or parcel.variant.weights.gift
        cheapest = min(services, key=lambda service: service[1], default=None)
        total += cheapest[1] * parcel.quantity if cheapest else Decimal(0)
        no_carton = parcel.variant.weights.parcel is None
        shown = [f"{name} {_money(price, shop)}" for name, price in services]
        rows.append({
            "order": parcel.order,
            "code": parcel.variant.code,
            "name": ", ".join(filter(None, (parcel.facts.name, _more(parcel.variant, parcel.facts, language)))),
            "count": str(parcel.quantity),
            "card": post.yes if parcel.card else "",
            "weight": shop.settings.measures.weight(weight, rounded=True),
            "postage": shown or [post.no_carton if no_carton else post.no_service if shop.rates else ""],
        })  # fmt: skip
    orders = len(dict.fromkeys(parcel.order for parcel in parcels))
    count = sum(parcel.quantity for parcel in parcels)
    facts = {
        **_page(shop, post.title, f"{post.title} · {date_text(day, language)}"),
        "head": [(post.day, date_text(day, language))],
        "words": asdict(post),
        "rows": rows,
        "together": fill(post.together, orders=str(orders), parcels=str(count), sum=_money(total, shop)),
    }
    return layout_with(shop, POST, facts, day=day)


def _services(parcel: PostParcel, shop: Shop) -> list[tuple[str, Decimal]]:
    """Return what each service asks for one parcel, by rates.csv, with its zone where there are several."""
    zones = {rate.zone for rate in shop.rates}
    asked = postage(parcel.variant.weights, parcel.variant.carton, shop.rates, shop.settings.freight.packet)
    return [(f"{each.service} ({each.zone})" if len(zones) > 1 else each.service, each.price.amount) for each in asked]


def _money(amount: Decimal, shop: Shop) -> str:
    return money_text(Money(amount, shop.settings.currency).amount, shop.settings.currency, shop.settings.language)
