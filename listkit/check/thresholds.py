"""What the owner wants otherwise: [checks] of shop.toml, remarks that she accepts, and what a code means in her shop.

There a code is "off", "look at" or "must fix", or gets another figure where it has one. What cannot be read there is a
problem itself and leaves ours in force.
"""

import re
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from decimal import Decimal
from difflib import get_close_matches
from functools import lru_cache
from typing import Final

from listkit.check.alike import SHORTEST, is_slip, one_line
from listkit.check.rule import Kind
from listkit.check.rules import CODES, THRESHOLDS, leveled
from listkit.model.codes import variant_codes
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
_LONGEST: Final = 60  # letters of a code for which a like one is looked for
_MOST_NEAR: Final = 100  # wrong entries likewise
_FILE: Final = re.compile(r"\.[A-Za-z]{2,5}\Z")


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
            Problem(
                problem.place,
                problem.code,
                one_line(problem.message),
                one_line(problem.hint),
                own_level=self.levels.get(problem.code) or leveled(problem).own_level,
                draft=problem.draft,
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


def without_accepted(problems: tuple[Problem, ...], shop: Shop) -> tuple[tuple[Problem, ...], tuple[Problem, ...]]:
    """Return the problems less those that [[accepted]] answers, and those of entries that are wrong or answer nothing.

    What must be fixed is never left out, nor what speaks of a draft.
    """
    if not shop.settings.accepted:
        return problems, ()
    kept: list[Problem] = []
    answered: set[int] = set()
    folders = {folder.folder: folder.code for folder in shop.folders if folder.code}
    codes, keys = _codes(shop), frozenset(channel.key for channel in shop.channels) | shop.left_out.channels
    of_check: dict[str, dict[str, list[int]]] = {}  # the entries for a check, by what they name
    for at, entry in enumerate(shop.settings.accepted):
        of_check.setdefault(entry.check, {}).setdefault(entry.at, []).append(at)
    of_channels = {check: [name for name in named if name in keys] for check, named in of_check.items()}
    for problem in problems:
        asked, file = of_check.get(problem.code, {}), problem.place.file.split("/")
        there = {problem.place.row, problem.place.file}
        if asked and file[0] == "sets" and len(file) > 2:
            there.add(folders.get(file[1], ""))
        there |= {code for code in _names_in(problem.message) if code in codes} if asked else set()
        there |= {key for key in of_channels.get(problem.code, ()) if _of_channel(key, problem)}
        entries = [at for name in there for at in asked.get(name, ())]
        answered.update(entries)
        if not entries or problem.level is Level.MUST_FIX or problem.draft:
            kept.append(problem)
    added: list[Problem] = []
    known = codes | keys
    for at, entry in enumerate(shop.settings.accepted):
        place = Place("shop.toml", key=("accepted", at, "check"))
        if entry.check not in CODES:
            fault = _no_such(entry.check, "Write the code that stands behind the message.")
            added.append(Problem(place, "unknown-code", fault.message, fault.hint, Level.LOOK_AT))
        elif at not in answered and not (entry.at in known or _may_be(entry.at, shop)):
            place = Place("shop.toml", key=("accepted", at, "at"))
            message = f'there is no code, channel or file "{entry.at}".'
            meant = _meant(entry.at, known) if len(added) < _MOST_NEAR else ""
            instead = f'"{meant}"' if meant else "the code of a set, variant or item, the key of a channel, or a file"
            added.append(Problem(place, "accepted-unused", message, f"Write {instead}.", Level.LOOK_AT))
        elif at not in answered:
            message = f"nothing answers to {entry.check} at {entry.at} any more."
            added.append(Problem(place, "accepted-unused", message, "Take the entry out.", Level.LOOK_AT))
    return tuple(kept), tuple(read_thresholds(shop.settings)[0].judged(added))


def _meant(name: str, known: Collection[str]) -> str:
    """Return the first of what is known that `name` may be a slip of, "" for none."""
    is_long = len(name) >= SHORTEST
    return min((each for each in known if is_slip(name, each)), default="") if is_long else ""


def _codes(shop: Shop) -> frozenset[str]:
    """Return the codes of items, sets and variants, those of broken sets among them."""
    variants = (code for each in shop.sets for code in variant_codes(each.gift_set))
    sets = (*(each.gift_set.code for each in shop.sets), *(folder.code for folder in shop.folders if folder.code))
    return frozenset((*(item.code for item in shop.items), *sets, *variants))


def _may_be(at: str, shop: Shop) -> bool:
    """Whether `at` looks like a file, or like a code that could not be read."""
    unread = any(folder.code and at.startswith(f"{folder.code}-") for folder in shop.folders)
    return bool(_FILE.search(at)) or unread or shop.left_out.may_hold(at)


_NAME: Final = re.compile(r"(?<![\w./-])\w[\w./-]*?(?![\w-]|[./]\w)")


def _names_in(message: str) -> list[str]:
    """Return what in a message may be a code: words with all that is joined to them, less a full stop behind.

    >>> _names_in("TT, and TT.2."), _names_in("TT.2 and TT-3.")
    (['TT', 'and', 'TT.2'], ['TT.2', 'and', 'TT-3'])
    """
    return _NAME.findall(message)


def _of_channel(key: str, problem: Problem) -> bool:
    """Whether a problem is in the file of a channel, or names its key in quotes."""
    return problem.place.file == f"channels/{key}.toml" or f'"{key}"' in problem.message


def _no_such(code: str, hint: str) -> FieldError:
    """Return the fault of a code that is not there, with the nearest one or `hint`."""
    near = _near(code)
    return FieldError(f'there is no check "{code}".', f'Write "{near[0]}".' if near else hint)


@lru_cache(maxsize=1024)
def _near(code: str) -> list[str]:
    return get_close_matches(code, CODES, n=1) if len(code) <= _LONGEST else []


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
