"""What one cell looks like: an amount with its unit, a sum of money, three sides, a code, a GTIN.

Only the shape counts. "7,50 €" is money here, though the reader will ask for a point. GTIN check digit: GS1 General
Specifications, section 7.9, from memory.
"""

import re
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from typing import Final

from listkit.learn.folding import INCI, YES_NO, folded, folded_phrases, unit_of, words_of
from listkit.model.channel import DayForm
from listkit.units.length import plain_size, without_round
from listkit.units.money import MINOR_DIGITS, SIGNS
from listkit.units.quantity import MARKS, joined

_MONEY: Final = re.compile(
    r"(?P<before>[^\d\s.,+-]{0,3})\s*"
    r"(?P<number>(?:[\d.,'\u00a0\u202f][\d.,' \u00a0\u202f]*)?\d)\s*(?P<after>[^\d\s.,]{0,4})",
    re.ASCII,
)  # no sign can be of two parts, so that no row of spaces is walked through again and again
_LAST_WORD: Final = re.compile(r"(?<![^\W\d_])[^\W\d_]{1,20}(?=\.?\Z)")
_EACH: Final = folded("cells", "each")
_SPACES: Final = re.compile(r"[' \u00a0\u202f]")
_GROUPED: Final = re.compile(r"\d{1,3}([.,]\d{3})+([.,]\d{1,2})?|\d+([.,]\d+)?", re.ASCII)
_TWO_DIGITS: Final = re.compile(r".*\d[.,]\d\d", re.ASCII | re.DOTALL)
_WHOLE: Final = re.compile(r"\d{1,6}(\.0+)?|[1-9]\d{0,2}(?:[,' \u00a0\u202f]\d{3}){1,2}", re.ASCII)
_TIMES: Final = re.compile(r"\s*[x×X*]\s*")
_LONGEST_SIZE: Final = 80  # letters; a text that is longer is looked through for nothing
_COUNT: Final = re.compile(r"\d{1,4}\s*[x×X*]\s*", re.ASCII)
_BESIDE: Final = re.compile(r"\(([^()]*)\)|=")  # the same in another unit: "12 oz (340 g)"
_MARKS: Final = re.escape("".join(MARKS))
_FRACTIONS: Final = "¼½¾⅓⅔⅛⅜⅝⅞"
_UNIT_WORDS: Final = re.compile(rf"[^\W\d_{_FRACTIONS}]+|[{_MARKS}]")
_FIGURES: Final = re.compile(rf"[\d\s.,/{_FRACTIONS}{_MARKS}]*")
_CODE: Final = re.compile(r"(?=.{1,24}$)[A-Za-z0-9]+(?:[ ._/#-]?[A-Za-z0-9]+)*", re.ASCII)
_GTIN: Final = re.compile(r"\d{8}|\d{12,14}", re.ASCII)
_POWER: Final = re.compile(r"\d([.,]\d+)?[eE]\+?\d{1,2}", re.ASCII)


def is_price(cell: str) -> bool:
    """Whether a cell is money without doubt: an amount with a sign or with two digits behind the point."""
    return amount(cell) is not None and (bool(sign_of(cell)) or _TWO_DIGITS.fullmatch(_less_each(cell)) is not None)


@lru_cache(maxsize=20_000)
def amount(cell: str) -> float | None:
    """Return roughly what a plain or a money cell comes to, for comparisons alone; None when it is neither."""
    match = _MONEY.fullmatch(_less_each(cell))
    if match is None or any(sign and not _is_sign(sign) for sign in (match["before"], match["after"])):
        return None
    digits = _SPACES.sub("", match["number"])
    if len(digits) > 12 or not _GROUPED.fullmatch(digits):
        return None
    whole, _, part = digits.replace(",", ".").rpartition(".")
    if not whole:
        return float(part)
    return float(whole.replace(".", "") + part) if len(part) == 3 else float(whole.replace(".", "") + "." + part)


def _less_each(cell: str) -> str:
    """Return a price less the word that says that it is for each: "4.50 ea"."""
    cell = cell.strip()
    last = _LAST_WORD.search(cell)
    if last is None or not _EACH.issuperset(words_of(last[0])):
        return cell
    return cell[: last.start()].rstrip().removesuffix("/").rstrip()


def is_measure_price(cell: str) -> bool:
    """Whether a cell is a price for a measure: "6,63 € / 100 g"."""
    price, _, measure = cell.partition("/")
    return amount(price) is not None and unit_of(measure.strip(" 1.0"))[0] in {"mass", "volume"}


def sign_of(cell: str) -> str:
    """Return the currency's sign or letters in a price cell, "" without."""
    match = _MONEY.fullmatch(_less_each(cell))
    signs = [sign for sign in (match["before"], match["after"]) if _is_sign(sign)] if match else []
    return signs[0] if len(set(signs)) == 1 else ""


def _is_sign(text: str) -> bool:
    return text in SIGNS or text.upper() in MINOR_DIGITS


def is_whole(cell: str) -> bool:
    """Whether a cell is a whole number of pieces."""
    return _WHOLE.fullmatch(cell) is not None


@lru_cache(maxsize=20_000)
def kind_of(cell: str) -> str:
    """Return "mass", "volume", "length" or "time" for an amount with its unit, "1 lb 2 oz" or "4 x 25 g"; else ""."""
    plain = _COUNT.sub("", joined(_BESIDE.sub(r"/\1", cell)), count=1)
    kinds = {unit_of(MARKS.get(word, word))[0] for word in _UNIT_WORDS.findall(plain)}
    if (
        len(kinds) != 1
        or not re.search(rf"[\d{_FRACTIONS}]", plain)
        or not _FIGURES.fullmatch(_UNIT_WORDS.sub("", plain))
    ):
        return ""
    kind = kinds.pop()
    return kind if kind != "money" else ""


@lru_cache(maxsize=20_000)
def is_sides(cell: str) -> bool:
    """Whether a cell is three sides, with or without units: "86 x 58 x 28 mm", "28 x 58 x 86 mm (HxWxD)"."""
    if len(cell) > _LONGEST_SIZE or not any(map(str.isnumeric, cell)):
        return False
    measures, is_round = without_round(cell)
    parts = _TIMES.split(plain_size(measures).strip())
    return len(parts) in ((2, 3) if is_round else (3,)) and all(map(_is_side, parts))


def _is_side(part: str) -> bool:
    words = [MARKS.get(word, word) for word in _UNIT_WORDS.findall(part)]
    plain = re.search(rf"[\d{_FRACTIONS}]", part) and _FIGURES.fullmatch(_UNIT_WORDS.sub("", part))
    return bool(plain) and all(unit_of(word)[0] == "length" for word in words)


def sides_have_unit(cell: str) -> bool:
    """Whether three sides say what they are measured in."""
    return bool(_UNIT_WORDS.search(_TIMES.split(plain_size(without_round(cell)[0]).strip())[-1]))


def units_in(cell: str) -> tuple[tuple[str, str], ...]:
    """Return kind and name of the units in a cell: "1 lb 2 oz" has pounds and ounces, both of "mass"."""
    units = (unit_of(MARKS.get(word, word)) for word in _UNIT_WORDS.findall(joined(cell)))
    return tuple(unit for unit in units if unit[0])


def is_code(cell: str) -> bool:
    """Whether a cell could be a short code, or what a spreadsheet has made of one."""
    return _CODE.fullmatch(cell) is not None


def is_plain_code(cell: str) -> bool:
    """Whether a cell is a code and no word: digits in it and no space, "OH-B01"."""
    return is_code(cell) and " " not in cell and bool(re.search(r"\d", cell)) and bool(re.search(r"[A-Za-z]", cell))


def could_be_gtin(cell: str) -> bool:
    """Whether a cell has a GTIN's digits, or is what a spreadsheet left of them."""
    return _GTIN.fullmatch(cell) is not None or _POWER.fullmatch(cell) is not None


def is_gtin(cell: str) -> bool:
    """Whether a cell is a GTIN whose last digit follows from the others: from the right weights 3, 1, 3, 1 ..."""
    if not _GTIN.fullmatch(cell) or not cell.strip("0"):
        return False
    total = sum(int(digit) * (1 if at % 2 else 3) for at, digit in enumerate(reversed(cell[:-1])))
    return str(-total % 10) == cell[-1]


def has_letters(cell: str) -> bool:
    """Whether a cell is words: letters in it, and no amount."""
    return any(unicodedata.category(sign).startswith("L") for sign in cell) and not kind_of(cell) and not is_sides(cell)


def inci_words(cell: str) -> int:
    """Return how many names of ingredients a cell holds that stand in most lists."""
    return sum(word in INCI for word in words_of(cell))


# Addresses, markup, days, words for being in stock. Forms of days are named by how 28 February 2027 looks in them.

_ADDRESS: Final = re.compile(r"(?:https?://|www\.)\S+", re.IGNORECASE)
_PICTURE: Final = re.compile(r"\.(?:jpe?g|png|webp|avif|gif|tiff?|heic)(?:[?#]|\Z)", re.IGNORECASE)
_MARKUP: Final = re.compile(
    r"</?(?:p|br|b|i|em|strong|ul|ol|li|div|span|h[1-6]|a)\b[^<>]*>|&(?:amp|nbsp|lt|gt|quot);", re.IGNORECASE
)
_LANGUAGE: Final = re.compile(r"[a-z]{2,3}(?:[-_][A-Za-z]{2,4})?")
_COUNTRY: Final = re.compile(r"[A-Z]{2}")
_DAYS: Final[tuple[tuple[DayForm, re.Pattern[str]], ...]] = (
    ("2027-02-28", re.compile(r"(?P<y>\d{4})-(?P<m>\d{2})-(?P<d>\d{2})(?:[T ][\d:.+Z-]*)?")),
    ("28.02.2027", re.compile(r"(?P<d>\d{1,2})\.(?P<m>\d{1,2})\.(?P<y>\d{4})")),
    ("28-02-2027", re.compile(r"(?P<d>\d{1,2})-(?P<m>\d{1,2})-(?P<y>\d{4})")),
    ("28/02/2027", re.compile(r"(?P<d>\d{1,2})/(?P<m>\d{1,2})/(?P<y>\d{4})")),
    ("02/28/2027", re.compile(r"(?P<m>\d{1,2})/(?P<d>\d{1,2})/(?P<y>\d{4})")),
    ("20270228", re.compile(r"(?P<y>(?:19|20)\d{2})(?P<m>\d{2})(?P<d>\d{2})")),
)
_THERE: Final = folded_phrases("cells", "in stock")
_GONE: Final = folded_phrases("cells", "sold out")
_OTHERWISE: Final = folded_phrases("cells", "stock otherwise")
_MONTHS: Final = folded("cells", "months")
_SHORTEST_MONTH: Final = 3
_NAMED_DAY: Final = re.compile(r"\d{1,2}\.? (?:de )?[^\W\d]{3,10}\.? (?:de )?\d{4}|[^\W\d]{3,10}\.? \d{1,2},? \d{4}")


def is_address(cell: str) -> bool:
    """Whether a cell is an address on the web."""
    return _ADDRESS.fullmatch(cell) is not None


def is_picture(cell: str) -> bool:
    """Whether a cell names a picture: an address or a file name that ends like one."""
    return _PICTURE.search(cell, 1) is not None and cell.split() == [cell]


def has_markup(cell: str) -> bool:
    """Whether a text has marks of HTML in it."""
    return _MARKUP.search(cell) is not None


def is_currency(cell: str) -> bool:
    """Whether a cell is a currency's three letters (ISO 4217)."""
    return cell.upper() in MINOR_DIGITS


def is_language(cell: str) -> bool:
    """Whether a cell could be a language's tag (BCP 47)."""
    return _LANGUAGE.fullmatch(cell) is not None


def is_country(cell: str) -> bool:
    """Whether a cell could be a country's two letters (ISO 3166-1)."""
    return _COUNTRY.fullmatch(cell) is not None


def is_stock_word(cell: str) -> bool:
    """Whether a cell says in words whether something can be bought."""
    return _stock_phrase(cell) in _THERE | _GONE | _OTHERWISE


def _stock_phrase(cell: str) -> str:
    """Return a cell's words; of an address the last ones, as in "https://schema.org/InStock"."""
    return " ".join(words_of(cell.rpartition("/")[2] if is_address(cell) else cell))


def stock_words(cells: Iterable[str]) -> tuple[str, str]:
    """Return the word for being in stock and the one for being sold out; "" where there is none or more than one."""
    said = dict.fromkeys(cells)
    there = [word for word in said if _stock_phrase(word) in _THERE]
    gone = [word for word in said if _stock_phrase(word) in _GONE]
    return there[0] if len(there) == 1 else "", gone[0] if len(gone) == 1 else ""


def day_forms(cell: str) -> frozenset[DayForm]:
    """Return the forms that a cell is a day in; two where day and month could change places."""
    found = ((form, pattern.fullmatch(cell)) for form, pattern in _DAYS)
    return frozenset(form for form, match in found if match and int(match["m"]) <= 12 and 1 <= int(match["d"]) <= 31)


def day_number(cell: str) -> int | None:
    """Return a day in figures as a number that grows with it, for comparisons alone; the day before the month."""
    for _, pattern in _DAYS:
        if (match := pattern.fullmatch(cell)) and int(match["m"]) <= 12:
            return int(match["y"]) * 10_000 + int(match["m"]) * 100 + int(match["d"])
    return None


def is_day(cell: str) -> bool:
    """Whether a cell is a day, in figures or with its month in words."""
    return bool(day_forms(cell)) or (_NAMED_DAY.fullmatch(cell) is not None and any(map(_is_month, words_of(cell))))


def _is_month(word: str) -> bool:
    """Whether a word is a month's name or how it begins: "sept", "févr"."""
    return len(word) >= _SHORTEST_MONTH and any(month.startswith(word) for month in _MONTHS)


def is_answer(cell: str) -> bool:
    """Whether a cell says yes or no."""
    return cell.casefold() in YES_NO or " ".join(words_of(cell)) in YES_NO
