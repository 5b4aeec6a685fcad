"""The nearest characters that an encoding has: for channels that would rather read "Ligonniere" than nothing.

First the same character put together otherwise (e and an accent are é), then the trade's usual stand-ins for signs,
then the letter without its marks, last the Latin letters of another script. What has no such likeness stays as it is,
for the owner to see to.
"""

import unicodedata
from functools import lru_cache
from typing import Final

from text_unidecode import unidecode  # type: ignore[import-untyped]

# From memory, as typists do it; most of these are in windows-1252 and are left alone there.
_STAND_INS: Final = {
    "→": "->", "←": "<-", "≤": "<=", "≥": ">=", "≈": "~", "−": "-", "‐": "-", "‑": "-", "‒": "–", "―": "—", "⁄": "/",
    "⅓": "1/3", "⅔": "2/3", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "′": "'", "″": '"', "☆": "*", "★": "*",
    "✓": "v", "✔": "v", "✗": "x", "●": "•", "▪": "•", "\u2009": " ", "\u202f": "\u00a0", "\u2028": "\n",
    "\u2029": "\n", "\u200b": "", "\u200c": "", "\u200d": "", "\ufe0f": "", "\ufeff": "", "\u00ad": "",
}  # fmt: skip


def nearest(text: str, codec: str) -> str:
    """Return `text` with what the codec has not replaced by what is nearest; what has no likeness is left."""
    if text.isascii() or _has(text, codec):
        return text
    whole = unicodedata.normalize("NFC", text)
    return whole if _has(whole, codec) else "".join([_nearest(sign, codec) for sign in whole])


@lru_cache(maxsize=4096)
def _nearest(sign: str, codec: str) -> str:
    if _has(sign, codec):
        return sign
    plain = "".join(part for part in unicodedata.normalize("NFKD", sign) if not unicodedata.combining(part))
    if unicodedata.combining(sign):
        return ""
    for instead in (_STAND_INS.get(sign), plain, unidecode(sign)):
        if instead is not None and (instead or sign in _STAND_INS) and _has(instead, codec):
            return instead
    return sign


def _has(text: str, codec: str) -> bool:
    try:
        text.encode(codec)
    except UnicodeEncodeError:
        return False
    return True
