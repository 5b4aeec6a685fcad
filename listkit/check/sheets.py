"""Checks of line sheets in other hands: who holds a stale one, and what the sheet says that is no longer so."""

import datetime
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace

from listkit.check.alike import counted, listed
from listkit.check.context import CheckContext
from listkit.check.gtins import only_piece
from listkit.check.places import WHOLESALE, item_place, set_place
from listkit.compute.sheets import GivenOut, SheetHistory
from listkit.compute.wholesale import SheetEntry, SheetLine, build_sheet, moves_since
from listkit.listing.listings import Listing, Listings
from listkit.model.item import Item
from listkit.model.wholesale import Stockist
from listkit.problem import Level, Place, Problem
from listkit.units.money import Money

STOCKISTS = "stockists.csv"


def stockist_stale(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once a version that somebody holds and that no longer counts, naming all who hold it."""
    history = context.sheets
    held: dict[str, list[Stockist]] = defaultdict(list)
    for stockist in listings.catalog.shop.stockists:
        if (version := version_of(stockist.sheet)) and version != history.current:
            held[version].append(stockist)
    for version, holders in held.items() if history.current else ():
        one = history.find(version)
        if one is not None and _stands(one, history, context):
            continue
        place = Place(STOCKISTS, row=holders[0].code, column="sheet")
        who = f"{listed([one.name for one in holders])} {'holds' if len(holders) == 1 else 'hold'} {version}"
        hint = f"Send {history.current}, the one of today, and write that here."
        yield Problem(place, "stockist-stale", f"{who}, {_why(one, history)}.", hint)


def version_of(text: str) -> str:
    """Return the version code in a cell, which may hold the sheet's whole name."""
    return text.strip().upper().removesuffix(".PDF").rpartition("-")[2].strip()


def _stands(one: GivenOut, history: SheetHistory, context: CheckContext) -> bool:
    """Whether a sheet still counts: the last that was given out, its prices not ended, while a newer one is made."""
    ended = one.valid_until is not None and one.valid_until < context.today
    return not ended and one.version == history.given_out[-1].version


def _why(one: GivenOut | None, history: SheetHistory) -> str:
    if one is None:
        return "which is no version that was recorded"
    if one.version == history.given_out[-1].version:
        return f"whose prices held until {one.valid_until}"
    return f"recorded on {one.recorded}, which {history.given_out[-1].version} replaced"


def sheet_older(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Two sheets of one day that name unlike prices cannot be told apart by those who hold them."""
    sheet, previous = build_sheet(listings.catalog), context.sheets.previous
    if sheet is None or previous is None or previous.issued is None or sheet.terms.issued is None:
        return
    moved = [move for move in moves_since(sheet, previous) if move.old is not None]
    if moved and sheet.terms.issued <= previous.issued:
        first = moved[0]
        more = f", and {counted(len(moved) - 1, 'other price')} moved" if len(moved) > 1 else ""
        was = f"{first.code} was {first.old} and is {first.new} now{more}"
        message = f"the sheet is of {sheet.terms.issued}, older than its prices: on {previous.version} {was}."
        later = max(context.today, previous.issued + datetime.timedelta(1))
        hint = f"Write the day of the new one: issued = {later}."
        yield Problem(Place(WHOLESALE, key=("issued",)), "sheet-older", message, hint)


def arrival_short(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Told once an item that a line of the sheet is or holds; what is past its time when it is sent must be mended.

    What is short-lived for anybody is told as such, and not once more.
    """
    anyway = context.thresholds["shelf-life-short"]
    sheet, least = build_sheet(listings.catalog), int(context.thresholds["arrival-short"])
    if sheet is None:
        return
    shop, oldest = listings.catalog.shop, sheet.terms.oldest or 0
    pieces = {piece.item.code: piece.item for line in sheet.lines for piece in line.pieces}
    for item in pieces.values():
        if item.shelf_life is None or item.shelf_life - oldest >= least:
            continue
        left = max(0, item.shelf_life - oldest)
        if left and item.shelf_life < anyway:
            continue
        age = f", being up to {counted(oldest, 'month')} old" if oldest else ""
        message = f"{item.code} keeps {counted(left, 'month')} when it reaches a shop{age}; {least} are usual."
        hint = "Send it fresher and say so (oldest in wholesale.toml), or take it off the sheet."
        problem = Problem(item_place(shop, item, "shelf_life"), "arrival-short", message, hint)
        yield replace(problem, own_level=Level.MUST_FIX) if not left else problem


def retail_unlike(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Our own usual prices alone are looked at: what a shop asks is the shop's to say. Told once a line.

    A reduction is told to stockists by its own check.
    """
    sheet = build_sheet(listings.catalog)
    if sheet is None:
        return
    lines = {line.code: (entry, line) for entry in sheet.entries for line in entry.lines}
    told: set[str] = set()
    for listing in listings:
        for code, price in _public(listing) if listing.country == listings.catalog.shop.settings.country else ():
            entry, line = lines.get(code, (None, None))
            if entry is None or line is None or price == line.retail or code in told or _other(entry, listing):
                continue
            told.add(code)
            yield _unlike(listings, listing, entry, (line, price))


def _other(entry: SheetEntry, listing: Listing) -> bool:
    """Whether a set of another folder has the same code, which is told elsewhere."""
    return entry.facts is not None and entry.facts.source.folder != listing.folder


def _public(listing: Listing) -> Iterator[tuple[str, Money]]:
    """Yield what each variant usually costs, and each item that a variant alone is."""
    for offer in listing.offers:
        yield offer.variant.code, offer.usual_price
        if (item := only_piece(listing.facts, offer.variant)) is not None:
            yield item.code, offer.usual_price


def _unlike(listings: Listings, listing: Listing, entry: SheetEntry, priced: tuple[SheetLine, Money]) -> Problem:
    line, price = priced
    message = f"the line sheet suggests {line.retail} for {line.code}, and {listing.channel.name} asks {price}."
    hint = "Buyers compare: let both say one price, or take the line off the sheet."
    item: Item | None = entry.item
    place = item_place(listings.catalog.shop, item, "retail") if item else set_place(listing.facts, "code")
    return Problem(place, "retail-unlike", message, hint)
