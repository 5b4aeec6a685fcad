"""Records what was published: the last build of a channel, or of the wholesale papers; and takes a record back."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

from listkit.actions.facts import snapshot_of
from listkit.actions.held import Held, held_back
from listkit.actions.outputs import Outputs
from listkit.compute.wholesale import SheetHistory
from listkit.ledger.store import LEDGER, Record, Stamp, record, redate, undo
from listkit.pipeline import WHOLESALE, Checked, find_place, open_shop, sheet_history
from listkit.problem import FieldError


@dataclass(frozen=True, slots=True)
class Recorded:
    """What was recorded of a place: None where it is recorded already; `sheets` for wholesale alone."""

    key: str
    record: Record | None
    sheets: SheetHistory | None


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
            FieldError: there is no such place, something is held back there, the build is not today's shop, or the
                ledger cannot be used.
        """
        listed = self._listed
        key = wanted if wanted in self._held else find_place(listed, wanted)
        if listed.stopped or key in self._held:
            raise _not_whole(listed, key, self._held.get(key, Held(key, whole=True)))
        files = self._outputs.recordable(key)
        recorded = record(listed.shop.root / LEDGER, key, snapshot_of(listed, key, files), self._stamp)
        return Recorded(key, recorded, sheet_history(listed.catalog) if key == WHOLESALE else None)


def _not_whole(checked: Checked, key: str, held: Held) -> FieldError:
    if held.whole:
        return FieldError("something must be fixed first.", "See listkit check.")
    codes = " ".join(f"--without {code}" for code in held.codes)
    return FieldError(
        f"{', '.join(held.codes)} must be fixed and {'is' if len(held.codes) == 1 else 'are'} held back on "
        f"{checked.name(key)}.",
        f"Fix it and build, or build and record with {codes}.",
    )


def take_back(folder: Path, wanted: str, stamp: Stamp) -> Record:
    """Take back the last record of a place; one that is no longer in the shop goes by its key.

    Raises:
        FieldError: nothing was recorded of it, or the ledger cannot be used.
    """
    return undo(folder / LEDGER, _key(folder, wanted), stamp)


def put_right(folder: Path, wanted: str, stamp: Stamp) -> tuple[Record, Record]:
    """Give the last record of a place the stamp's time; return it as it was and as it is.

    Raises:
        FieldError: nothing was recorded of it, the record before is later, or the ledger cannot be used.
    """
    return redate(folder / LEDGER, _key(folder, wanted), stamp)


def _key(folder: Path, wanted: str) -> str:
    channels = open_shop(folder).shop.channels
    return next((channel.key for channel in channels if wanted in (channel.key, channel.name)), wanted)
