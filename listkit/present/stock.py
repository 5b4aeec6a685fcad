"""The stock as text and as JSON: what is on hand, reserved and free, what each line did, before and after."""

import datetime
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any

from listkit.actions.stock import Added, StockShop
from listkit.compute.movements import batches, count_worth, sets_moved, sheet_stock
from listkit.model.movements import BatchState, CountVariance, Stock, StockFigure, StockMove, sums_by_kind
from listkit.present.problems import problems_json
from listkit.present.table import DASH, percent, table
from listkit.problem import times
from listkit.read.wording import listed

_MOST_BATCHES = 8


def stock_lines(stock: StockShop) -> Iterator[str]:
    """Yield the table of all that was counted, what goes by the sheet, what counts differed by, the last batches."""
    figures = stock.stock().figures
    known = stock.shop.stock or Stock()
    codes = [code for code in stock.goods.parts if code in figures] + [
        code for code in figures if code not in stock.goods.parts
    ]
    rows = [("code", "name", "on hand", "reserved", "free", "sheet", "counted")]
    for code in codes:
        figure = known.figures.get(code, figures[code])
        rows.append((
            code, stock.goods.names.get(code, "no longer in the shop"), str(figure.on_hand), str(figure.reserved),
            str(figure.free), DASH if figure.sheet is None else str(figure.sheet),
            f"{figure.counted} on {figure.counted_on}",
        ))  # fmt: skip
    if codes:
        yield table(rows, left=2)
    else:
        yield "Nothing was counted yet: all goes by the sheet. listkit stock start counts all from it."
    in_sheet = sheet_stock(stock.shop.items, stock.shop.packaging)
    if by_sheet := [code for code in known.uncounted if code in in_sheet]:
        yield f"\nMoved and never counted, so by the sheet: {listed(by_sheet, 'and')}."
    if known.variances:
        yield ""
        yield from variance_lines(known.variances, stock)
    if states := batches(stock.moves)[-_MOST_BATCHES:]:
        yield "\nAdded last"
        yield from (f"  {batch_words(state, stock)}" for state in reversed(states))


def batch_words(state: BatchState, stock: StockShop) -> str:
    """Return what a batch did: "14-3f9a2c1b  2026-12-05  stall  14 sold, 1 broken"."""
    moves = state.standing
    days = sorted({move.day for move in moves})
    span = f"{days[0]}" if len(days) == 1 else f"{days[0]} to {days[-1]}"
    places = ", ".join(dict.fromkeys(filter(None, (move.place for move in moves))))
    cut = "" if state.is_whole else f"  (cut off: {len(moves)} of {state.size} lines)"
    return "  ".join(filter(None, (state.batch, span, places, moved_words(moves, stock)))) + cut


def moved_words(moves: Sequence[StockMove], stock: StockShop) -> str:
    """Return what moved, in sets and single pieces: "14 sold, 1 broken"."""
    by_kind: dict[str, list[StockMove]] = {}
    for move in moves:
        by_kind.setdefault(move.kind_text, []).append(move)
    words = []
    for kind, lines in by_kind.items():
        if lines[0].kind == "counted":
            words.append(f"{times(len(lines), 'code')} {kind}")
        else:
            words.append(f"{abs(sum(sets_moved(lines, stock.goods).values()))} {kind}")
    return ", ".join(words)


def code_lines(stock: StockShop, code: str) -> Iterator[str]:
    """Yield every line of a code by its day, with the stock after it."""
    lines = [move for move in stock.moves if stock.shop.old_codes(move.code) == code]
    yield f"{code}  {stock.goods.names.get(code, '')}".rstrip()
    if not lines:
        yield "Nothing of it moved."
        return
    rows = [("day", "what", "pieces", "on hand", "where", "with", "batch")]
    for move, on_hand in running(lines):
        shown = DASH if on_hand is None else str(on_hand)
        rows.append((f"{move.day}", move.kind_text, str(move.quantity), shown, move.place, move.set, move.batch))
    yield table([(*row[:2], *row[4:], *row[2:4]) for row in rows], left=5)


def running(moves: Iterable[StockMove]) -> Iterator[tuple[StockMove, int | None]]:
    """Yield the lines of one code by their days, each with the stock after it; None before the first count.

    Within a day what moved comes before the count, which is of the evening.
    """
    lines = list(moves)
    on_hand: int | None = None
    gone = {
        move.batch + str(move.day) + str(move.quantity) for move in lines if move.kind == "counted" and move.takes_back
    }
    for move in sorted(lines, key=lambda each: (each.day, each.kind == "counted", each.line)):
        if move.kind != "counted":
            on_hand = None if on_hand is None else on_hand + move.change
        elif not move.takes_back and move.batch + str(move.day) + str(move.quantity) not in gone:
            on_hand = move.quantity
        yield move, on_hand


def added_lines(added: Added, stock: StockShop) -> Iterator[str]:
    """Yield what a batch changes: of each code before and after; what counts differ by."""
    rows = [("code", "name", "moved", "before", "after", "free")]
    by_code: dict[str, list[StockMove]] = {}
    for move in added.moves:
        by_code.setdefault(stock.shop.old_codes(move.code), []).append(move)
    for code, own in by_code.items():
        moved = ", ".join(f"{number} {kind}" for kind, number in sums_by_kind(own).items())
        counts = [move for move in own if move.kind == "counted"]
        moved = ", ".join(filter(None, (moved, f"{counts[-1].kind_text} {counts[-1].quantity}" if counts else "")))
        figures = (added.before.figures.get(code), added.after.figures.get(code))
        before, after = (DASH if each is None else str(each.on_hand) for each in figures)
        free = DASH if figures[1] is None else str(figures[1].free)
        rows.append((code, stock.goods.names.get(code, ""), moved, before, after, free))
    yield table(rows, left=3)
    if added.variances:
        yield ""
        yield from variance_lines(added.variances, stock)


def variance_lines(counts: Iterable[CountVariance], stock: StockShop) -> Iterator[str]:
    """Yield what counts differ from the books by, and what that is worth at cost."""
    counts = tuple(counts)
    spoken = stock.shop.settings.spoken
    costs = {item.code: item.cost.amount for item in stock.shop.items}
    yield "Counts that differ"
    for count in counts:
        worth = costs.get(count.code, Decimal(0)) * abs(count.difference)
        how = f"{-count.difference} missing" if count.difference < 0 else f"{count.difference} over"
        at_cost = f", {spoken.money(worth)} at cost" if worth else ""
        day, books = spoken.day(count.day), f"{count.book} in the books"
        yield f"  {count.code} on {day}: {books}, {count.counted} counted: {how}{at_cost}"
    worths = count_worth(counts, costs)
    share = f"; {percent(worths.shrinkage)} of what should be there" if worths.shrinkage is not None else ""
    missing, over = spoken.money(worths.missing), spoken.money(worths.over)
    yield f"  together {missing} missing and {over} over, at cost{share}"


# As JSON.


def stock_json(stock: StockShop) -> dict[str, Any]:
    """Return all figures, the batches that stand, and what counts differ by."""
    known = stock.shop.stock or Stock()
    return {
        "stock": [_figure_json(figure, stock) for figure in known.figures.values()],
        "by_sheet": list(known.uncounted),
        "batches": [
            {"batch": state.batch, "lines": len(state.standing), "whole": state.is_whole,
             "days": sorted({move.day.isoformat() for move in state.standing}),
             "places": sorted({move.place for move in state.standing if move.place})}
            for state in batches(stock.moves)
        ],
        "counts": [_count_json(count) for count in known.variances],
    }  # fmt: skip


def _figure_json(figure: StockFigure, stock: StockShop) -> dict[str, Any]:
    return {
        "code": figure.code,
        "name": stock.goods.names.get(figure.code, ""),
        "on_hand": figure.on_hand,
        "reserved": figure.reserved,
        "free": figure.free,
        "sheet": figure.sheet,
        "counted": figure.counted,
        "counted_on": figure.counted_on.isoformat(),
        "moved": dict(figure.sums),
    }


def _count_json(count: CountVariance) -> dict[str, Any]:
    day: datetime.date = count.day
    return {"code": count.code, "day": day.isoformat(), "book": count.book, "counted": count.counted}


def added_json(added: Added, stock: StockShop) -> dict[str, Any]:
    """Return a batch: its lines, before and after of each code, what is told."""
    codes = dict.fromkeys(stock.shop.old_codes(move.code) for move in added.moves)
    states = {code: (added.before.figures.get(code), added.after.figures.get(code)) for code in codes}
    return {
        "batch": added.batch,
        "written": added.written,
        "lines": [
            {"day": move.day.isoformat(), "kind": move.kind_text, "code": move.code, "quantity": move.quantity,
             "place": move.place, "set": move.set, "note": move.note}
            for move in added.moves
        ],
        "stock": [
            {"code": code, "before": before and before.on_hand, "after": after and after.on_hand,
             "free": after and after.free}
            for code, (before, after) in states.items()
        ],
        "counts": [_count_json(count) for count in added.variances],
        **problems_json(added.problems),
    }  # fmt: skip
