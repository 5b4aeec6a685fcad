"""The stock as it moves: counts, tallies and sales added to movements.csv, orders reserved and sent, all taken back.

Whatever is added is one batch, looked at whole before any of it is written: where one row is wrong, nothing is taken.
"""

import datetime
import hashlib
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

from listkit import bounds
from listkit.actions.stock_sheets import AddRequest, Understood, keep_sales, understood
from listkit.compute.build import build_catalog
from listkit.compute.movements import Goods, batch_name, batches, goods_of, sheet_stock, stock_of
from listkit.edit.movements import add_moves
from listkit.model.channel import Channel, Sales
from listkit.model.movements import BatchState, CountVariance, MoveKind, MovesRead, Stock, StockMove
from listkit.model.shop import Shop
from listkit.pipeline import Opened, open_shop
from listkit.problem import BlockedError, FieldError, Level, Place, Problem, must_fix, quoted, times
from listkit.read.folder import MOVEMENTS, SHOP
from listkit.read.movements import MOST_MOVED, as_read
from listkit.read.tally import TALLY, TallyRow
from listkit.read.wording import TOO_MANY, listed, nearest, too_many

_OF_PIECES: Final[frozenset[MoveKind]] = frozenset({"counted", "made", "poured"})


class TwiceError(FieldError):
    """A sheet was added before; `batch` is the name of that."""

    def __init__(self, message: str, hint: str, batch: str) -> None:
        super().__init__(message, hint)
        self.batch = batch


class MovedOnError(BlockedError):
    """Lines were added since the shop was opened, so that what was looked at is no longer what would be."""

    def __init__(self) -> None:
        super().__init__(f"{MOVEMENTS} has other lines by now; nothing was written.", "Look again, then decide.")


@dataclass(frozen=True, slots=True)
class StockShop:
    """A shop opened for its stock: what can move, and what moved so far.

    A `guarded` one is not added to where the file has other lines than those that it was opened with.
    """

    shop: Shop
    goods: Goods
    guarded: bool = False

    @property
    def moves(self) -> tuple[StockMove, ...]:
        """All lines of its movements."""
        return self.shop.movements.moves

    def stock(self, more: Iterable[StockMove] = ()) -> Stock:
        """Return the stock with `more` lines."""
        return stock_of((*self.moves, *more), self.shop.old_codes)

    def place(self, text: str) -> str:
        """Return the key of the channel that a text names by key or name, else the text as it is."""
        named = (channel.key for channel in self.shop.channels if text in (channel.key, channel.name))
        return next(named, text)

    def channel(self, key: str) -> Channel | None:
        """Return a channel by its key."""
        return next((channel for channel in self.shop.channels if channel.key == key), None)


def open_stock(folder: Path) -> tuple[StockShop, tuple[Problem, ...]]:
    """Open a shop for its stock; photos are not looked at. The problems are those that keep stock from being moved."""
    opened_shop = open_shop(folder, measure_at_most=0)
    return StockShop(opened_shop.shop, goods_of(build_catalog(opened_shop.shop))), stopping(opened_shop)


def stopping(opened_shop: Opened) -> tuple[Problem, ...]:
    """Return the problems of reading a shop that keep its stock from being moved."""
    files = (MOVEMENTS, opened_shop.shop.items_file, SHOP)
    return tuple(each for each in opened_shop.problems if must_fix((each,)) and each.place.file in files)


@dataclass(frozen=True, slots=True)
class UnknownCode:
    """A code of a sheet that nobody knows: what it may be, and the rows that have it.

    `named` says that it is the name of all that it may be.
    """

    code: str
    near: tuple[str, ...]
    rows: tuple[Place, ...]
    named: bool = False


@dataclass(frozen=True, slots=True)
class Added:
    """What was added, or would be: its lines, the stock before and after, and what is told of it.

    `sheet` is how the file was understood, `unknown` are its codes that nobody knows; `written` says whether anything
    was written.
    """

    moves: tuple[StockMove, ...]
    before: Stock
    after: Stock
    problems: tuple[Problem, ...] = ()
    sheet: Understood = field(default_factory=Understood)
    unknown: tuple[UnknownCode, ...] = ()
    written: bool = False

    @property
    def stopped(self) -> bool:
        """Whether something must be settled first, so that nothing is taken."""
        return must_fix(self.problems)

    @property
    def batch(self) -> str:
        """The name of the batch."""
        return self.moves[0].batch if self.moves else ""

    @property
    def variances(self) -> tuple[CountVariance, ...]:
        """The counts that now differ from the books."""
        known = Counter(self.before.variances)
        return tuple(each for each in self.after.variances if each not in known)


# Counting: the first time from the sheet.


def start_stock(stock: StockShop, day: datetime.date) -> Added:
    """Add a count of all that the sheet and packaging.toml have a number for and that was never counted.

    The count is of the evening of `day`. Numbers that are less than nothing there are problems of reading.
    """
    counted = stock.stock()
    figures = {
        code: number
        for code, number in sheet_stock(stock.shop.items, stock.shop.packaging).items()
        if code not in counted.figures
    }
    if not figures:
        raise FieldError("everything that has a number is counted already.", "Add a count with listkit stock add.")
    text = f"{day}{sorted(figures.items())}"
    counts = [StockMove(day, "counted", code, number, note="from the sheet") for code, number in figures.items()]
    return _write(stock, in_batch(counts, _digest(text.encode())))


# A sheet of what moved.


def add_file(stock: StockShop, request: AddRequest) -> Added:
    """Add what a sheet says moved, all of it or nothing.

    Raises:
        FieldError: there is no such file, or it was added already.
        BlockedError: the shop folder cannot be written to.
    """
    place = stock.place(request.place)
    channel = stock.channel(place)
    sheet, problems = understood(stock.shop, stock.goods, request, channel)
    reading = _Rows(stock, request, place, channel.sales if channel else None)
    moves = reading.moves(sheet.rows)
    problems += reading.problems
    before = stock.stock()
    if not moves and not must_fix(problems):
        problems.append(Problem(Place(request.file.name), TALLY, "nothing in it moved.", "Is it the right file?"))
    if must_fix(problems):
        return Added((), before, before, tuple(problems), sheet, unknown=tuple(reading.unknown.values()))
    batch = in_batch(moves, _digest(request.file.content))
    _refuse_twice(stock.shop.movements, batch, request)
    adding = _to_add(stock.shop.movements, batch, again=request.again)
    after = stock.stock(adding)
    told = (*problems, *_told(request.file.name, batch, stock, before=before, after=after))
    if request.look:
        return Added(adding, before, after, told, sheet)
    if channel is not None and sheet.sales is not None:
        keep_sales(stock.shop.root, channel, sheet.sales, request.now)
    return replace(_write(stock, batch, again=request.again), problems=told, sheet=sheet)


class _Rows:
    """Turns the rows of a sheet into movements, and gathers what cannot be."""

    def __init__(self, stock: StockShop, request: AddRequest, place: str, sales: Sales | None) -> None:
        self._stock, self._request, self._place = stock, request, place
        choices = request.choices
        self._theirs = {**(sales.codes if sales else {}), **choices.codes}
        self._aside = frozenset((*(sales.not_ours if sales else ()), *choices.not_ours))
        self._channel = stock.channel(place) is not None
        self.problems: list[Problem] = []
        self.unknown: dict[str, UnknownCode] = {}
        self._rows_of_unknown: defaultdict[str, list[TallyRow]] = defaultdict(list)
        self._named: Mapping[str, tuple[str, ...]] | None = None  # worked out for the first code that nobody knows

    def moves(self, rows: Iterable[TallyRow]) -> list[StockMove]:
        """Return the movements, equal ones added up; a set's are those of its pieces and packs."""
        totals: dict[StockMove, int] = {}
        for row in rows:
            for move in self._of_row(row):
                key = replace(move, quantity=0)
                totals[key] = totals.get(key, 0) + move.quantity
                if totals[key] > MOST_MOVED >= totals[key] - move.quantity:
                    message = f"with the rows above it more than {MOST_MOVED:,} of {move.code} would have moved."
                    self._tell(row, message, "Is it the right column?")
        self._tell_unknown()
        return [replace(key, quantity=number) for key, number in totals.items()]

    def _of_row(self, row: TallyRow) -> Iterator[StockMove]:
        if row.code in self._aside:
            return
        day = row.day or self._request.day or self._request.today
        if day > self._request.today:
            self._tell(
                row,
                f"{self._stock.shop.settings.spoken.day(day)} is a day to come.",
                "Write the day on which it moved.",
            )
            return
        code = self._stock.goods.find(self._theirs.get(row.code, row.code))
        if code is None:
            self._rows_of_unknown[row.code].append(row)
            return
        is_set = code in self._stock.goods.sets
        place = self._stock.place(row.place) if row.place else self._place
        for kind, number in row.moved:
            if is_set and kind in _OF_PIECES:
                self._tell(row, f"{code} is a set, and its pieces are what is {kind}.", "Write a row for each piece.")
                return
            for piece, quantity in self._stock.goods.parts[code]:
                yield StockMove(
                    day=day,
                    kind=kind,
                    code=piece,
                    quantity=number * quantity,
                    place=place,
                    set=code if is_set else "",
                    note=row.note,
                )

    def _tell(self, row: TallyRow, message: str, hint: str) -> None:
        self.problems.append(Problem(row.at, TALLY, message, hint))

    def _by_name(self) -> Mapping[str, tuple[str, ...]]:
        """Return the codes of all that is called the same: by name, with and without the form; a set's by its own."""
        if self._named is None:
            codes: defaultdict[str, dict[str, None]] = defaultdict(dict)
            for code, name in self._stock.goods.names.items():
                for text in (name, name.partition(" · ")[0]):
                    codes[_plain(text)][code] = None
            for item in self._stock.shop.items:
                words, form = _plain(item.name).split(), _plain(item.form).split()
                bare = next((words[:at] for at in range(len(words), 0, -1) if words[at - 1] not in form), words)
                for text in (item.name, f"{item.name} {item.form}", " ".join(bare), " ".join((*bare, *form))):
                    codes[_plain(text)][item.code] = None
            self._named = {name: tuple(alike) for name, alike in codes.items()}
        return self._named

    def _tell_unknown(self) -> None:
        """Tell each row whose code nobody knows among the others; what a code may be is looked for once."""
        every = (*self._stock.goods.parts, *self._stock.goods.groups)
        looks = bounds.SHEET_COMPARED // (len(every) + 1)  # for codes that may be meant
        for number, (code, rows) in enumerate(self._rows_of_unknown.items()):
            words = self._unknown(code, tuple(row.at for row in rows), every, sought=number < looks)
            for row in rows:
                self._tell(row, *words)
        self.problems.sort(key=lambda each: each.place.line)

    def _unknown(self, code: str, rows: tuple[Place, ...], every: tuple[str, ...], *, sought: bool) -> tuple[str, str]:
        """Return what is told of a code that nobody knows; one of `every` may be meant, and is or is not `sought`."""
        goods = self._stock.goods
        variants = goods.groups.get(code, ())
        named = () if variants else self._by_name().get(_plain(code), ())
        near = "" if variants else named[0] if named else nearest(code, every) if sought else ""
        likely = named or goods.groups.get(near, (near,) if near else ())
        self.unknown[code] = UnknownCode(code, variants or likely, rows, named=bool(named))
        if variants:
            more = f" and {len(variants) - 4} more" if len(variants) > 4 else ""
            return f"{code} has choices.", f"Write which one it was: {', '.join(variants[:4])}{more}."
        hint = f"Is it {near}? " if near else f"{TOO_MANY} " * (too_many(every) or not sought)
        if self._channel:
            hint += (
                f"Write in channels/{self._place}.toml under [sales]: codes = {{ {quoted(code)} = "
                f"{quoted(near or '...')} }}, or not_ours = [{quoted(code)}] where it is none of your goods."
            )
        else:
            hint += "Write the code of an item, a variant of a set, a box, or the message card."
        return f"there is nothing with the code {quoted(code)}.", hint


def _plain(text: str) -> str:
    """Return the words of a name, in small letters."""
    return " ".join(re.findall(r"\w+", text.casefold()))


def _told(file: str, moves: Sequence[StockMove], stock: StockShop, *, before: Stock, after: Stock) -> Iterator[Problem]:
    """Yield what to look at: lines that change nothing, codes that go by the sheet, and less than nothing."""
    late = Counter(after.late) - Counter(before.late)
    if late:
        codes = listed(dict.fromkeys(move.code for move in late), "and")
        lines = "1 line is" if late.total() == 1 else f"{late.total()} lines are"
        message = f"{lines} of the day of a later count or before it, and so without effect: {codes}."
        hint = "A count is of the evening. Write the right day, or count again."
        yield Problem(Place(file), TALLY, message, hint, Level.LOOK_AT)
    moved = dict.fromkeys(stock.shop.old_codes(move.code) for move in moves)
    in_sheet = sheet_stock(stock.shop.items, stock.shop.packaging)
    news = frozenset(after.uncounted) - frozenset(before.uncounted)
    if uncounted := [code for code in moved if code in news and code in in_sheet]:
        message = f"{listed(uncounted, 'and')} were never counted, so that their stock stays the sheet's."
        yield Problem(Place(file), TALLY, message, "listkit stock start counts all from the sheet.", Level.LOOK_AT)
    for code in moved:
        figure = after.figures.get(code)
        if figure and figure.on_hand < 0:
            message = f"{code} would be {figure.on_hand}."
            hint = "Was something made and not written down, sold twice, or counted wrongly?"
            yield Problem(Place(file), TALLY, message, hint, Level.LOOK_AT)


# Batches.


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def in_batch(moves: Sequence[StockMove], digest: str) -> tuple[StockMove, ...]:
    """Return the lines under the name of their batch."""
    name = batch_name(len(moves), digest)
    return tuple(replace(as_read(move), batch=name) for move in moves)


def _same(state: BatchState, batch: str) -> bool:
    """Whether a batch is of the same file, however many lines that gave."""
    return state.batch.rpartition("-")[2] == batch.rpartition("-")[2]


def _refuse_twice(read: MovesRead, moves: Sequence[StockMove], request: AddRequest) -> None:
    state = next((each for each in batches(read.moves) if _same(each, moves[0].batch)), None)
    if state is None or (not state.is_whole and state.batch == moves[0].batch):
        return
    if not state.is_whole:
        message = f"{request.file.name} was cut off while it was added, and the shop has changed since."
        raise FieldError(message, f"Take it back first: listkit stock undo {state.batch}.")
    if not request.again:
        message = f"{request.file.name} was added already, as {state.batch} with {times(len(state.standing), 'line')}."
        raise TwiceError(message, "If it really happened twice, add it with --again.", state.batch)


def _refuse_moved_on(stock: StockShop, read: MovesRead) -> None:
    if stock.guarded and read.moves != stock.moves:
        raise MovedOnError


def _write(stock: StockShop, moves: tuple[StockMove, ...], *, again: bool = False) -> Added:
    """Write a batch: all of it, or what is missing of one that a kill cut off."""

    def chosen(read: MovesRead) -> Sequence[StockMove]:
        _refuse_moved_on(stock, read)
        return _to_add(read, moves, again=again)

    before = stock.stock()
    written = add_moves(stock.shop.root, chosen)
    return Added(written, before, stock.stock(written), written=True)


def _to_add(read: MovesRead, moves: tuple[StockMove, ...], *, again: bool) -> tuple[StockMove, ...]:
    """Return the lines of a batch that are to be added: what is missing of one that was cut off, else all.

    Raises:
        FieldError: all of them are there, and not to be added `again`.
    """
    there = next((each for each in batches(read.moves) if each.batch == moves[0].batch), None)
    if there is None:
        return moves
    missing = Counter(moves) - Counter(there.standing)
    if missing and not there.is_whole:
        return tuple(missing.elements())
    if again:
        return moves
    raise FieldError("another program added the same lines just now.", "See listkit stock.")


def undo(stock: StockShop, batch: str = "", *, look: bool = False) -> Added:
    """Take a batch back, the last one where none is named: a reversing line for each of its lines.

    With `look` nothing is written.

    Raises:
        FieldError: there is no such batch, or nothing to take back.
    """

    def chosen(read: MovesRead) -> Sequence[StockMove]:
        _refuse_moved_on(stock, read)
        states = batches(read.moves)
        named = [state for state in states if batch in ("", state.batch)]
        if not states:
            raise FieldError("there is nothing to take back.")
        if not named:
            there = ", ".join(state.batch for state in states[-3:])
            raise FieldError(f"there is no batch {quoted(batch)} to take back.", f"The last ones are {there}.")
        return reversing(named[-1].standing)

    before = stock.stock()
    moves = tuple(chosen(stock.shop.movements)) if look else add_moves(stock.shop.root, chosen)
    return Added(moves, before, stock.stock(moves), written=not look)


def reversing(moves: Iterable[StockMove]) -> tuple[StockMove, ...]:
    """Return the lines that take these back."""
    return tuple(replace(move, takes_back=True, line=0) for move in moves)
