"""Market day and post day: the papers of a day at a stall, with the sheet to type into, and of a day's parcels.

Files go into out/print/asked/, as all that is asked for. Of buyers' orders their numbers and codes are on the list;
their words go on their cards alone, and are kept nowhere.
"""

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from listkit.actions.prints import FOLDER, Printed, already_there, of_orders, print_cards, unknown_row, written
from listkit.compute.catalog import Catalog, SetFacts, Variant
from listkit.compute.market import OnSale, market_plan
from listkit.compute.movements import Goods, goods_of
from listkit.listing.cells import text_cell
from listkit.listing.day_words import DayWords, day_words
from listkit.listing.print_words import voice_in
from listkit.model.channel import Channel, Dialect
from listkit.model.labels import CardWish
from listkit.pipeline import Checked, find_place
from listkit.problem import FieldError, Level, Place, Problem, must_fix
from listkit.read.asked_tables import MOST_COPIES, read_counts, read_parcels
from listkit.read.folder import SHOP
from listkit.read.source import Given
from listkit.save.asked import asked_files, asked_folder
from listkit.write.asked_pages import Pages, label_kinds, packing_pages, sheets_of_all
from listkit.write.csv_feed import CsvForm, table_fault, write_table
from listkit.write.day_pages import MarketDay, PostParcel, market_layout, market_rows, post_layout
from listkit.write.print import Layout, print_pdf, verify_pdf

_NAMED: Final = 6
_NOT_THERE: Final = ("SoldOut", "OutOfStock", "PreOrder")
_SHEET: Final = Dialect(byte_order_mark=True)  # so that spreadsheets see that it is in UTF-8


@dataclass(frozen=True, slots=True)
class MarketRequest:
    """What is asked for: the place by its key or name, the day, and the owner's own numbers."""

    place: str
    day: datetime.date
    counts: Given | None = None


@dataclass(frozen=True, slots=True)
class MarketPlanned:
    """What would be taken to a market of all that is on sale there, and what is told of the owner's own numbers.

    There is no `market` where these are wrong.
    """

    on_sale: tuple[OnSale, ...]
    market: MarketDay | None
    problems: tuple[Problem, ...] = ()


def plan_for_market(checked: Checked, request: MarketRequest) -> MarketPlanned:
    """Return what to take to a market.

    Raises:
        FieldError: there is no such channel, nothing is sold there on the day, or nothing is free to take.
    """
    channel = checked.channel(find_place(checked, request.place))
    if channel is None:
        raise FieldError("what shops order is no market.", "Name a channel with --place.")
    goods, on_sale = goods_of(checked.catalog), tuple(_on_sale(checked, channel))
    if not on_sale:
        message = f"nothing is on sale at {channel.name}."
        raise FieldError(message, "See what listkit check says of its sets and seasons.")
    asked, problems = _asked(request, goods, on_sale)
    if must_fix(problems):
        return MarketPlanned(on_sale, None, tuple(problems))
    counts = {code: number for code, (number, _) in asked.items()} if request.counts is not None else None
    moves = checked.shop.movements.moves
    plan = market_plan(on_sale, moves, goods, place=channel.key, day=request.day, most=MOST_COPIES, counts=counts)
    if not any(line.take for line in plan.lines):
        message = f"nothing is free to take to {channel.name}."
        raise FieldError(message, "Make more, hold less back, or write what was made with listkit stock add.")
    for line in plan.lines:
        if counts is not None and line.take < line.wanted:
            message = f"{line.on_sale.code}: {line.wanted} are wanted, {line.take} can be had."
            place = asked[line.on_sale.code][1]
            problems.append(Problem(place, "print-asked", message, "The page has what can be had.", Level.LOOK_AT))
    market = MarketDay(plan, channel, request.day, stated=counts is not None)
    return MarketPlanned(on_sale, market, tuple(problems))


def print_market(checked: Checked, request: MarketRequest, out: Path) -> Printed:
    """Print the page to take along and write the sheet to type into; nothing where anything must be fixed.

    Raises:
        FieldError: there is no plan, or a file cannot be read or written.
    """
    planned, words = plan_for_market(checked, request), _words(checked)
    market = planned.market
    if market is None:
        return Printed((), 0, planned.problems)
    stem = f"{FOLDER}/market-{market.channel.key}-{request.day}"
    paths = (f"{stem}.pdf", f"{stem}.csv")
    form = CsvForm.of(_SHEET)
    safe = text_cell(_SHEET)
    rows = [tuple(map(safe, row)) for row in market_rows(market, words.market, checked.shop.settings.language)]
    with asked_folder(out, checked.shop.root, paths) as folder, asked_files(folder, paths) as (page, sheet):
        replaced = already_there(folder, paths)
        _print_page(page, paths[0], market_layout(market, checked.shop, words.market))
        write_table(sheet, rows, form)
        if fault := table_fault(sheet, rows, form):
            raise FieldError(f"{paths[1]} does not read back as it was written: {fault}")
    return Printed(paths, sum(line.take for line in market.plan.lines), planned.problems, replaced)


def _words(checked: Checked) -> DayWords:
    words = day_words(checked.shop.templates, checked.shop.settings.language)[0]
    if words is None:
        language = checked.shop.settings.language
        hint = f"Write templates/day/{language}.toml in the shop folder; those of other languages show how."
        raise FieldError(f"there are no words for market and post day in {language}.", hint)
    return words


def _on_sale(checked: Checked, channel: Channel) -> Iterator[OnSale]:
    """Yield what the channel sells on the day: packed sets, then single pieces, as its listings have them."""
    listings = sorted(checked.listings_of(channel.key), key=lambda listing: listing.facts.is_single)
    for listing in listings:
        for offer in listing.offers:
            if offer.availability not in _NOT_THERE:
                yield OnSale(listing.facts, offer.variant, offer.stock)


def _asked(
    request: MarketRequest, goods: Goods, on_sale: Sequence[OnSale]
) -> tuple[dict[str, tuple[int, Place]], list[Problem]]:
    """Return the owner's own numbers by code, each with the row that says it, and what is wrong with them."""
    if request.counts is None:
        return {}, []
    rows, problems = read_counts(request.counts.name, request.counts.content)
    codes = tuple(each.code for each in on_sale)
    asked: dict[str, tuple[int, Place]] = {}
    for row in rows:
        code = goods.find(row.code) or row.code
        if code not in codes:
            problems.append(unknown_row(row, codes, "offer"))
        asked[code] = asked.get(code, (0, row.place))[0] + row.quantity, row.place
    return asked, problems


def _print_page(part: Path, path: str, layout: Layout) -> None:
    print_pdf(part, layout)
    if fault := verify_pdf(part, print_pdf, ()):
        raise FieldError(f"{path} does not read back as it was written: {fault}")


# Post day


def print_post(checked: Checked, orders: Given, out: Path) -> Printed:
    """Print the papers of a day's orders, all in the order of the table: list, packing cards, labels, message cards.

    A card whose words do not go on it is told, and all else is printed.

    Raises:
        FieldError: the shop has no such papers, or a file cannot be read or written.
    """
    words, catalog = _words(checked), checked.catalog
    voice = voice_in(checked.shop, checked.shop.settings.language)[0]
    if voice is None:
        raise FieldError(f"there are no words for labels in {checked.shop.settings.language}.", "See listkit check.")
    wishes, problems = read_parcels(orders.name, orders.content)
    goods, sold = goods_of(catalog), _sold(catalog)
    parcels: list[PostParcel] = []
    for wish, quantity in wishes:
        code = goods.find(wish.code) or wish.code
        if code not in sold:
            problems.append(_not_sold(wish, code, goods, tuple(sold)))
            continue
        facts, variant = sold[code]
        parcels.append(PostParcel(wish.order, facts, variant, quantity, card=bool(wish.words.strip())))
    if must_fix(problems) or not parcels:
        return Printed((), 0, tuple(problems))
    cards = tuple(wish for wish, _ in wishes if wish.words.strip())
    numbers = tuple(parcel.order for parcel in parcels)
    messages = print_cards(cards, checked, out, voice, orders=numbers) if cards else Printed((), 0, ())
    problems += messages.problems
    codes = [parcel.variant.code for parcel in parcels for _ in range(parcel.quantity)]
    boxed = [parcel for parcel in parcels for _ in range(parcel.quantity) if not parcel.facts.is_single]
    pages = [Pages("post-list.pdf", post_layout(parcels, checked.shop, words, checked.day))]
    carded = tuple(parcel.variant.code for parcel in boxed)
    pages += packing_pages(catalog, carded, voice, numbers=tuple(parcel.order for parcel in boxed))
    labels = label_kinds(checked.listings)
    at = {code: place for place, code in enumerate(code for kind in labels for code in kind.codes)}
    pages += sheets_of_all(labels, tuple(at[code] for code in codes if code in at), 0, checked.shop, voice)
    made = written(of_orders(pages, numbers), checked, out, frozenset(codes))
    problems += [Problem(Place(SHOP), "print-asked", fault.message, fault.hint) for fault in made.short]
    replaced = (*made.replaced, *messages.replaced)
    return Printed((*made.files, *messages.files), len(codes), tuple(problems), replaced)


def _sold(catalog: Catalog) -> dict[str, tuple[SetFacts, Variant]]:
    """Return all that can be sent, by its code: variants of sets, and single pieces that are listed alone."""
    return {variant.code: (facts, variant) for facts in catalog.listed for variant in facts.variants}


def _not_sold(wish: CardWish, code: str, goods: Goods, codes: tuple[str, ...]) -> Problem:
    if variants := goods.groups.get(code):
        message, hint = f"{code} has choices.", f"Write which one it is: {', '.join(variants[:_NAMED])}."
    elif code in goods.parts and code not in goods.sets:
        message, hint = (
            f"{code} is listed alone nowhere.",
            "List it in [singles] of shop.toml, or write the set it is in.",
        )
    else:
        message = f'there is no set or single piece "{wish.code[:60]}".'
        hint = f"There are {', '.join(codes[:_NAMED])} and others."
    return Problem(wish.place, "print-asked", message, hint)
