"""Records what was published: the last build of a channel, or of the wholesale papers; and takes a record back.

A build keeps what its record needs of each place beside its files, so that it is recorded as what it is after the
shop has moved on too.
"""

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Final

from listkit.actions.facts import Known, snapshot_of
from listkit.actions.held import Held, held_back
from listkit.actions.outputs import RECORD, Outputs
from listkit.ledger.journal import LARGEST
from listkit.ledger.lines import LONGEST, ROWS, read_line
from listkit.ledger.movements import movements
from listkit.ledger.store import LEDGER, Facts, Record, Snapshot, Stamp, are_too_many, record, records, redate, undo
from listkit.pipeline import SHEET, WHOLESALE, Checked, find_place, open_shop, sheet_history
from listkit.problem import FieldError
from listkit.save.asked import asked_files, asked_folder
from listkit.save.made import BuiltPlace, read_places
from listkit.save.manifest import read_manifest
from listkit.save.out_folder import opened, sha256_of
from listkit.save.owner import refuse_other_shop

SHEETS: Final = "wholesale/line-sheet-"
SENT: Final = "wholesale/sent"
"""The folder of line sheets that were recorded; a build neither makes nor removes what is in it."""
_KEPT: Final = ("items", "sets", "rules")
_MOST_BYTES: Final = LARGEST // 4  # of a record.jsonl that goes into a ledger as it is


@dataclass(frozen=True, slots=True)
class Recorded:
    """What was recorded of a place: None where it is recorded already.

    `sheet` is the version of the line sheet, of wholesale alone, and `replaces` the last recorded one before it. `late`
    is the day that the build was for, where the shop was changed since; `kept` the path below the output folder where
    the line sheet stays.
    """

    key: str
    record: Record | None
    sheet: str = ""
    replaces: str = ""
    late: str = ""
    kept: str = ""


@dataclass(frozen=True, slots=True)
class ToRecord:
    """What would be recorded of a place: how many rows, the paths of its files and of documents beside them.

    `items` and `sets` are the codes of which it keeps what the owner's files say. `last` is the last record, None where
    there is none; `late` and `sheet` as of `Recorded`.
    """

    key: str
    rows: int
    items: tuple[str, ...]
    sets: tuple[str, ...]
    files: tuple[str, ...]
    last: Record | None
    late: str = ""
    sheet: str = ""


class Recording:
    """Records places of one shop as its last build in `out` has them; what is held back and made is planned once."""

    def __init__(self, listed: Checked, out: Path, stamp: Stamp) -> None:
        self._listed = listed
        self._out = out
        self._stamp = stamp

    @cached_property
    def _held(self) -> Mapping[str, Held]:
        return held_back(self._listed)

    @cached_property
    def _outputs(self) -> Outputs:
        return Outputs(self._listed, self._out)

    def record(self, wanted: str) -> Recorded:
        """Record the build as published on a place, named by its key or name.

        Raises:
            FieldError: there is no such place, something is held back there, a file is not as the build made it, the
                build is not today's shop and nothing is kept of it, or the ledger cannot be used.
        """
        listed = self._listed
        key, snapshot, late = self._planned(wanted)
        sheet = _version(key, snapshot)
        kept = keep_sheet(self._out, listed.shop.root, sheet) if sheet else ""
        recorded = record(listed.shop.root / LEDGER, key, snapshot, self._stamp)
        if key != WHOLESALE:
            return Recorded(key, recorded, late=late)
        sheets = sheet_history(listed.catalog)
        before = (given.version for given in reversed(sheets.given_out) if given.version != sheet)
        return Recorded(key, recorded, sheet=sheet, replaces=next(before, ""), late=late, kept=kept)

    def planned(self, wanted: str) -> ToRecord:
        """Return what `record` would record of a place; nothing is written. Raises as `record` does."""
        key, snapshot, late = self._planned(wanted)
        return ToRecord(
            key=key,
            rows=sum(1 for _ in snapshot.rows),
            items=tuple(code for code, _ in snapshot.items),
            sets=tuple(code for code, _ in snapshot.sets),
            files=tuple(path for path, _ in snapshot.files),
            last=next(reversed(records(self._listed.shop.root / LEDGER, key)), None),
            late=late,
            sheet=_version(key, snapshot),
        )

    def _planned(self, wanted: str) -> tuple[str, Snapshot, str]:
        listed = self._listed
        key = wanted if wanted in self._held else find_place(listed, wanted)
        if listed.stopped or key in self._held:
            raise _not_whole(listed, key, self._held.get(key, Held(key, whole=True)))
        return key, *self._snapshot(key)

    def _snapshot(self, key: str) -> tuple[Snapshot, str]:
        """Return the place as it was built; where the shop was changed since, with the day that the build was for.

        Raises:
            FieldError: it is not as it was built, or nothing is kept of the build.
        """
        try:
            return snapshot_of(self._listed, key, self._outputs.recordable(key)), ""
        except FieldError:
            refuse_other_shop(self._out, self._listed.shop.root)
            built = read_places(self._out).get(key)
            files = self._outputs.still_left(key, built.files) if built and _can_be_recorded(built) else None
            if built is None or files is None:
                raise
        items, sets, rules = (tuple(built.lines.get(section, {}).items()) for section in _KEPT)
        for _ in _rows_in(self._out, key):  # all are seen before the first is recorded
            pass
        return Snapshot(_rows_in(self._out, key), items, sets, rules, files), built.day


def _version(key: str, snapshot: Snapshot) -> str:
    """Return the version of the line sheet, "" of a channel."""
    return str(json.loads(dict(snapshot.rules).get(SHEET, "{}")).get("version", "")) if key == WHOLESALE else ""


def keep_sheet(out: Path, shop: Path, version: str) -> str:
    """Keep the line sheet of a version among those that were sent, and return its path below `out`; "" where none is.

    No build removes it there, and its name ends with the version.

    Raises:
        FieldError: a build is at work, or it cannot be written.
    """
    names = (entry.path for entry in read_manifest(out) if entry.path.startswith(SHEETS))
    path = next((name for name in names if name.endswith(f"-{version}.pdf")), "")
    if not path:
        return ""
    kept = f"{SENT}/{path.rpartition('/')[2]}"
    if not (out / kept).is_file() or sha256_of(out / kept) != sha256_of(out / path):
        with asked_folder(out, shop, [kept]) as folder, asked_files(folder, [kept]) as parts:
            parts[0].write_bytes((folder / path).read_bytes())
    return kept


def built_places(checked: Checked, outputs: Outputs, held: Mapping[str, Held], channel: str) -> dict[str, BuiltPlace]:
    """Return what a record of each place needs beside its rows, right after the build; `channel` "" is of all.

    Places that are held back, and those whose files are not all of this shop, are left out.
    """
    places, known = {}, Known()
    for key in checked.places:
        if key not in held and channel in ("", key) and (files := outputs.left_by_build(key)):
            snapshot = snapshot_of(checked, key, known=known)
            lines = {section: dict(getattr(snapshot, section)) for section in _KEPT}
            places[key] = BuiltPlace(str(checked.day), lines, files)
    return places


def _can_be_recorded(built: BuiltPlace) -> bool:
    """Whether what is remembered of a place is what a ledger takes, so that none is damaged by it."""
    try:
        for section, lines in (*built.lines.items(), ("files", built.files)):
            if are_too_many(len(lines)):
                return False
            for line in lines.values():
                read_line(line, section)
        facts = Facts(**{section: built.lines.get(section, {}) for section in _KEPT})
        movements(facts, facts)
    except (ValueError, FieldError):
        return False
    return True


def _rows_in(out: Path, key: str) -> Iterator[tuple[str, str]]:
    """Yield code and line of every row of a place's record.jsonl.

    Raises:
        FieldError: they are not as a build writes them, though its manifest says so.
    """
    left, seen = _MOST_BYTES, set[str]()
    try:
        with opened(out / key / RECORD) as stream:
            while line := stream.readline(LONGEST + 1):
                row = line.removesuffix(b"\n").decode()
                code = str(read_line(row, ROWS)["sku"])
                left -= len(line)
                if code in seen or left < 0 or are_too_many(len(seen) + 1):
                    raise ValueError("not as a build writes it")
                seen.add(code)
                yield code, row
    except (OSError, ValueError):
        raise FieldError(f"{key}/{RECORD} is not what a build writes.", "Build, publish, then record.") from None


def _not_whole(checked: Checked, key: str, held: Held) -> FieldError:
    if held.whole:
        return FieldError("something must be fixed first.", "See listkit check.")
    codes = " ".join(f"--without {code}" for code in held.codes)
    return FieldError(
        f"{', '.join(held.codes)} must be fixed and {'is' if len(held.codes) == 1 else 'are'} held back on "
        f"{checked.name(key)}.",
        f"Fix it and build, or build and record with {codes}.",
    )


def take_back(folder: Path, wanted: str, stamp: Stamp, *, number: int | None = None) -> Record:
    """Take back the last record of a place; one that is no longer in the shop goes by its key.

    `number` is that of the record that is meant, where it was looked at before: then no other is taken back.

    Raises:
        FieldError: nothing was recorded of it, or the ledger cannot be used.
    """
    return undo(folder / LEDGER, _key(folder, wanted), stamp, number=number)


def put_right(folder: Path, wanted: str, stamp: Stamp) -> tuple[Record, Record]:
    """Give the last record of a place the stamp's time; return it as it was and as it is.

    Raises:
        FieldError: nothing was recorded of it, the record before is later, or the ledger cannot be used.
    """
    return redate(folder / LEDGER, _key(folder, wanted), stamp)


def _key(folder: Path, wanted: str) -> str:
    channels = open_shop(folder).shop.channels
    return next((channel.key for channel in channels if wanted in (channel.key, channel.name)), wanted)
