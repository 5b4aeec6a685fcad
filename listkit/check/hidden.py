"""What is told of a broken shop behind its faults: what holds whatever is written in their place.

A shop is read as though its faults were mended, once with small stand-ins and once with large ones. What both readings
say in the same words depends on none of them. What one of them says, or both in other words, is told too where it is so
with the values that are usual in the shop, with words that say this.
"""

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from typing import Final

from listkit import bounds
from listkit.check.rules import CODES
from listkit.model.shop import Guess, Shop
from listkit.problem import Level, Place, Problem

_FAULT: Final = "template-fault"
UNLISTED: Final = (_FAULT, "language-missing")
"""Without what these are told of, a channel has no listings."""
EXTREMES: Final = (Guess.SMALL, Guess.LARGE)
_IF: Final = "if what must be fixed first turns out as is usual in this shop, "
Readings = tuple[tuple[Problem, ...], ...]
"""The problems of each reading."""


def unsought(problems: Sequence[Problem], shop: Shop) -> tuple[Problem, ...]:
    """Return the remark that behind so many faults, or in so large a shop, nothing is looked for; () where it is."""
    faults = [each for each in problems if each.level is Level.MUST_FIX]
    measures = (
        (len(faults), bounds.FAULTS_MENDED, "things to fix"),
        (len(shop.items), bounds.ITEMS_MENDED, "items"),
        (sum(len(item.ingredients) for item in shop.items), bounds.LISTS_MENDED, "letters in lists of ingredients"),
    )
    beyond = next(((count, most, things) for count, most, things in measures if count > most), None)
    if not faults or beyond is None:
        return ()
    count, most, things = beyond
    message = f"there are {count:,} {things}; with more than {most:,}, what the things to fix hide is not looked for."
    hint = "Mend these first, then check again."
    worst = Counter(each.place.file for each in faults).most_common(1)[0][0]
    return (Problem(Place(worst), "not-looked-for", message, hint, Level.LOOK_AT),)


def that_can_be_listed(shop: Shop, unlisted: Sequence[Problem], guess: Guess) -> Shop:
    """Return the shop with other stories in the place of faulty ones, and every channel in the shop's language.

    Once without these stories and with the channels' bounds for texts; once with long stories and without such bounds,
    since nobody knows how long texts are in a language that has no words.
    """
    faulty = {each.place.file for each in unlisted if each.code == _FAULT}
    foreign = any(each.code != _FAULT for each in unlisted)
    long, bounded = "A few plain words of nothing in particular. " * 40, guess is Guess.SMALL
    sets = tuple(
        replace(
            folder,
            stories=tuple(
                replace(story, text=long) if story.file in faulty else story
                for story in folder.stories
                if story.file not in faulty or not bounded
            ),
        )
        for folder in shop.sets
    )
    free = {} if bounded else {"title": None, "description": None, "forbidden": ""}
    channels = tuple(
        channel
        if channel.language in (None, shop.settings.language) or not foreign
        else channel.model_copy(update={"language": None, "limits": channel.limits.model_copy(update=free)})
        for channel in shop.channels
    )
    return replace(shop, sets=sets, channels=channels)


def with_hidden(known: tuple[Problem, ...], mended: Readings, finished: Readings) -> tuple[Problem, ...]:
    """Return the problems with those behind others, less remarks that only follow from parts that are left out.

    Args:
        known: what is told of the shop as it is.
        mended: the same of the shop with each kind of stand-in.
        finished: the same without drafts; a problem that it does not have is one of the drafts.
    """
    there, possible = {identity(each) for each in known}, {identity(each) for part in mended for each in part}
    finished_too = {_said(each) for each in _in_each(finished)}
    if not any(each.code in UNLISTED for each in known):
        known = tuple(each for each in known if each.level is Level.MUST_FIX or identity(each) in possible)
    hidden = (each for each in _in_each(mended) if identity(each) not in there)
    marked = (replace(each, draft=_said(each) not in finished_too) for each in hidden)
    doubted = {each.place for each in known if each.code == "bad-value"}  # told of a code that may be a date already
    return tuple(each for each in (*known, *marked) if each.code != "code-unsafe" or each.place not in doubted)


def unsure(known: Sequence[Problem], mended: Readings) -> set[tuple[str, Place]]:
    """Return what a reading with stand-ins tells of figures that is not known, by code and place."""
    possible = {identity(each) for part in mended for each in part if CODES[each.code].by_figures}
    return possible - {identity(each) for each in known}


def with_usual_values(
    known: Sequence[Problem], mended: Readings, usual: Sequence[Problem], drafts: Collection[str]
) -> tuple[Problem, ...]:
    """Return what else is to be looked at where values are as is usual here; its words say so.

    Args:
        known: what is told already.
        mended: what is told of the shop with extreme stand-ins; of the rest nothing is said.
        usual: the same with usual ones; what it tells of the very thing that has one is left out.
        drafts: folders of sets that are not finished.
    """
    possible, apart = unsure(known, mended), tuple(f"sets/{folder}/" for folder in drafts)
    faulty = {_thing(each) for each in known if each.level is Level.MUST_FIX and each.code != "unknown-code"}
    return tuple(
        replace(
            each,
            message=f"{_IF}{each.message}",
            own_level=Level.LOOK_AT,
            draft=each.place.file.startswith(apart),
        )
        for each in usual
        if identity(each) in possible and _thing(each) not in faulty
    )


def _thing(problem: Problem) -> tuple[object, ...]:
    """Return what a problem is about: a row, an entry of a list in a file, or a key of it."""
    place = problem.place
    outer = place.key[:2] if len(place.key) > 1 and isinstance(place.key[1], int) else place.key[:1]
    return (place.file, place.row or place.line) if place.row or place.column else (place.file, *outer)


def _in_each(readings: Readings) -> Iterator[Problem]:
    """Yield the problems that every reading has, in the same words."""
    alike = set.intersection(*({_said(problem) for problem in problems} for problems in readings))
    return (problem for problem in readings[0] if _said(problem) in alike)


def _said(problem: Problem) -> tuple[object, ...]:
    """Return by what a problem is the same in two readings, its words included."""
    return (*identity(problem), problem.message, problem.hint)


def identity(problem: Problem) -> tuple[str, Place]:
    """Return by what a problem is the same in two readings; its words may count other sets."""
    place = problem.place
    return problem.code, Place(place.file, row=place.row, column=place.column, key=place.key)
