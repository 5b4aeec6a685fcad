"""The manifest: every file in the output folder, and which items, sets and variants it is about.

It holds no times and no paths of one machine: the same shop gives the same bytes everywhere where the libraries that
shape them have the same versions, which it names. It ends with the SHA-256 of its lines, because files are replaced and
removed on its word: without the right one it names nothing.
"""

import json
import os
from collections.abc import Iterable
from dataclasses import dataclass, fields
from decimal import Decimal, localcontext
from pathlib import Path
from typing import Any, Final

from listkit.paths import MANIFEST, path_fault
from listkit.save.job import File, library_versions
from listkit.save.out_folder import json_of, line_digest, memory_of, put

_DIGITS: Final = 1_000  # of a sum of prices
_MOST: Final = 10**13  # rows or bytes of a file


@dataclass(frozen=True, slots=True)
class Entry:
    """One file of the output folder. Prices are exact amounts as text; None where the file has no rows or no price.

    `guarded`: cells that look like a formula were made safe.
    """

    path: str
    channel: str
    size: int
    sha256: str
    rows: int | None
    lowest_price: str | None
    highest_price: str | None
    sum_of_prices: str | None
    guarded: bool
    codes: tuple[str, ...]


def entry_of(file: File, size: int, sha256: str) -> Entry:
    """Return a file's entry. Its prices are added exactly, whatever number of digits that takes."""
    amounts = [Decimal(price) for price in file.prices or () if price]
    with localcontext(prec=1000):
        total = str(sum(amounts, Decimal(0))) if amounts else None
    return Entry(
        path=file.path,
        channel=file.channel,
        size=size,
        sha256=sha256,
        rows=None if file.prices is None else len(file.prices),
        lowest_price=str(min(amounts)) if amounts else None,
        highest_price=str(max(amounts)) if amounts else None,
        sum_of_prices=total,
        guarded=file.guarded,
        codes=file.codes,
    )


def write_manifest(out: Path, entries: Iterable[Entry]) -> None:
    """Write manifest.json, a line for each file; paths ascend."""
    lines = []
    for entry in sorted(entries, key=lambda entry: entry.path):
        facts = {field.name: getattr(entry, field.name) for field in fields(entry)}
        lines.append(json.dumps(facts, ensure_ascii=False, sort_keys=True))
    put(out / MANIFEST, _signed(",\n".join(lines), library_versions()))


def _signed(listed: str, made_with: object) -> str:
    """Return the manifest of these lines; `made_with` is None for one of a version that did not name any."""
    named = "" if made_with is None else f'"made_with": {json.dumps(made_with)},\n'
    return f'{{"files": [\n{listed}\n],\n{named}"sha256": "{line_digest(listed)}"}}\n'


def read_manifest(out: Path) -> tuple[Entry, ...]:
    """Return the entries that the last build wrote; () when there is no manifest, or none as we wrote it."""
    entries, whole = _read(out)
    return entries if entries and whole else ()


def is_manifest(out: Path) -> bool:
    """Whether what is at the manifest's place has its form, as older versions wrote it too, or is nothing to lose."""
    try:
        if (out / MANIFEST).stat().st_size == 0:
            return True
    except OSError:
        return not os.path.lexists(out / MANIFEST)
    return _read(out)[0] is not None


def _read(out: Path) -> tuple[tuple[Entry, ...] | None, bool]:
    """Return the entries of a manifest in our form, None of any other, and whether its digest is right."""
    try:
        content = memory_of(out / MANIFEST)
        manifest = json_of(content)
        entries = tuple(_entry(**file) for file in manifest["files"])
        text = content.decode("utf-8", "surrogatepass")
        if len({entry.path for entry in entries}) < len(entries):
            return entries, False
        return entries, text == _signed(text.partition("[\n")[2].rpartition("\n]")[0], manifest.get("made_with"))
    except (OSError, ValueError, TypeError, KeyError, AttributeError, ArithmeticError):
        return None, False


def _entry(*, codes: list[str], **rest: Any) -> Entry:  # noqa: ANN401 (anybody may have edited the manifest)
    entry = Entry(codes=tuple(codes), **rest)
    prices = [entry.lowest_price, entry.highest_price, entry.sum_of_prices]
    stated = [price for price in prices if price is not None]
    if not all(isinstance(text, str) for text in (entry.path, entry.channel, entry.sha256, *codes, *stated)):
        raise TypeError("not text")
    numbers = (entry.size, 0 if entry.rows is None else entry.rows)
    if not all(type(number) is int and 0 <= number < _MOST for number in numbers):
        raise TypeError("not numbers of ours")
    if not isinstance(entry.guarded, bool):
        raise TypeError("not as we write it")
    if path_fault(entry.path) or not all(map(_is_price, map(Decimal, stated))):
        raise ValueError("not a path and prices of ours")
    return entry


def _is_price(amount: Decimal) -> bool:
    return amount.is_finite() and abs(amount.adjusted()) < _DIGITS
