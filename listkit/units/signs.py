"""Signs that nobody sees: what turns the writing and never turns it back, and what of all that a screen is sent.

Names, cells and stories come from anybody. A sign that steers a terminal is shown in its place; marks of direction, and
what a line turns and turns back itself, are how Hebrew and Arabic beside Latin are written, and stay.
"""

import re
from collections.abc import Iterator
from typing import Final

from listkit.problem import CONTROL, UNSEEN

_MARKS: Final = "\u061c\u200e\u200f"
_OVERRIDES: Final = "\u202d\u202e"
_POP, _POP_ISOLATE = "\u202c", "\u2069"
_ENDS: Final = dict.fromkeys("\u202a\u202b" + _OVERRIDES, _POP) | dict.fromkeys("\u2066\u2067\u2068", _POP_ISOLATE)
_TURNING: Final = "".join(_ENDS) + _POP + _POP_ISOLATE
_LINE_ENDS: Final = "\n\r\x1c\x1d\x1e\x85\u2029"  # class B of UAX 9, what parts paragraphs
_TURNS: Final = re.compile(f"[{_TURNING}{_LINE_ENDS}]")
_STEERING: Final = re.compile(rf"[\x00-\x1f\x7f-\x9f{UNSEEN}]")
_FORBIDDEN_RAW: Final = re.compile(rf"[\x7f-\x9f{UNSEEN}\ud800-\udfff]")


def never_turned_back(text: str) -> Iterator[int]:
    """Yield where the writing is turned and stays so until its paragraph ends: embeddings, overrides and isolates.

    Unicode Standard Annex 9, BD8 to BD11 and X1 to X8: an embedding or an override ends with a U+202C within the same
    isolate, an isolate, and whatever is open in it, with a U+2069; all ends with the paragraph.

    >>> list(never_turned_back("a\u202eb")), list(never_turned_back("a \u2067b\u202ec\u2069 d"))
    ([1], [])
    """
    opened, isolates = (
        list[int](),
        0,
    )  # of these the isolates are counted, so that no sign looks through all that is open
    for match in _TURNS.finditer(text):
        at, sign = match.start(), match[0]
        if sign in _ENDS:
            opened.append(at)
            isolates += _ENDS[sign] == _POP_ISOLATE
        elif sign == _POP_ISOLATE and isolates:
            isolates -= 1
            while _ENDS[text[opened.pop()]] != sign:
                pass
        elif sign == _POP and opened and _ENDS[text[opened[-1]]] == sign:
            opened.pop()
        elif sign in _LINE_ENDS:
            yield from opened
            opened, isolates = [], 0
    yield from opened


def on_screen(text: str) -> str:
    """Return a part of a line in which control signs are shown and not sent.

    An override stays nowhere, even where it ends: it shows letters in another order than they have.
    """
    if text.isprintable():
        return text
    is_sound = not any(sign in text for sign in _OVERRIDES) and not any(True for _ in never_turned_back(text))
    kept = _MARKS + _TURNING if is_sound else _MARKS
    return _STEERING.sub(lambda sign: sign[0] if sign[0] in kept else sign[0].translate(CONTROL), text)


def escaped(json_text: str) -> str:
    r"""Return JSON in which no sign steers whoever looks at it: all of them as \u escapes, which mean the same.

    RFC 8259, section 7: any character may be escaped; those of C0 are already.
    """
    return _FORBIDDEN_RAW.sub(lambda sign: f"\\u{ord(sign[0]):04x}", json_text)
