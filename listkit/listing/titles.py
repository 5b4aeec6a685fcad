"""Titles, variants' names and keywords.

A title is grown part by part (name, "gift set", forms, scent or season, count), no word
in it twice, and the longest that the channel takes is used; so the last part goes first. What it is stands at its
front, so that the first 60 characters make sense alone.
"""

import re
import unicodedata
from collections import Counter
from typing import Final

from listkit.compute.catalog import SetFacts
from listkit.listing.formats import Measure, fitting
from listkit.listing.listings import ShownSlot
from listkit.listing.words import Words, fill, many, slot_noun, small
from listkit.model.gift_set import GiftSet, Slot
from listkit.model.settings import Season

LONGEST_SEASON: Final = 200  # days; what is on sale longer is no season to name in a title
_WORD: Final = re.compile(r"[\w'’]+")
_LEFT_OVER: Final = " ,;:.–-&"


def titles_of(wording: Words, facts: SetFacts) -> tuple[str, ...]:
    """Return the title with one part more each time; a title that the owner states stands alone."""
    stated = facts.source.gift_set.title
    return (stated,) if stated else tuple(_grown(wording, facts))


def fitting_title(titles: tuple[str, ...], gift_set: GiftSet, limit: int | None, size: Measure = len) -> str:
    """Return the longest of `titles` of size `limit` at most; what the owner states is taken as it is."""
    if gift_set.title or limit is None:
        return titles[-1]
    fit = [title for title in titles if size(title) <= limit]
    return fit[-1] if fit else cut_words(titles[0], limit, size)


def head_of(wording: Words, facts: SetFacts) -> str:
    """Return the name with what it is: "First Nectar gift set"; a set without box is not called one."""
    gift_set = facts.source.gift_set
    if gift_set.boxed:
        told = wording.titles.gift_set
        repeated = _words_of(gift_set.name) & _words_of(told)
        return gift_set.name if repeated else fill(wording.titles.named, name=gift_set.name, gift_set=told)
    forms = _forms(wording, facts, gift_set.name)
    return (
        fill(wording.titles.alone, name=gift_set.name, form=forms[0]) if _alone(gift_set) and forms else gift_set.name
    )


def names_of(
    wording: Words, facts: SetFacts, slots: tuple[ShownSlot, ...], limit: int | None, size: Measure = len
) -> tuple[str, str]:
    """Return what stands before and after the choices in each variant's name: ("First Nectar gift set, ", "").

    The longest beginning is taken with which the longest choices stay within `limit`.
    """
    longest = sum(max(map(size, choice_names(facts, slot).values()), default=0) for slot in slots)
    longest += 2 * (len(slots) - 1)
    heads = dict.fromkeys((head_of(wording, facts), facts.name))
    around = [fill(wording.titles.chosen, head=head, choices="\0").partition("\0")[::2] for head in heads]
    for before, after in around:
        if limit is None or size(before) + longest + size(after) <= limit:
            return before, after
    before, after = fill(wording.titles.chosen, head="", choices="\0").partition("\0")[::2]
    room = max(0, (limit or 0) - size(before) - longest - size(after))
    head = cut_words(facts.name, room, size)
    return (f"{head}{before}", after) if head else ("", "")


def choice_names(facts: SetFacts, slot: ShownSlot) -> dict[str, str]:
    """Return what a variant's name says of each option as it reads: its item's name, where that tells it apart."""
    stated = next(one for one in facts.source.gift_set.slots if one.slot == slot.name)
    names = {option.says: option.item.name for option in slot.options}
    if any(option.says for option in stated.choose) or len(set(names.values())) < len(names):
        return {says: says for says in names}
    return names


def keywords_of(gift_set: GiftSet) -> tuple[str, ...]:
    """Return the stated keywords, trimmed, each once whatever its capitals."""
    trimmed = (" ".join(keyword.split()) for keyword in gift_set.keywords)
    return tuple({keyword.casefold(): keyword for keyword in reversed([*trimmed]) if keyword}.values())[::-1]


def cut_words(text: str, most: int, size: Measure = len) -> str:
    """Return `text` in a size of at most `most`, cut behind a whole word; a first word too long is cut within."""
    if size(text) <= most:
        return text
    most = fitting(text, most, size)
    return (text[: most + 1].rpartition(" ")[0] or text[:most]).rstrip(_LEFT_OVER) or text[:most].strip()


def _grown(wording: Words, facts: SetFacts) -> list[str]:
    head = head_of(wording, facts)
    titles = list(dict.fromkeys((facts.name, head)))
    gift_set = facts.source.gift_set
    forms = () if _alone(gift_set) and not gift_set.boxed else _forms(wording, facts, head)
    if forms:
        titles.append(fill(wording.titles.lead, head=head, forms=_together(wording, forms)))
    scent, season = _scent(facts), facts.season
    if scent:
        _add(titles, fill(wording.titles.scent, title=titles[-1], scent=scent))
    elif season and _is_short(season):
        _add(titles, fill(wording.titles.season, title=titles[-1], season=season.name))
    pieces = sum(entry.quantity for entry in gift_set.contents)
    if pieces > 1:
        _add(titles, fill(wording.titles.count, title=titles[-1], count=wording.count("piece", pieces)))
    return titles


def _add(titles: list[str], title: str) -> None:
    """Add a longer title, unless the new part says a word again."""
    if not _words_of(titles[-1]) & _words_of(title.replace(titles[-1], "", 1)):
        titles.append(title)


def _alone(gift_set: GiftSet) -> bool:
    return not gift_set.boxed and len(gift_set.contents) == 1


def _scent(facts: SetFacts) -> str:
    """Return the scent that all pieces share; "" when they do not."""
    scents = {item.scent for item in facts.items if item.scent}
    return scents.pop() if len(scents) == 1 and all(item.scent for item in facts.items) else ""


def _is_short(season: Season) -> bool:
    return (season.off_sale - season.on_sale).days <= LONGEST_SEASON


def _forms(wording: Words, facts: SetFacts, before: str) -> tuple[str, ...]:
    """Return the forms of what is inside, those with one last word together, without words that `before` has."""
    items = {item.code: item for item in facts.items}
    told: Counter[str] = Counter()
    for entry in facts.source.gift_set.contents:
        if isinstance(entry, Slot):
            told[slot_noun(wording, entry, items)] += entry.quantity
        else:
            told[small(wording, items[entry.item].form)] += entry.quantity
    forms_told = tuple(f"{n} {many(wording, form)}" if n > 1 else form for form, n in told.items() if form)
    return _merged(wording, forms_told, _words_of(before))


def _merged(wording: Words, forms: tuple[str, ...], used: set[str]) -> tuple[str, ...]:
    """Return forms with no word said twice: "lip & hand balm" for lip balm and hand balm."""
    last, groups = wording.titles.shared == "last", dict[str, list[str]]()
    for form in forms:
        rest, _, head = form.rpartition(" ") if last else form.partition(" ")[::-1]
        groups.setdefault(head, []).append(rest)
    merged: list[str] = []
    used, heads = set(used), _words_of(" ".join(groups))
    for head, rests in groups.items():
        if _words_of(head) & used:
            continue
        kept: list[str] = []
        for rest in rests:
            kept += filter(None, [_fresh(rest, used | heads | _words_of(" ".join(kept)))])
        more = _together(wording, tuple(kept))
        used |= _words_of(" ".join((head, *kept)))
        merged.append(" ".join(filter(None, (more, head) if last else (head, more))))
    return tuple(merged)


def _together(wording: Words, parts: tuple[str, ...]) -> str:
    """Return "bar, balm & butter"; only commas where a part is of several already."""
    if len(parts) < 2 or any(f" {wording.titles.together} " in part for part in parts):
        return ", ".join(parts)
    return f"{', '.join(parts[:-1])} {wording.titles.together} {parts[-1]}"


def _fresh(text: str, used: set[str]) -> str:
    return " ".join(word for word in text.split() if not _words_of(word) & used)


def _words_of(text: str) -> set[str]:
    return set(_WORD.findall(fold(text)))


def fold(text: str) -> str:
    """Return `text` for comparing: small letters without accents."""
    if text.isascii():
        return text.lower()
    decomposed = unicodedata.normalize("NFKD", text.casefold())
    return "".join([letter for letter in decomposed if not unicodedata.combining(letter)])
