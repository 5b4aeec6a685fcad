"""What a spreadsheet makes of a code when a file is opened with it: a date, a number, a truth value.

The harm is known from science: Ziemann, Eren, El-Osta, "Gene name errors are widespread in the scientific literature",
Genome Biology 17:177 (2016), where SEPT2 became 2-Sep and 2310009E13 became 2.31E+13.
"""

import re
from functools import cache
from typing import Final

# Names of the months as spreadsheets in these languages know them, long and short without full stops (CLDR 48).
_MONTHS: Final = {
    "en": "jan feb mar apr may jun jul aug sep sept oct nov dec january february march april june july august "
    "september october november december",
    "de": "jan feb mär mrz apr mai jun jul aug sep okt nov dez januar februar märz april juni juli august september "
    "oktober november dezember",
    "fr": "janv févr mars avr mai juin juil août sept oct nov déc janvier février avril juillet septembre octobre "
    "novembre décembre",
    "es": "ene feb mar abr may jun jul ago sept sep oct nov dic enero febrero marzo abril mayo junio julio agosto "
    "septiembre octubre noviembre diciembre",
    "it": "gen feb mar apr mag giu lug ago set ott nov dic gennaio febbraio marzo aprile maggio giugno luglio agosto "
    "settembre ottobre novembre dicembre",
    "nl": "jan feb mrt apr mei jun jul aug sep okt nov dec januari februari maart april juni juli augustus september "
    "oktober november december",
}
_NUMERIC_DATE: Final = re.compile(r"(\d{1,4})([-/.])(\d{1,4})(?:\2(\d{1,4}))?", re.ASCII)
_WORD_DATE: Final = re.compile(r"(?:(\d{1,4})[-/. ]?)?([^\W\d_]{3,10})[-/. ]?(\d{1,4})?", re.UNICODE)
_EXPONENT: Final = re.compile(r"\d+(?:\.\d+)?[eE][-+]?\d{1,3}", re.ASCII)
_DIGITS: Final = re.compile(r"\d+", re.ASCII)
_MOST_DIGITS: Final = 11  # of more, a cell shows an exponent
_YEAR: Final = range(1900, 10_000)


def made_of(code: str, language: str = "en") -> str:
    """Return what a spreadsheet would make of a code: "a date", "the number 7" ...; "" when it stays as it is.

    Months are known in English and in `language` (BCP 47).
    """
    if not code[:1].isdigit():
        if code.casefold() in {"true", "false"}:
            return "a truth value"
        if code[:3].casefold() not in _beginnings(language.partition("-")[0]):
            return ""
    if _DIGITS.fullmatch(code):
        if code[0] == "0" and len(code) > 1:
            return f"the number {int(code)}"
        return "a number with an exponent" if len(code) > _MOST_DIGITS else ""
    if _EXPONENT.fullmatch(code):
        return "a number with an exponent"
    return "a date" if _is_date(code, language.partition("-")[0]) else ""


def _is_date(code: str, language: str) -> bool:
    if match := _NUMERIC_DATE.fullmatch(code):
        numbers = [int(number) for number in match.group(1, 3, 4) if number is not None]
        return _days_and_months(numbers) if len(numbers) == 3 else _day_and_month(*numbers)
    if match := _WORD_DATE.fullmatch(code):
        before, word, after = match.groups()
        numbers = [int(number) for number in (before, after) if number is not None]
        known = word.casefold() in months_of(language)
        return known and any(n in range(1, 32) or n in _YEAR for n in numbers)
    return False


@cache
def _beginnings(language: str) -> frozenset[str]:
    return frozenset(month[:3] for month in months_of(language))


@cache
def months_of(language: str) -> frozenset[str]:
    """Return the names of months in English and in `language`."""
    return frozenset(_MONTHS["en"].split()) | frozenset(_MONTHS.get(language, "").split())


def _day_and_month(one: int, other: int) -> bool:
    """Whether two numbers are a day and a month, or a month and a year, in any order."""
    pair = sorted((one, other))
    return 1 <= pair[0] <= 12 and (1 <= pair[1] <= 31 or pair[1] in _YEAR)


def _days_and_months(numbers: list[int]) -> bool:
    """Whether of three numbers one can be a month, one a day and one a year, as any country writes them."""
    year = next((n for n in (numbers[0], numbers[2]) if n > 31 or n == 0), numbers[2])
    rest = list(numbers)
    rest.remove(year)
    return (year in _YEAR or year < 100) and min(rest) in range(1, 13) and max(rest) in range(1, 32)
