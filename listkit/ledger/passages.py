"""Long texts of rows, kept once: a description that all variants of a set share is stored a single time.

A row's line is parted into a short line and passages; put together again it is the same text, letter
for letter, and its SHA-256 proves it.
"""

import hashlib
import json
import re
from collections.abc import Callable, Mapping
from json.encoder import JSONEncoder
from typing import Any, Final

_LONG: Final = 120  # characters; a shorter text is not worth a place of its own
_ENCODER: Final = JSONEncoder(ensure_ascii=False, separators=(",", ":"), sort_keys=True, allow_nan=False)
_PASSAGE: Final = re.compile(r'\{"passage":(\d+)\}')
canonical: Final = _ENCODER.encode
"""Returns the text of record.jsonl for a value."""


def digest_of(line: str) -> bytes:
    """Return the SHA-256 of a line; half a surrogate pair, which is no character, counts too."""
    return hashlib.sha256(line.encode("utf-8", "surrogatepass")).digest()


def parted(line: str, keep: Callable[[str], int]) -> str:
    """Return the line with every long member in the care of `keep`, which takes its JSON text and gives its number."""
    if len(line) <= _LONG:
        return line
    members = json.loads(line)
    texts = {name: canonical(value) for name, value in members.items()}
    long = {name: text for name, text in texts.items() if len(text) > _LONG and isinstance(members[name], str | list)}
    if not long or _line(texts) != line:  # what we would not write so is kept as it is
        return line
    return canonical(members | {name: {"passage": keep(text)} for name, text in long.items()})


def joined(short: str, passage: Callable[[int], str]) -> str:
    """Return the whole line again, its passages fetched by their numbers.

    Raises:
        ValueError: it is no line as `parted` makes them.
    """
    if not short.startswith("{"):
        raise ValueError("not an object")
    # Within a text of JSON the quotation marks would be escaped, so that only a member in its place is found.
    return _PASSAGE.sub(lambda found: passage(int(found[1])), short)


def _line(texts: Mapping[str, str]) -> str:
    """Return an object of members that are JSON texts already."""
    return "{" + ",".join([f"{canonical(name)}:{texts[name]}" for name in sorted(texts)]) + "}"


def parsed(lines: Mapping[str, str]) -> dict[str, dict[str, Any]]:
    """Return every line as its facts, in their order; each is an object, for the ledger has been asked."""
    return {code: json.loads(line) for code, line in lines.items()}
