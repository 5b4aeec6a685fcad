"""Thresholds: every figure that a check goes by, in one place, and what the owner wants otherwise.

In [checks] of shop.toml a code is "off", "look at" or "must fix", or gets another threshold where it has one.
What cannot be read there is a problem itself and leaves ours in force.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from difflib import get_close_matches
from enum import StrEnum
from typing import Final

from listkit.check.alike import one_line
from listkit.model.photo import BLURRED_BELOW, DARK_BELOW, NEAR_LIKENESS
from listkit.model.settings import Settings
from listkit.problem import CODES, FieldError, Level, Place, Problem
from listkit.units.money import Money
from listkit.units.quantity import Example, parse_decimal, parse_share

COMMON: Final = "common practice, no source"
ALWAYS: Final = frozenset(
    (
        *("file-missing", "encoding", "syntax", "unknown-key", "missing-key", "bad-value", "unknown-code"),
        *("code-twice", "path-outside", "not-a-picture", "template-fault", "language-missing"),
    )
)
"""Codes that [checks] does not touch: what they speak of could not be read, and is left out."""
WHOLESALE_LEAST: Final = Decimal("1.2")
"""Times the full cost below which a wholesale price must be mended; common practice, no source."""


class Kind(StrEnum):
    """What a threshold counts."""

    SHARE = "a share"
    MONEY = "an amount of money"
    DAYS = "a number of days"
    MONTHS = "a number of months"
    TIMES = "a number"
    COUNT = "a whole number"


EXAMPLES: Final = {
    Kind.SHARE: "30 %",
    Kind.MONEY: "0.50",
    Kind.DAYS: "120 days",
    Kind.MONTHS: "9 months",
    Kind.TIMES: "1.4",
    Kind.COUNT: "12",
}


@dataclass(frozen=True, slots=True)
class Threshold:
    """A figure that a check goes by: what it counts, ours, what it means, and where ours is from."""

    kind: Kind
    ours: Decimal
    meaning: str
    source: str = COMMON


# Our figures. Those of photos are measured: well lit and sharp pictures of the demo shop lie at 0.61 to 0.87 of
# lightness and 0.71 to 0.84 of sharpness; with three stops less light at 0.29 to 0.35, and blurred by 0.6 % of the
# short side (twelve pixels of 2000) at 0.30 to 0.41.
THRESHOLDS: Final[dict[str, Threshold]] = {
    "options-alike": Threshold(Kind.COUNT, Decimal(2), "letters by which words of more than five letters differ"),
    "margin-thin": Threshold(
        Kind.SHARE, Decimal(0), "what a channel leaves, of the price before tax", "lowest_margin of shop.toml"
    ),
    "band-missed": Threshold(Kind.MONEY, Decimal(1), "above a ceiling, at most"),
    "wholesale-thin": Threshold(
        Kind.TIMES, Decimal("1.5"), f"times the full cost; below {WHOLESALE_LEAST} times it must be mended"
    ),
    "sheet-long": Threshold(Kind.DAYS, Decimal(180), "from the day of issue to the last day of its prices"),
    "shop-margin-low": Threshold(Kind.SHARE, Decimal("0.45"), "what the shop keeps of the retail price before tax"),
    "stock-shared": Threshold(Kind.TIMES, Decimal("1.5"), "times what can be made of the set, at most"),
    "shelf-life-short": Threshold(Kind.MONTHS, Decimal(6), "from making"),
    "arrival-short": Threshold(Kind.MONTHS, Decimal(9), "from reaching a shop: from making, less oldest"),
    "accent-faint": Threshold(
        Kind.TIMES,
        Decimal("4.5"),
        "to 1, the contrast with white",
        "WCAG 2.2, success criterion 1.4.3 (contrast, minimum)",
    ),
    "photo-twice": Threshold(
        Kind.COUNT, Decimal(NEAR_LIKENESS), "levels of 255, by which pictures that look alike differ in any one field"
    ),
    "photo-dark": Threshold(
        Kind.SHARE,
        DARK_BELOW,
        "of CIE 1976 lightness, on average; 18 % grey has 50 %",
        "the lightness is ISO/CIE 11664-4; the limit is our own, measured",
    ),
    "photo-blurred": Threshold(
        Kind.SHARE,
        BLURRED_BELOW,
        "of sharpness, what a further blur takes away",
        'the measure is Crete et al., "The blur effect", SPIE 6492 (2007); the limit is our own, measured',
    ),
}


@dataclass(frozen=True, slots=True)
class Thresholds:
    """What is in force in one shop: codes turned off, levels changed, figures changed."""

    off: frozenset[str] = frozenset()
    levels: tuple[tuple[str, Level], ...] = ()
    figures: tuple[tuple[str, Decimal], ...] = ()

    def __getitem__(self, code: str) -> Decimal:
        """Return the figure that the check `code` goes by."""
        return dict(self.figures).get(code, THRESHOLDS[code].ours)

    def judged(self, problems: Iterable[Problem]) -> list[Problem]:
        """Return the problems as the owner wants them: without those turned off, at her levels, each once.

        Messages quote the owner's texts; they come out on one line.
        """
        levels = dict(self.levels)
        kept = [one for one in dict.fromkeys(problems) if one.code not in self.off]
        return [
            replace(
                one,
                own_level=levels.get(one.code, one.own_level),
                message=one_line(one.message),
                hint=one_line(one.hint),
            )
            for one in kept
        ]


def read_thresholds(settings: Settings) -> tuple[Thresholds, tuple[Problem, ...]]:
    """Return what [checks] says, and what is wrong in it."""
    off: set[str] = set()
    levels: list[tuple[str, Level]] = []
    figures = [("margin-thin", settings.prices.lowest_margin)]
    problems: list[Problem] = []
    for code, text in settings.checks.items():
        words = " ".join(text.split()).casefold()
        try:
            _known(code)
            if words == "off":
                off.add(code)
            elif words in _LEVELS:
                levels.append((code, _LEVELS[words]))
            else:
                figures.append((code, parse_threshold(code, text, settings.currency)))
        except FieldError as fault:
            kind = "bad-value" if code in CODES else "unknown-code"
            place = Place("shop.toml", key=("checks", code))
            problems.append(Problem(place, kind, fault.message, fault.hint))
    return Thresholds(frozenset(off), tuple(levels), tuple(figures)), tuple(problems)


def _known(code: str) -> None:
    if code not in CODES:
        near = get_close_matches(code, CODES, n=1)
        raise FieldError(
            f'there is no check "{code}".', f'Write "{near[0]}".' if near else "See listkit check for the codes."
        )
    if code in ALWAYS:
        raise FieldError(f'"{code}" cannot be changed: what it tells is left out.', "Take the line out.")


def parse_threshold(code: str, text: str, currency: str) -> Decimal:
    """Return the figure that `text` states for the check `code`.

    Raises:
        FieldError: the check has no figure, or goes by another kind of one.
    """
    threshold = THRESHOLDS.get(code)
    choices = '"off", "look at" or "must fix"'
    if threshold is None:
        raise FieldError(f'"{text}" is nothing that "{code}" can be.', f"Write {choices}.")
    try:
        return _PARSERS[threshold.kind](text.strip(), currency)
    except FieldError:
        example = EXAMPLES[threshold.kind]
        hint = f'Write it as in "{example}", or {choices}.'
        raise FieldError(f'"{text}" is not {threshold.kind}, which "{code}" goes by.', hint) from None


def threshold_text(code: str, figure: Decimal) -> str:
    """Return the figure as the owner writes it."""
    kind = THRESHOLDS[code].kind
    if kind is Kind.SHARE:
        return f"{(figure * 100).normalize():f} %"
    ending = {Kind.DAYS: " days", Kind.MONTHS: " months"}.get(kind, "")
    return f"{figure:.2f}" if kind is Kind.MONEY else f"{figure.normalize():f}{ending}"


def _counted(words: str) -> Callable[[str, str], Decimal]:
    pattern = re.compile(rf"(\d{{1,5}})\s*(?:{words})", re.ASCII | re.IGNORECASE)

    def parse(text: str, _currency: str) -> Decimal:
        match = pattern.fullmatch(text)
        if match is None:
            raise FieldError(f'"{text}" is not counted so.')
        return Decimal(match[1])

    return parse


def _times(text: str, _currency: str) -> Decimal:
    figure = parse_decimal(text.rstrip("x× "), Example("a number", "1.4"))
    if figure < 0:
        raise FieldError(f'"{text}" is negative.')
    return figure


_LEVELS: Final = {"look at": Level.LOOK_AT, "must fix": Level.MUST_FIX}
_PARSERS: Final[dict[Kind, Callable[[str, str], Decimal]]] = {
    Kind.SHARE: lambda text, _: parse_share(text),
    Kind.MONEY: lambda text, currency: Money.parse(text, currency).amount,
    Kind.DAYS: _counted("days?"),
    Kind.MONTHS: _counted("months?"),
    Kind.TIMES: _times,
    Kind.COUNT: _counted(""),
}
