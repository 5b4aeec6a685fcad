"""Checks of what came and went: codes that are no longer known, days that change nothing, stock below nothing.

What the lines themselves lack was told when they were read. Everything here is to look at: the lines stay as they are,
and the stock is what they add up to.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Final

from listkit.check.alike import digits_of, is_slip, listed
from listkit.check.places import CheckContext
from listkit.compute.movements import batches, goods_of, sheet_stock, standing
from listkit.listing.listings import Listings
from listkit.model.allotment import SHOPS
from listkit.model.making import plan_place
from listkit.model.movements import StockMove
from listkit.problem import Place, Problem, quoted, times

_NAMED: Final = 5


def movement_unknown(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once, with the first codes: their lines are kept."""
    shop = listings.catalog.shop
    if not shop.movements.moves:
        return
    goods, lost = goods_of(listings.catalog), dict[str, StockMove]()
    if shop.left_out.boxes_unread:  # boxes, fills and cards are counted too, by any name
        return
    left_out = {code for folder in shop.folders for code in folder.items}
    waiting = {folder.code for folder in shop.folders} - {facts.code for facts in listings.catalog.listed}
    for move in standing(shop.movements.moves):
        for code in filter(None, (shop.old_codes(move.code), shop.old_codes(move.set))):
            known = code in goods.parts or code in goods.groups or code in left_out
            known = known or any(sign == "-" and code[:at] in waiting for at, sign in enumerate(code))
            if not known and not shop.left_out.may_hold(code):
                lost.setdefault(code, move)
    if lost:
        first = next(iter(lost.values()))
        message = f"{_some(lost)} {'is' if len(lost) == 1 else 'are'} in no file of the shop; the lines are kept."
        hint = "Where a code has another name now, write it under old codes of the item, set or variant."
        yield Problem(shop.movements.place(first.line), "movement-unknown", message, hint)


def place_nearly(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once a place, where it is first named: what is sold at "stal" is taken off nothing that "stall" was given.

    A place may be any, such as a fair that no file here feeds, so a name unlike all is left alone.
    """
    shop = listings.catalog.shop
    keys = {SHOPS, *shop.left_out.channels, *(channel.key for channel in shop.channels)}
    by_name = {channel.name: channel.key for channel in shop.channels}
    named: dict[str, Place] = {}
    for move in standing(shop.movements.moves):
        named.setdefault(move.place, shop.movements.place(move.line))
    for line, row in shop.making.plan:
        named.setdefault(row.place, plan_place(line, "place"))
    for name, place in named.items():
        if not name or name in keys:
            continue
        key = by_name.get(name) or next((key for key in sorted(keys) if _is_nearly(name, key)), "")
        if key:
            hint = f"Write {quoted(key)}, if that is meant."
            yield Problem(place, "place-nearly", f"{quoted(name)} is none of the shop's places.", hint)


def _is_nearly(name: str, key: str) -> bool:
    """Whether a place is one of the shop's with a slip of the pen.

    Another number is another place, and so is another letter where there are two: "uk" is no "us".
    """
    return min(len(name), len(key)) > 2 and digits_of(name) == digits_of(key) and is_slip(name.casefold(), key)


def movement_day(listings: Listings, context: CheckContext) -> Iterator[Problem]:
    """Days to come are told once, and so are days before a count that was there already."""
    shop = listings.catalog.shop
    ahead = [move for move in standing(shop.movements.moves) if move.day > context.today]
    if ahead:
        count, first = "counts" if len(ahead) == 1 else "count", shop.settings.spoken.day(ahead[0].day)
        message = f"{first} is a day to come; {times(len(ahead), 'line')} of such days {count} all the same."
        hint = "Write the day on which it moved, or take it back with listkit stock undo."
        yield Problem(shop.movements.place(ahead[0].line), "movement-day", message, hint)
    late = shop.stock.late if shop.stock else ()
    if late:
        codes = dict.fromkeys(move.code for move in late)
        behind = f"{times(len(late), 'line')} came after a count of {_some(codes)}"
        message = f"{behind} with its day or one before, and change nothing."
        hint = "A count is of the evening: what moved by then is in it. Give them the right day, or count again."
        yield Problem(shop.movements.place(late[0].line), "movement-day", message, hint)


def movement_half(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told of each batch of which lines are missing."""
    movements = listings.catalog.shop.movements
    for state in batches(movements.moves):
        if not state.is_whole:
            there = f"{times(len(state.standing), 'line')} {'is' if len(state.standing) == 1 else 'are'} there"
            message = f"of batch {state.batch} only {there}: adding it, or taking it back, was cut off."
            hint = f"Add its file again, which adds what is missing, or take it back: listkit stock undo {state.batch}."
            yield Problem(movements.place(state.standing[0].line), "movement-torn", message, hint)


def movement_untaken(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once: such a line counts all the same, and so changes what was there; nothing is said where lines lack."""
    movements = listings.catalog.shop.movements
    there, lone = Counter(move for move in movements.moves if not move.takes_back), []
    for move in (each for each in movements.moves if each.takes_back):
        equal = replace(move, takes_back=False)
        if there[equal]:
            there[equal] -= 1
        else:
            lone.append(move)
    if lone and not movements.in_part:
        first = lone[0]
        more, does = len(lone) - 1, "does" if len(lone) == 2 else "do"
        others = f", nor {does} {times(more, 'other line')}" if more else ""
        message = f'"{first.kind_text}" {first.quantity} of {first.code} takes no line back{others}.'
        hint = "Such a line is as the one that it takes back, day, place and note too. Mend it, or take it out."
        yield Problem(movements.place(first.line), "movement-untaken", message, hint)


def stock_uncounted(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once: what moved and goes by the sheet all the same."""
    shop = listings.catalog.shop
    in_sheet = sheet_stock(shop.items, shop.packaging)
    if codes := [code for code in (shop.stock.uncounted if shop.stock else ()) if code in in_sheet]:
        message = (
            f"{_some(codes)} moved and {'was' if len(codes) == 1 else 'were'} never counted: the sheet's number stays."
        )
        hint = "listkit stock start counts all from the sheet, once; then it follows what moves."
        yield Problem(Place(shop.movements.file), "stock-uncounted", message, hint)


def stock_negative(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told of each code; it is taken for nothing meanwhile."""
    shop = listings.catalog.shop
    for figure in shop.stock.figures.values() if shop.stock else ():
        if figure.on_hand < 0:
            message = f"{figure.code} would be {figure.on_hand}: more went than was there."
            hint = (
                "Was something made and not written down, sold twice, or counted wrongly? Count it and add the count."
            )
            yield Problem(Place(shop.movements.file), "stock-negative", message, hint)
        elif figure.free < 0:
            message = f"{figure.reserved} of {figure.code} are reserved, and {figure.on_hand} are on hand."
            yield Problem(
                Place(shop.movements.file), "stock-negative", message, "Make more before the orders are sent."
            )


def stock_sheet(listings: Listings, _context: CheckContext) -> Iterator[Problem]:
    """Told once: the sheet's own numbers are compared and never written."""
    shop = listings.catalog.shop
    figures = shop.stock.figures.values() if shop.stock else ()
    differing = [each for each in figures if each.sheet is not None and each.sheet != each.on_hand]
    if differing:
        words = [f"{each.code}: sheet {each.sheet}, counted and moved {each.on_hand}" for each in differing[:_NAMED]]
        more = f"; and {len(differing) - _NAMED} more" if len(differing) > _NAMED else ""
        hint = (
            "The stock is what was counted and moved. listkit stock shows both; the sheet is yours to bring up to it."
        )
        yield Problem(Place(shop.items_file), "stock-sheet", f"{'; '.join(words)}{more}.", hint)


def _some(codes: Iterable[str]) -> str:
    codes = list(codes)
    more = [f"{len(codes) - _NAMED} more"] if len(codes) > _NAMED else []
    return listed([*codes[:_NAMED], *more])
