"""What differs on one place against its last record, with causes and files: all that is told, shown and written."""

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from listkit.actions.facts import DAY, REDUCTION, items_of_sets, snapshot_of, table_columns
from listkit.actions.held import Held, held_back, kept_paths
from listkit.actions.outputs import Built, FileMove, Outputs
from listkit.ledger.causes import Cause, causes, first_record, is_piece
from listkit.ledger.changes import Change, Changes, Rows, changes
from listkit.ledger.history import SHOP_RULES, currency_in
from listkit.ledger.lines import canonical
from listkit.ledger.movements import Movement, movements
from listkit.ledger.old_codes import in_todays_codes
from listkit.ledger.store import (
    LEDGER,
    SECTIONS,
    Difference,
    Facts,
    Record,
    difference,
    parsed,
    parsed_lines,
    records,
    standing,
)
from listkit.listing.columns import fact
from listkit.listing.listings import Listing
from listkit.listing.rows import FeedColumn, Row, dialect_cells, row_offers, rows_of
from listkit.model.channel import Channel, Dialect
from listkit.pipeline import SHEET, WHOLESALE, Checked, Listed
from listkit.problem import FieldError
from listkit.save.asked import asked_files, asked_folder, remove_asked
from listkit.units.shown import Measures
from listkit.write.csv_feed import CsvForm, table_fault, with_header, write_table

_PAGE: Final = "changes.md"
_ROWS: Final = "changes.csv"
_TAKE_DOWN: Final = "take-down.csv"
# Facts, and rules of which every fact may be, an amount or hold one.
_MEASURED: Final = frozenset(
    {"item.weight", "item.size", "box", "card", "packing", "freight", "labels", "cards", "rates"}
)


@dataclass(frozen=True, slots=True)
class ChannelChanges:
    """One place: `record` is what it is compared with (None: nothing was recorded), `files` what moved in out/.

    `old` and `new` hold the rows that differ. `held` are the codes of rows that are held back: they are in the record,
    and not among today's rows, until their set is mended. `built` says whether the files in out/ are those of today.
    """

    key: str
    name: str
    record: Record | None
    found: Changes
    causes: tuple[Cause, ...]
    moved: tuple[Movement, ...]
    old: Rows
    new: Rows
    files: tuple[FileMove, ...] = ()
    supposed: bool = False  # whether it is only asked what would be
    held: tuple[str, ...] = ()
    built: Built = Built.NOW

    @property
    def differs(self) -> bool:
        """Whether anything moved, in a row or a file."""
        return bool(self.found) or bool(self.files)

    @property
    def recoded(self) -> tuple[tuple[str, str], ...]:
        """The codes of today of rows that had another, and these."""
        return tuple((change.code, str(change.old)) for change in self.found.changed if change.field == "sku")

    @property
    def sets(self) -> tuple[str, ...]:
        """The sets and single pieces that anything concerns."""
        return tuple(dict.fromkeys(code for cause in self.causes for code in cause.sets))

    @property
    def pieces(self) -> frozenset[str]:
        """Those of `sets` that are single pieces: rows of the one item whose code they have."""
        rows = {**self.old, **self.new}
        return frozenset(code for code in self.sets if code in rows and is_piece(rows[code]))


def changes_against_ledger(
    listed: Listed, key: str, outputs: Outputs | None, held: Held | None = None
) -> ChannelChanges:
    """Return what differs between the place's last record and today's listings; files too with `outputs`.

    Rows that are `held` back are told apart from those that are gone.

    Raises:
        FieldError: the ledger cannot be used.
    """
    ledger, snapshot = listed.shop.root / LEDGER, snapshot_of(listed, key)
    built = outputs.built(key) if outputs is not None else Built.NOW
    if not records(ledger, key):  # every row is new: none is kept as its line beside its facts
        files = tuple(outputs.moves(key, {})) if outputs is not None else ()
        new = _all_new(listed, key, parsed_lines(snapshot.rows))
        return replace(new, files=files, supposed=outputs is None, built=built)
    recorded = difference(ledger, key, snapshot)
    recorded = _with_currencies(
        recorded, key, lambda: (standing(ledger, key, "rows"), dict(snapshot_of(listed, key).rows))
    )
    differing = in_todays_codes(recorded, listed.shop.old_codes.now)
    files = tuple(outputs.moves(key, differing.old.files)) if outputs is not None else ()
    rows = parsed(differing.old.rows)
    apart = {code: row for code, row in rows.items() if held is not None and held.holds(code, row)}
    sound = _without_held(differing, held, apart) if held is not None else differing
    explained = _explained(listed, key, sound)
    return replace(
        explained,
        files=files,
        supposed=outputs is None,
        held=tuple(apart),
        old={**apart, **explained.old},
        built=built,
    )


def _without_held(differing: Difference, held: Held, apart: Rows) -> Difference:
    """Return what differs without the lines of what is held back: its rows, its sets, items in nothing else."""
    items = {str(code) for row in apart.values() for code in row.get("itemCodes") or ()}
    old, new = differing.old, differing.new
    away = {
        "rows": set(apart),
        "sets": set(held.codes),
        "items": {code for code in items if code not in new.items},
        "rules": {SHEET, *(f"{kind}{code}" for kind in (REDUCTION, DAY) for code in held.codes)},
        "files": set[str](),
    }

    def kept(facts: Facts) -> Facts:
        return Facts(
            **{
                section: {code: line for code, line in getattr(facts, section).items() if code not in codes}
                for section, codes in away.items()
            }
        )

    return replace(differing, old=kept(old), new=kept(new))


def changes_between(before: Listed, listed: Listed, key: str) -> ChannelChanges:
    """Return what differs between two shops: what a change would do where nothing was recorded."""
    old, new = (_lines_by_section(shop, key) for shop in (before, listed))
    differing = Difference(Record(0, key, ""), _lines_apart(old, new), _lines_apart(new, old))
    differing = _with_currencies(differing, key, lambda: (old["rows"], new["rows"]))
    return replace(_explained(listed, key, differing), supposed=True)


def _with_currencies(
    differing: Difference, key: str, all_rows: Callable[[], tuple[Mapping[str, str], Mapping[str, str]]]
) -> Difference:
    """Return a difference in which all rows for shops state their currency, where the shop's is another one now.

    By themselves they state none, so that those whose amounts are the same would not differ.
    """
    was, now = (currency_in(facts.rules.get(SHOP_RULES[0])) for facts in (differing.old, differing.new))
    if key != WHOLESALE or not was or not now or was == now:
        return differing
    old, new = (
        {code: canonical({"priceCurrency": currency} | json.loads(line)) for code, line in rows.items()}
        for rows, currency in zip(all_rows(), (was, now), strict=True)
    )
    return replace(differing, old=replace(differing.old, rows=old), new=replace(differing.new, rows=new), alike=0)


def _lines_by_section(listed: Listed, key: str) -> dict[str, dict[str, str]]:
    snapshot = snapshot_of(listed, key)
    return {section: dict(getattr(snapshot, section)) for section in SECTIONS}


def _lines_apart(kept: dict[str, dict[str, str]], against: dict[str, dict[str, str]]) -> Facts:
    """Return the lines of `kept` that `against` has otherwise or not at all."""
    return Facts(
        **{
            section: {code: line for code, line in lines.items() if against[section].get(code) != line}
            for section, lines in kept.items()
        }
    )


def _explained(listed: Listed, key: str, differing: Difference) -> ChannelChanges:
    old, new = parsed(differing.old.rows), parsed(differing.new.rows)
    if differing.record is None:  # taken back since it was asked for
        return _all_new(listed, key, new)
    differs = changes(old, new)
    measures = listed.shop.settings.measures
    moved = tuple(_in_measure(each, measures) for each in movements(differing.old, differing.new))
    return ChannelChanges(
        key=key,
        name=listed.name(key),
        record=differing.record,
        found=differs,
        causes=causes(differs, old, new, moved, items_of_sets(listed.catalog)),
        moved=moved,
        old=old,
        new=new,
    )


def _all_new(listed: Listed, key: str, rows: Rows) -> ChannelChanges:
    differs = changes({}, rows)
    return ChannelChanges(
        key=key,
        name=listed.name(key),
        record=None,
        found=differs,
        causes=first_record(differs, rows),
        moved=(),
        old={},
        new=rows,
    )


def _in_measure(movement: Movement, measures: Measures) -> Movement:
    """Return a movement whose weights and sizes, on record in g and mm, are in the shop's measure.

    Where old and new would then read alike they stay as they are.
    """
    if not (movement.key in _MEASURED or movement.what in _MEASURED):
        return movement
    old, new, fact_name = (measures.facts(text) for text in (movement.old, movement.new, movement.fact))
    return movement if old == new else replace(movement, old=old, new=new, fact=fact_name)


def changes_since_recorded(listed: Checked, key: str, out: Path) -> tuple[ChannelChanges, ...]:
    """Return what differs from the last records: of one place, or with "" of all that are made or were recorded.

    A place whose own file can be read and must be mended is compared as it is.

    Raises:
        FieldError: the ledger cannot be used.
    """
    held = {each: what for each, what in held_back(listed).items() if not what.whole}
    ledger = listed.shop.root / LEDGER
    outputs = Outputs(listed, out, lambda files: kept_paths(listed, held, files, out))
    keys = (key,) if key else listed.places
    asked = (each for each in keys if key or outputs.makes(each) or records(ledger, each))
    return tuple(changes_against_ledger(listed, each, outputs, held.get(each)) for each in asked)


def write_changes(out: Path, listed: Listed, changes: ChannelChanges, page: str) -> tuple[str, ...]:
    """Write `page` and the tables of what differs on one place, or take old ones away; return paths below `out`.

    Raises:
        FieldError: they cannot be written.
    """
    channel, listings = listed.channel(changes.key), listed.listings_of(changes.key)
    if not changes.differs and not (out / changes.key / CHANGES).is_dir():
        return ()
    with change_folder(out, listed.shop.root, changes.key, (_PAGE, _ROWS, _TAKE_DOWN)) as folder:
        folder.text(_PAGE, page if changes.differs else "")
        if channel is not None:
            folder.table(changed_rows(channel, listings, changes), channel.dialect)
            folder.table(take_down(changes, channel.dialect), channel.dialect)
        return tuple(folder.written)


# The files of changes in out/<channel>/changes/: tables in the channel's dialect, and a page of words.
# A build neither makes nor removes them. Each is written beside its place, read back, and only then takes it.

CHANGES: Final = "changes"


@dataclass(frozen=True, slots=True)
class ChangeTable:
    """A table to be written, or taken away where it has no rows."""

    name: str
    headings: Row
    rows: Sequence[Row]


class ChangeFolder:
    """The folder of changes of one place, while it is written to."""

    def __init__(self, out: Path, key: str) -> None:
        self._out, self._key = out, key
        self.written: list[str] = []
        """Paths below the output folder, in the order they were written."""

    def text(self, name: str, page: str) -> None:
        """Write a page of words, or take it away where there are none."""
        if page:
            with self._written(name) as part:
                part.write_text(page, encoding="utf-8", errors="surrogatepass", newline="")
        else:
            remove_asked(self._out, self._path(name))

    def table(self, table: ChangeTable, dialect: Dialect) -> None:
        """Write a table in a dialect, or take it away where it has no rows.

        Raises:
            FieldError: a cell holds a letter that the encoding has not, or the disk gives back something else.
        """
        if not table.rows:
            remove_asked(self._out, self._path(table.name))
            return
        form = CsvForm.of(dialect)
        with self._written(table.name) as part:
            write_table(part, with_header(table.headings, table.rows, dialect), form)
            if fault := table_fault(part, with_header(table.headings, table.rows, dialect), form):
                raise FieldError(f"{self._path(table.name)} does not read back as it was written: {fault}")

    @contextmanager
    def _written(self, name: str) -> Iterator[Path]:
        with asked_files(self._out, [self._path(name)]) as (part,):
            yield part
        self.written.append(self._path(name))

    def _path(self, name: str) -> str:
        return f"{self._key}/{CHANGES}/{name}"


@contextmanager
def change_folder(out: Path, shop: Path, key: str, names: Sequence[str]) -> Iterator[ChangeFolder]:
    """Yield the folder of a place's changes; nobody builds meanwhile.

    Raises:
        FieldError: a build is at work, a link leads out of the folder, or it cannot be written to.
    """
    with asked_folder(out, shop, [f"{key}/{CHANGES}/{name}" for name in names]) as folder:
        yield ChangeFolder(folder, key)


# The rows of a channel's own table that differ, ready to be imported there, and those to take down by hand.

_WHOLE_FEED: Final = {
    "channel": ("headings", "columns", "dialect", "rows", "make", "feed", "language"),
    "shop": ("language", "currency"),
}
"""Facts with which every row may be written otherwise."""
_TAKE_DOWN_HEADINGS: Final = ("code", "name", "price", "address")


def changed_rows(channel: Channel, listings: tuple[Listing, ...], changes: ChannelChanges) -> ChangeTable:
    """Return the rows that differ in a column of the channel's, new ones among them, in the channel's own cells.

    Where the columns or the dialect changed, every row does. Put over the rows of the last feed, and with the gone
    ones taken down, they give the feed of today.
    """
    columns = table_columns(channel, listings)
    whole = any(movement.fact in _WHOLE_FEED.get(movement.what, ()) for movement in changes.moved)
    wanted = None
    if not whole:
        wanted = _differing(channel, listings, columns, changes.found)
        if any(column.once for column in columns):  # another row may have become a listing's first
            gone = {str(changes.old[code].get("inProductGroupWithID")) for code in changes.found.gone}
            wanted |= _rows_of_touched(channel, listings, {*gone, *changes.found.new})
    return rows_of_codes(_ROWS, channel, listings, wanted)


def rows_of_codes(
    name: str, channel: Channel, listings: tuple[Listing, ...], wanted: frozenset[str] | None
) -> ChangeTable:
    """Return these rows of the channel's table as it would write them, all with None."""
    columns = table_columns(channel, listings)
    headings = tuple(column.heading for column in columns)
    return ChangeTable(name, headings, tuple(_rows(channel, listings, columns, wanted)))


def _rows(
    channel: Channel, listings: tuple[Listing, ...], columns: tuple[FeedColumn, ...], wanted: frozenset[str] | None
) -> Iterator[Row]:
    for listing in listings:
        codes = [offer.variant.code for offer in row_offers(listing, channel.row_kind)]
        if wanted is not None and wanted.isdisjoint(codes):
            continue
        rows = rows_of((listing,), columns, dialect_cells(channel.dialect), rows=channel.row_kind)
        yield from (row for code, row in zip(codes, rows, strict=True) if wanted is None or code in wanted)


def _differing(
    channel: Channel, listings: tuple[Listing, ...], columns: tuple[FeedColumn, ...], changes: Changes
) -> frozenset[str]:
    """Return the codes whose cells differ: of a column that is filled once, only in a listing's first row."""
    first = {next((offer.variant.code for offer in row_offers(listing, channel.row_kind)), "") for listing in listings}
    always = _shown(column for column in columns if not column.once)
    in_first = _shown(columns)
    changed = (one.code for one in changes.changed if _shows(in_first if one.code in first else always, one))
    return frozenset((*changes.new, *changed))


def _rows_of_touched(channel: Channel, listings: tuple[Listing, ...], touched: set[str]) -> frozenset[str]:
    """Return all codes of the sets that are named themselves or by one of their rows."""
    codes = [[offer.variant.code for offer in row_offers(listing, channel.row_kind)] for listing in listings]
    return frozenset(
        code
        for listing, own_codes in zip(listings, codes, strict=True)
        if listing.facts.code in touched or not touched.isdisjoint(own_codes)
        for code in own_codes
    )


def _shown(columns: Iterable[FeedColumn]) -> dict[str, set[int]]:
    """Return the fields behind columns, with the numbers of a family's members, 0 for all of it."""
    shown: dict[str, set[int]] = {}
    for column in columns:
        if column.field is not None:
            shown.setdefault(column.field.name, set()).add(column.number)
        for name in column.template.names if column.template else ():
            shown.setdefault(fact(name)[0].name, set()).add(fact(name)[1])
    return shown


def _shows(shown: Mapping[str, set[int]], change: Change) -> bool:
    numbers = shown.get(change.field, set())
    return 0 in numbers or any(_member(change.old, at) != _member(change.new, at) for at in numbers)


def _member(family: Any, number: int) -> Any:  # noqa: ANN401 (any fact)
    return family[number - 1] if isinstance(family, list) and len(family) >= number else None


def take_down(changes: ChannelChanges, dialect: Dialect) -> ChangeTable:
    """Return what the channel shows and the shop no longer has, or under another code: deleted rows delete nothing."""
    cell = dialect_cells(dialect)(FeedColumn(""))
    gone = [*((code, code) for code in changes.found.gone), *((old, new) for new, old in changes.recoded)]
    rows = tuple(
        (cell(shown), *(cell(str(changes.old[code].get(name, ""))) for name in ("name", "price", "url")))
        for shown, code in gone
    )
    return ChangeTable(_TAKE_DOWN, _TAKE_DOWN_HEADINGS, rows)
