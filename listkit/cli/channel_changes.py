"""What differs on one place against its last record, with causes and files: all that is told, shown and written."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from listkit.cli.outputs import FileMove, Outputs
from listkit.cli.said import contents_of
from listkit.cli.truth import Truth, snapshot_of
from listkit.ledger.causes import Cause, Movement, causes, first_record, movements
from listkit.ledger.changes import Change, Changes, Rows, changes, move
from listkit.ledger.store import SECTIONS, Difference, Facts, Record, difference, parsed


@dataclass(frozen=True, slots=True)
class ChannelChanges:
    """One place: `record` is what it is compared with (None: nothing was recorded), `files` what moved in out/.

    `old` and `new` hold the rows that differ.
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

    @property
    def sets(self) -> tuple[str, ...]:
        """The sets that anything concerns."""
        return tuple(dict.fromkeys(code for one in self.causes for code in one.sets))


def changes_against_ledger(ledger: Path, truth: Truth, key: str, outputs: Outputs | None) -> ChannelChanges:
    """Return what differs between the place's last record and the truth.

    Raises:
        FieldError: the ledger cannot be used.
    """
    found = difference(ledger, key, snapshot_of(truth, key))
    files = tuple(outputs.moves(key, found.old.files)) if outputs is not None else ()
    return replace(_told(truth, key, found), files=files, supposed=outputs is None)


def changes_against_truth(before: Truth, truth: Truth, key: str) -> ChannelChanges:
    """Return what differs between two truths: what a change would do where nothing was recorded."""
    old, new = (_facts(one, key) for one in (before, truth))
    apart = [
        {section: {code: line for code, line in lines.items() if others.get(code) != line}
         for section, lines, others in _sections(one, other)}
        for one, other in ((old, new), (new, old))
    ]  # fmt: skip
    found = Difference(Record(0, key, ""), Facts(**apart[0]), Facts(**apart[1]))
    return replace(_told(truth, key, found), supposed=True)


def _facts(truth: Truth, key: str) -> Facts:
    now = snapshot_of(truth, key)
    return Facts(**{section: dict(getattr(now, section)) for section in SECTIONS})


def _sections(one: Facts, other: Facts) -> Iterator[tuple[str, Any, Any]]:
    return ((section, getattr(one, section), getattr(other, section)) for section in SECTIONS)


def _told(truth: Truth, key: str, found: Difference) -> ChannelChanges:
    old, new = parsed(found.old.rows), parsed(found.new.rows)
    differs = changes(old, new)
    if found.record is None:
        return ChannelChanges(key, truth.name(key), None, differs, first_record(differs, new), (), old, new)
    moved = movements(found.old, found.new)
    why = causes(differs, old, new, moved, contents_of(truth.catalog))
    return ChannelChanges(key, truth.name(key), found.record, differs, why, moved, old, new)


def changes_json(one: ChannelChanges) -> dict[str, Any]:
    """Return the changes of one place for scripts."""
    return {
        "record": {"number": one.record.number, "at": one.record.at} if one.record and one.record.number else None,
        "new": list(one.found.new),
        "gone": list(one.found.gone),
        "changed": [_change_json(change) for change in one.found.changed],
        "causes": [_cause_json(cause) for cause in one.causes],
        "files": [{"path": file.path, "what": file.what} for file in one.files if not file.document],
        "documents": [{"path": file.path, "what": file.what} for file in one.files if file.document],
    }


def _change_json(change: Change) -> dict[str, Any]:
    facts = {"code": change.code, "field": change.field, "old": change.old, "new": change.new}
    moved = move(change)
    if moved is not None:
        share = None if moved.share is None else float(round(moved.share, 6))
        facts |= {"difference": f"{moved.difference:+f}", "share": share}
    return facts


def _cause_json(cause: Cause) -> dict[str, Any]:
    return {
        "kind": cause.kind,
        "words": cause.words,
        "codes": list(cause.codes),
        "sets": list(cause.sets),
        "new": list(cause.new),
        "gone": list(cause.gone),
        "changed": [[change.code, change.field] for change in cause.changes],
    }
