"""What the owner wants otherwise: [checks] of shop.toml, remarks that she accepts, and what a code means in her shop.

There a code is "off", "look at" or "must fix", or gets another figure where it has one. What cannot be read there is a
problem itself and leaves ours in force.
"""

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from difflib import get_close_matches
from pathlib import PurePosixPath
from typing import Final

from listkit.check.alike import one_line
from listkit.check.rules import CODES, THRESHOLDS, Kind, leveled
from listkit.model.settings import Settings
from listkit.model.shop import Shop
from listkit.problem import FieldError, Level, Place, Problem
from listkit.units.money import Money
from listkit.units.quantity import Example, parse_decimal, parse_share, share_text

_EXAMPLES: Final = {
    Kind.SHARE: "30 %",
    Kind.MONEY: "0.50",
    Kind.DAYS: "120 days",
    Kind.MONTHS: "9 months",
    Kind.TIMES: "1.4",
    Kind.COUNT: "12",
}


@dataclass(frozen=True, slots=True)
class Thresholds:
    """What is in force in one shop: codes turned off, levels that the owner states, and the figure of each check."""

    off: frozenset[str]
    levels: dict[str, Level]
    figures: dict[str, Decimal]

    def judged(self, problems: Iterable[Problem]) -> list[Problem]:
        """Return the problems as the owner wants them: without those turned off, at her levels, each once.

        Messages quote the owner's texts; they come out on one line.
        """
        return [
            replace(
                leveled(problem),
                own_level=self.levels.get(problem.code) or leveled(problem).own_level,
                message=one_line(problem.message),
                hint=one_line(problem.hint),
            )
            for problem in dict.fromkeys(problems)
            if problem.code not in self.off
        ]


def read_thresholds(settings: Settings) -> tuple[Thresholds, tuple[Problem, ...]]:
    """Return what is in force by [checks], and what is wrong in it."""
    off: set[str] = set()
    levels: dict[str, Level] = {}
    figures = {code: threshold.ours for code, threshold in THRESHOLDS.items()}
    figures["margin-thin"] = settings.prices.lowest_margin
    problems: list[Problem] = []
    for code, text in settings.checks.items():
        wanted = " ".join(text.split()).casefold()
        try:
            if code not in CODES:
                raise _no_such(code, "See listkit check for the codes.")
            if CODES[code].always:
                raise FieldError(f'"{code}" cannot be changed: what it tells is left out.', "Take the line out.")
            if wanted == "off":
                off.add(code)
            elif wanted in _LEVELS:
                levels[code] = _LEVELS[wanted]
            else:
                figures[code] = parse_threshold(code, text, settings.currency)
        except FieldError as fault:
            kind = "bad-value" if code in CODES else "unknown-code"
            place = Place("shop.toml", key=("checks", code))
            problems.append(Problem(place, kind, fault.message, fault.hint))
    return Thresholds(frozenset(off), levels, figures), tuple(problems)


def without_accepted(problems: Iterable[Problem], shop: Shop) -> tuple[Problem, ...]:
    """Return the problems less those that [[accepted]] answers, and with what is wrong in an entry, or answers nothing.

    What must be fixed is never left out, nor what speaks of a draft.
    """
    kept: list[Problem] = []
    answered: set[int] = set()
    folders = {f"sets/{folder.folder}/": folder.code for folder in shop.folders if folder.code}
    for problem in problems:
        near = next((code for folder, code in folders.items() if problem.place.file.startswith(folder)), "")
        entries = [
            at
            for at, entry in enumerate(shop.settings.accepted)
            if entry.check == problem.code and _speaks_of(problem, near, entry.at)
        ]
        answered.update(entries)
        if not entries or problem.level is Level.MUST_FIX or problem.draft:
            kept.append(problem)
    added: list[Problem] = []
    for at, entry in enumerate(shop.settings.accepted):
        place = Place("shop.toml", key=("accepted", at, "check"))
        if entry.check not in CODES:
            fault = _no_such(entry.check, "Write the code that stands behind the message.")
            added.append(Problem(place, "unknown-code", fault.message, fault.hint, Level.LOOK_AT))
        elif at not in answered:
            message = f"nothing answers to {entry.check} at {entry.at} any more."
            added.append(Problem(place, "accepted-unused", message, "Take the entry out.", Level.LOOK_AT))
    return (*kept, *read_thresholds(shop.settings)[0].judged(added))


def _speaks_of(problem: Problem, near: str, at: str) -> bool:
    """Whether a problem is said of what `at` names; `near` is the code of the set whose file it is in."""
    place = problem.place
    if at in (place.row, place.file, near, PurePosixPath(place.file).stem):
        return True
    return re.search(rf"(?<![\w-]){re.escape(at)}(?![\w-])", problem.message) is not None


def _no_such(code: str, hint: str) -> FieldError:
    """Return the fault of a code that is not there, with the nearest one or `hint`."""
    near = get_close_matches(code, CODES, n=1)
    return FieldError(f'there is no check "{code}".', f'Write "{near[0]}".' if near else hint)


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
        example = _EXAMPLES[threshold.kind]
        hint = f'Write it as in "{example}", or {choices}.'
        raise FieldError(f'"{text}" is not {threshold.kind}, which "{code}" goes by.', hint) from None


def threshold_text(code: str, figure: Decimal) -> str:
    """Return the figure of a check as the owner writes it.

    >>> threshold_text("shelf-life-short", Decimal(9))
    '9 months'
    """
    kind = THRESHOLDS[code].kind
    if kind is Kind.SHARE:
        return share_text(figure)
    ending = {Kind.DAYS: " days", Kind.MONTHS: " months"}.get(kind, "")
    return f"{figure:.2f}" if kind is Kind.MONEY else f"{figure.normalize():f}{ending}"


def explain(code: str, settings: Settings) -> str:
    """Return the explanation of a code in a few lines: its rule, its figure in this shop, its source, its switch.

    Raises:
        FieldError: there is no such code.
    """
    if code not in CODES:
        raise _no_such(code, "")
    rule, threshold = CODES[code], THRESHOLDS.get(code)
    in_force, _ = read_thresholds(settings)
    level = f"{in_force.levels[code]}, by your shop.toml" if code in in_force.levels else str(rule.level)
    lines = [f"{code} · {'off in your shop.toml' if code in in_force.off else level}", f"  {rule.sentence}"]
    if threshold:
        figure = in_force.figures[code]
        whose = "ours" if figure == threshold.ours else "yours"
        lines.append(f"  Figure: {threshold_text(code, figure)} {threshold.meaning} ({whose}).")
    lines.append(f"  From: {rule.source}.")
    if rule.always:
        lines.append("  It cannot be switched off.")
    else:
        another = f', or "{_EXAMPLES[threshold.kind]}" for another figure' if threshold else ""
        lines.append(
            f'  Switch it off in shop.toml, under [checks]: {code} = "off"; or "look at", "must fix"{another}.'
        )
    return "\n".join(lines)


def _counted(unit: str) -> Callable[[str, str], Decimal]:
    """Return a parser of whole numbers with a unit, the latter as a pattern."""
    pattern = re.compile(rf"(\d{{1,5}})\s*(?:{unit})", re.ASCII | re.IGNORECASE)

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
