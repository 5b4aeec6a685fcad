"""Lines of the ledger: a long one parted and joined again, fetched by its digest, and what its facts may be.

Every line is a JSON object in canonical form. What a ledger holds may be made by somebody else, with a right digest
(SQLite, "Defense Against The Dark Arts", on files that are not trusted): too deep, too long, or of other types.
"""

import hashlib
import json
import re
import sqlite3
from collections.abc import Callable, Mapping
from functools import lru_cache
from json.encoder import JSONEncoder
from typing import Any, Final, TypeAlias

from listkit import bounds
from listkit.fields import FIELDS, Kind
from listkit.ledger.faults import damaged
from listkit.ledger.journal import LARGEST as LARGEST_FILE
from listkit.units.money import amount_of

# Passages: a row's line is parted into a short line and its long texts; joined again it is the same, letter for letter.

_LONG: Final = 120  # characters; a shorter text is not worth a row of its own
_ENCODER: Final = JSONEncoder(ensure_ascii=False, separators=(",", ":"), sort_keys=True, allow_nan=False)
_PASSAGE: Final = re.compile(r'\{"passage":(\d+)\}')
canonical: Final = _ENCODER.encode
"""Returns the text of record.jsonl for a value."""


def digest_of(line: str) -> bytes:
    """Return the SHA-256 of a line; half a surrogate pair, which is no character, counts too."""
    return hashlib.sha256(line.encode("utf-8", "surrogatepass")).digest()


def parted(line: str, keep: Callable[[str], int]) -> str:
    """Return the line with each long member replaced by {"passage": number}; `keep` stores its JSON text for a number.

    A line that is not in canonical form is returned as it is.

    >>> parted('{"story":"' + "a" * 120 + '","to":1}', lambda text: 7)
    '{"story":{"passage":7},"to":1}'
    """
    if len(line) <= _LONG:
        return line
    members = json.loads(line)
    texts = {name: canonical(value) for name, value in members.items()}
    long = {name: text for name, text in texts.items() if len(text) > _LONG and isinstance(members[name], str | list)}
    if not long or "{" + ",".join([f"{canonical(name)}:{texts[name]}" for name in sorted(texts)]) + "}" != line:
        return line
    return canonical(members | {name: {"passage": keep(text)} for name, text in long.items()})


def joined(short: str, passage: Callable[[int], str]) -> str:
    """Return the whole line that `parted` shortened; `passage` gives the text of a number.

    Raises:
        ValueError: `short` is no line as `parted` makes them.
    """
    if not short.startswith("{"):
        raise ValueError("not an object")
    # Within a JSON string the quotation marks would be escaped, so that only a member matches.
    return _PASSAGE.sub(lambda match: passage(int(match[1])), short)


# What a line's facts may be

LONGEST: Final = bounds.LEDGER_LINE
LARGEST: Final = 10**15
"""Of any number in a line; far above any price or stock."""
_REPEATED: Final = 1000  # lines kept, because many codes may have the same
_PLAIN: Final = (str, int, float, bool, type(None))
_FIGURES: Final = (Kind.WEIGHT, Kind.LENGTH, Kind.NUMBER, Kind.SHARE)
ROWS: Final = "rows"


def _facts_in(line: str) -> dict[str, Any]:
    """Return a line's facts.

    Raises:
        ValueError: it is no JSON object, or holds what no text of ours does; RecursionError where it is too deep.
    """
    facts = json.loads(line, parse_constant=_no_constant)
    if not isinstance(facts, dict):
        raise ValueError("not an object")
    if "\\u" in line:  # half a surrogate pair cannot be printed; ours are written as they are
        canonical(facts).encode()
    return facts


def _no_constant(name: str) -> float:
    raise ValueError(name)


def is_plain(value: object) -> bool:
    """Whether a value is a text, a number that is not too large, yes or no, or nothing."""
    return isinstance(value, _PLAIN) and not (isinstance(value, int | float) and not -LARGEST <= value <= LARGEST)


Refuse: TypeAlias = Callable[[Mapping[str, Any], str], None]
"""Raises ValueError, TypeError or KeyError where facts are not those that a section is recorded with."""


def refuse_unlike(facts: Mapping[str, Any], section: str) -> None:
    """Raise ValueError where facts are not what a row, an item, a set, a rule or a file is recorded with.

    Each is a text, a number, yes or no, or a list of these. Of a row, which has a "sku", money is an amount, a figure
    a number and a family of facts a list.
    """
    is_row = section == ROWS
    if is_row and not isinstance(facts.get("sku"), str):
        raise ValueError("sku")
    for name, value in facts.items():
        for each in value if isinstance(value, list) else (value,):
            if not is_plain(each):
                raise ValueError(name)
        field = FIELDS.get(name) if is_row else None
        if field is None or value is None:
            continue
        if isinstance(value, list) != field.many or (field.kind is Kind.MONEY and amount_of(value) is None):
            raise ValueError(name)
        if field.kind in _FIGURES and type(value) not in (int, float):
            raise ValueError(name)


def read_line(line: str, section: str) -> dict[str, Any]:
    """Return the facts of a line that is to be recorded, once it is sure that whatever reads it will take it.

    Raises:
        ValueError: it is none that listkit records.
    """
    try:
        if len(line) > LONGEST:
            raise ValueError("too long")
        facts = _facts_in(line)
        refuse_unlike(facts, section)
    except (TypeError, KeyError, RecursionError) as fault:
        raise ValueError("not as listkit records") from fault
    return facts


def line_of(connection: sqlite3.Connection, refuse: Refuse = refuse_unlike) -> Callable[[bytes, str], str]:
    """Return a function that fetches a line of a section by its digest and verifies it; each passage is fetched once.

    A right digest proves only that who made the line made the digest too, so its facts are looked at by `refuse`,
    which raises ValueError where they are not as listkit records them.

    Raises (when called):
        BlockedError: the line is missing, or not what was recorded, or all lines together are too long.
    """
    known: dict[int, str] = {}
    left, of_line = LARGEST_FILE, 0

    def passage(number: int) -> str:
        nonlocal of_line
        if number not in known:
            known[number] = _text(connection, "SELECT text FROM passage WHERE number = ?", number)
        of_line += len(known[number])
        if of_line > min(left, LONGEST):
            raise ValueError("too long")
        return known[number]

    @lru_cache(maxsize=_REPEATED)
    def line(digest: bytes, section: str) -> str:
        nonlocal left, of_line
        of_line = 0
        try:
            text = joined(_text(connection, "SELECT text FROM content WHERE digest = ?", digest), passage)
            left -= len(text)
            if left < 0 or digest_of(text) != digest:
                raise ValueError("another line, or too many")
            refuse(_facts_in(text), section)
        except (ValueError, TypeError, KeyError, RecursionError):
            raise damaged() from None
        return text

    return line


def _text(connection: sqlite3.Connection, query: str, value: bytes | int) -> str:
    row = connection.execute(query, (value,)).fetchone()
    if row is None:
        raise ValueError("a line is missing")
    if not isinstance(row[0], str):
        raise ValueError("a line is no text")
    return row[0]
