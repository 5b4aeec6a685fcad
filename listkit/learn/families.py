"""Headings with a number in them: "Picture 3", "Foto_03", "Jar2 Wert" are members of families."""

import re
from dataclasses import dataclass
from typing import Final

_NUMBER: Final = re.compile(r"(?<![\d.,%])\d{1,2}(?![\d.,%])")
_MOST: Final = 50
_GAPS: Final = re.compile(r"[\s_-]{2,}|^[\s_#-]+|[\s_#-]+$|\(\s*\)|\[\s*\]")


@dataclass(frozen=True, slots=True)
class Numbered:
    """A heading taken apart: what is left without its number, the number, and the heading with {n} in its place.

    Without a number `number` is None and all else the heading as it stands.
    """

    plain: str
    number: int | None
    pattern: str


def numbered_heading(heading: str) -> Numbered:
    """Return the heading taken apart; it has no number unless it holds exactly one, of one or two digits."""
    found = list(_NUMBER.finditer(heading))
    if len(found) != 1 or int(found[0][0]) > _MOST or "{" in heading:
        return Numbered(heading, None, heading)
    match = found[0]
    before, after = heading[: match.start()], heading[match.end() :]
    plain = _GAPS.sub(" ", f"{before} {after}").strip()
    if not any(sign.isalpha() for sign in plain):
        return Numbered(heading, None, heading)
    form = "{nn}" if match[0].startswith("0") and len(match[0]) > 1 else "{n}"
    return Numbered(plain, int(match[0]), f"{before}{form}{after}")
