"""A one-page briefing of what changes: why, which prices, what to send, take down and print again, whom to tell.

The same page is shown on screen and written as changes.md; both are made of the same sections.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import compress
from typing import Any, Final

from listkit.actions.changes import ChannelChanges
from listkit.actions.outputs import FileMove
from listkit.fields import FIELDS, Kind
from listkit.ledger.causes import Cause
from listkit.ledger.changes import Brake, Change, codes_of_other_goods, move
from listkit.ledger.moments import local_time
from listkit.model.shop import Shop
from listkit.present.table import table
from listkit.problem import on_screen
from listkit.read.wording import listed
from listkit.units.money import amount_of
from listkit.units.shown import Measures
from listkit.units.spoken import Spoken
from listkit.units.weight import Weight

_MOST_ROWS: Final = 24  # of a table: one page
_MOST_CODES: Final = 6
_LABELS: Final = "print/"
_ON_PAPER: Final = frozenset(
    {"price", "unitPrice", "gtin", "contents", "netContents", "netDeclaration", "ingredients", "cautions"}
)  # what labels and cards say of a variant
_MOST_FILES: Final = 12
_MOST_BRAKES: Final = 12  # shown of one channel
_LONGEST: Final = 36  # characters of a fact that is shown
_PICTURES: Final = (".jpg", ".webp", ".avif", ".png", ".svg")
_FOLLOWERS: Final = ("price", "lowestPrice", "highestPrice", "wholesalePrice", "suggestedRetail", "includedTax", "kept")
_MARKS: Final = re.compile(r"([\\`*_\[\]<>|#])")


Key = tuple[str, ...]
"""A title, and what makes a line or row below it the same on another place."""


@dataclass(frozen=True, slots=True)
class Section:
    """A heading with lines, or with a table whose first row names its columns; `left` of them are words.

    `all_of_it` says where the rows are that one page does not hold.
    """

    title: str
    lines: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
    left: int = 2
    all_of_it: str = ""


def sections_of(changes: ChannelChanges, shop: Shop) -> tuple[Section, ...]:
    """Return the page; sections without anything are left out. `shop` says who buys which lines from us."""
    return tuple(map(_bounded, _page(changes, shop)))


def sections_together(changes: Sequence[ChannelChanges], shop: Shop) -> tuple[Section, ...]:
    """Return the pages of several places as one: what most of them have in common once, then what is each one's own."""
    pages = [_page(each, shop) for each in changes]
    places: dict[Key, dict[int, None]] = {}  # which pages have an entry
    for at, page in enumerate(pages):
        for section in page[1:]:
            for key in _keys(section):
                places.setdefault(key, {})[at] = None
    sharing = {key: tuple(held) for key, held in places.items()}
    groups = [group for group in dict.fromkeys(sharing.values()) if len(group) > max(1, len(pages) / 2)]
    sections: list[Section] = []
    for group in sorted(groups, key=lambda group: (-len(group), group)):
        names = listed([changes[at].name for at in group], "and")
        common = {key for key, held in sharing.items() if held == group}
        sections += (Section(f"On {names} alike"), *_with_entries(pages[group[0]][1:], common))
    own = {key for key, held in sharing.items() if held not in groups}
    for page in pages:
        sections += (page[0], *_with_entries(page[1:], own))
    return tuple(map(_bounded, sections))


def _keys(section: Section) -> Iterator[Key]:
    """Yield by what each line and row is the same on another place; names are worded there as the place takes them."""
    named = section.rows[0].index("name") if section.rows and "name" in section.rows[0] else -1
    yield from ((section.title, line) for line in section.lines)
    for row in section.rows[1:]:
        yield section.title, *(cell for at, cell in enumerate(row) if at != named)


def _with_entries(page: Sequence[Section], wanted: set[Key]) -> Iterator[Section]:
    """Yield the sections of a page with these lines and rows alone."""
    for section in page:
        kept = [key in wanted for key in _keys(section)]
        lines = tuple(compress(section.lines, kept))
        rows = tuple(compress(section.rows[1:], kept[len(section.lines) :]))
        if lines or rows:
            yield replace(section, lines=lines, rows=(*section.rows[:1], *rows))


def _page(changes: ChannelChanges, shop: Shop) -> tuple[Section, ...]:
    all_new, spoken = changes.record is None, shop.settings.spoken
    documents = [file for file in changes.files if file.document]
    moved = frozenset(
        (*changes.found.new, *(change.code for change in changes.found.changed if change.field in _ON_PAPER))
    )
    sections = (
        Section(
            f"What {'would change' if changes.supposed else 'changes'} on {changes.name}",
            (_against(changes), _counts(changes)),
        ),
        Section(
            "Must look: these codes were published as something else",
            tuple(
                f"{each.code} was published as {each.was} and is {each.now} now: give the new one a code of its own."
                for each in codes_of_other_goods(changes.old, changes.new)
            ),
        ),
        Section("Why", tuple(cause.words for cause in changes.causes)),
        Section(f"Prices in {spoken.currency}", rows=tuple(_price_rows(changes)), all_of_it="changes.csv has all"),
        Section(
            "New",
            tuple(_named(changes.new[code], code, spoken) for code in changes.found.new) if changes.record else (),
        ),
        Section("Other codes: change them there, or take the old ones down", tuple(_recoded(changes, spoken))),
        Section("Take down by hand", tuple(_named(changes.old[code], code, spoken) for code in changes.found.gone)),
        Section(
            "Held back until mended; not gone", tuple(_named(changes.old[code], code, spoken) for code in changes.held)
        ),
        Section(
            "Other facts",
            (),
            tuple(_fact_rows(changes, shop.settings.measures)),
            left=4,
            all_of_it="listkit changes --json has all",
        ),
        Section("Upload again", tuple(_files([file for file in changes.files if not file.document], all_new=all_new))),
        Section("Print or send again", tuple(_files(documents, all_new=all_new, moved=moved))),
        Section("Tell", tuple(_whom(changes, shop))),
    )
    return tuple(section for section in sections if section.lines or len(section.rows) > 1)


def _bounded(section: Section) -> Section:
    """Return the section as one page holds it, with the number of lines and rows that are left out."""
    lines, rows = section.lines, section.rows
    if (over := len(lines) - _MOST_ROWS) > 0:
        lines = (*lines[:_MOST_ROWS], f"and {over} more")
    if (over := len(rows) - 1 - _MOST_ROWS) > 0:
        blank = ("",) * (len(rows[0]) - 1)
        rows = (*rows[: _MOST_ROWS + 1], (f"and {over} more; {section.all_of_it}", *blank))
    return replace(section, lines=lines, rows=rows)


def _against(changes: ChannelChanges) -> str:
    if changes.record is None:
        return "Nothing was recorded of it before; everything is new."
    if not changes.record.number:
        return "Nothing was recorded of it; against the shop as it is."
    note = f" ({changes.record.note})" if changes.record.note else ""
    return f"Against what was recorded on {local_time(changes.record.at)}{note}."


def _counts(changes: ChannelChanges) -> str:
    held = f", {len(changes.held)} held back" if changes.held else ""
    if not changes.found:
        return f"Nothing differs{held}."
    changed = len(changes.found.changed_codes)
    pieces = len(changes.pieces)
    sets = len(changes.sets) - pieces
    parts = [f"{sets} set{'s' * (sets != 1)}"] if sets or not pieces else []
    parts += [f"{pieces} single piece{'s' * (pieces != 1)}"] if pieces else []
    counts = f"{len(changes.found.new)} new, {len(changes.found.gone)} gone, {changed} changed"
    return f"{counts}{held}, in {listed(parts, 'and')}."


def _named(row: Any, code: str, spoken: Spoken) -> str:  # noqa: ANN401 (facts of a row)
    price = amount_of(row.get("price", row.get("wholesalePrice")))
    said = "" if price is None else spoken.money(price)
    return ", ".join(part for part in (f"{code}  {row.get('name', '')}".strip(), said) if part)


def _recoded(changes: ChannelChanges, spoken: Spoken) -> Iterator[str]:
    for code, old in changes.recoded:
        yield f"{old} is {_named(changes.new[code], code, spoken)}"


def _price_rows(changes: ChannelChanges) -> Iterator[tuple[str, ...]]:
    yield ("code", "name", "old", "new", "difference", "per cent")
    for change in changes.found.changed:
        row = changes.new[change.code]
        moved = move(change) if change.field == ("price" if "price" in row else "wholesalePrice") else None
        if moved is not None:
            share = "–" if moved.share is None else f"{moved.share * 100:+.1f} %"
            name = _short(str(row.get("name", "")))
            yield (change.code, name, str(change.old), str(change.new), f"{moved.difference:+f}", share)


def _fact_rows(changes: ChannelChanges, measures: Measures) -> Iterator[tuple[str, ...]]:
    """Yield what else differs; what is alike in several variants is told once, and what follows from prices not."""
    alike: dict[tuple[str, str, str], list[str]] = {}
    for change in changes.found.changed:
        if change.field not in (*_FOLLOWERS, "sku"):
            old, new = (_measured(change.field, value, measures) for value in (change.old, change.new))
            long = max(len(old), len(new)) > _LONGEST
            key = (change.field, "", "written anew") if long else (change.field, old or "–", new or "–")
            alike.setdefault(key, []).append(change.code)
    yield ("field", "old", "new", "variants")
    for (name, old, new), codes in alike.items():
        shown = ", ".join(codes[:3])
        yield (_spoken(name), old, new, f"{shown} and {len(codes) - 3} more" if len(codes) > 3 else shown)


def _spoken(field: str) -> str:
    """Return a field's name as words: "plain description"; one of a feed's own stays.

    >>> _spoken("plainDescription"), _spoken("netContents"), _spoken("Item number")
    ('plain description', 'net contents', 'Item number')
    """
    return re.sub(r"(?<=[a-z])[A-Z]", lambda sign: f" {sign[0].lower()}", field)


def _fact(value: Any) -> str:  # noqa: ANN401 (any fact)
    if isinstance(value, list):
        return "; ".join(map(str, value))
    return "" if value is None else str(value)


def _measured(field: str, value: Any, measures: Measures) -> str:  # noqa: ANN401 (any fact)
    """Return a fact as text; weights and lengths, on record in g and mm, with their unit where that is another."""
    kind = FIELDS[field].kind if field in FIELDS else None
    if value is None or not measures.customary or kind not in (Kind.WEIGHT, Kind.LENGTH):
        return _fact(value)
    exact = Decimal(str(value))
    return measures.weight(Weight(exact)) if kind is Kind.WEIGHT else measures.length(exact)


def _short(text: str) -> str:
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"


def _files(files: Sequence[FileMove], *, all_new: bool, moved: frozenset[str] = frozenset()) -> Iterator[str]:
    """Yield a line a file; where a folder has many, or nothing was there before, the folder with their number."""
    for what, words in (("changed", ""), ("new", "new: "), ("gone", "no longer made, take it down: ")):
        folders: dict[str, list[str]] = {}
        for path in sorted(file.path for file in files if file.what == what):
            folders.setdefault(path.rpartition("/")[0], []).append(path)
        for folder, own in folders.items():
            if len(own) > (1 if all_new else _MOST_FILES):
                kind = "pictures" if all(path.endswith(_PICTURES) for path in own) else "files"
                yield f"{words}{len(own)} {kind} in {folder}"
            else:
                yield from (f"{words}{path}{_which(path, files, moved)}" for path in own)


def _which(path: str, files: Sequence[FileMove], moved: frozenset[str]) -> str:
    """Return of which codes labels and cards are to be printed again, where the file holds others too."""
    if not path.startswith(_LABELS):
        return ""
    codes = [code for file in files if file.path == path and file.what == "changed" for code in file.codes]
    own = [code for code in codes if code in moved]
    if not own or len(own) == len(codes):
        return ""
    more = f" and {len(own) - _MOST_CODES} more" if len(own) > _MOST_CODES else ""
    return f": {', '.join(own[:_MOST_CODES])}{more}"


def _whom(changes: ChannelChanges, shop: Shop) -> Iterator[str]:
    """Yield who buys from us where what they pay moves: a month's notice is usual (common practice, no source)."""
    lines = dict.fromkeys(code for group in shop.wholesale.groups for code in group.lines) if shop.wholesale else {}
    moved = {
        str(changes.new[change.code].get("inProductGroupWithID"))
        for change in changes.found.changed
        if change.field == "wholesalePrice"
    }
    moved |= {movement.code for movement in changes.moved if movement.key == "item.retail"}
    told = [code for code in lines if code in moved]
    if told and shop.stockists:
        names = ", ".join(stockist.name for stockist in shop.stockists)
        yield f"{names}: what they pay for {', '.join(told)} moves. Open orders keep the old prices."


def as_text(sections: Sequence[Section]) -> str:
    """Return the page for a screen."""
    return "\n\n".join(_screen(section) for section in sections)


def _screen(section: Section) -> str:
    rows = [table(section.rows, left=section.left)] if len(section.rows) > 1 else []
    body = "\n".join([*(on_screen(line) for line in section.lines), *rows])
    return "\n".join([section.title, *(f"  {line}" for line in body.splitlines())])


def as_markdown(sections: Sequence[Section]) -> str:
    """Return the page as Markdown (CommonMark, and tables between pipes)."""
    parts = []
    for number, section in enumerate(sections):
        lines = [f"{'#' if not number else '##'} {_escaped(section.title)}", ""]
        bullet = "- " if number else ""
        lines += [f"{bullet}{_escaped(line)}" for line in section.lines]
        if len(section.rows) > 1:
            lines += _pipes(section)
        parts.append("\n".join(lines))
    return "\n\n".join(parts) + "\n"


def _pipes(section: Section) -> Iterator[str]:
    head, *rows = section.rows
    yield f"| {' | '.join(map(_escaped, head))} |"
    yield f"|{'|'.join('---' if at < section.left else '--:' for at in range(len(head)))}|"
    for row in rows:
        yield f"| {' | '.join(map(_escaped, row))} |"


def _escaped(text: str) -> str:
    """Return text that Markdown takes for nothing but text, in one line."""
    return _MARKS.sub(r"\\\1", " ".join(text.split()))


# As JSON


def changes_json(changes: ChannelChanges) -> dict[str, Any]:
    """Return the changes of one place for scripts."""
    return {
        "record": {"number": changes.record.number, "at": changes.record.at}
        if changes.record and changes.record.number
        else None,
        "new": list(changes.found.new),
        "gone": list(changes.found.gone),
        "held_back": list(changes.held),
        "other_goods": [
            {"code": each.code, "was": each.was, "now": each.now}
            for each in codes_of_other_goods(changes.old, changes.new)
        ],
        "changed": [_change_json(change) for change in changes.found.changed],
        "causes": [_cause_json(cause) for cause in changes.causes],
        "files": [{"path": file.path, "what": file.what} for file in changes.files if not file.document],
        "documents": [{"path": file.path, "what": file.what} for file in changes.files if file.document],
    }


def _change_json(change: Change) -> dict[str, Any]:
    facts = {"code": change.code, "field": change.field, "old": change.old, "new": change.new}
    moved = move(change)
    if moved is not None:
        share = None if moved.share is None else round(float(moved.share), 6)
        facts |= {"difference": f"{moved.difference:+f}", "share": share}
    return facts


def _cause_json(cause: Cause) -> dict[str, Any]:
    return {
        "kind": cause.kind,
        "words": cause.words,
        "codes": list(cause.codes),
        "sets": list(cause.sets),
        "new": list(cause.new),
        "gone": list(cause.gone),
        "changed": [[change.code, change.field] for change in cause.changes],
    }


# What brakes a build


def brake_lines(brakes: Sequence[tuple[str, Brake]]) -> Iterator[str]:
    """Yield what brakes a build, channel by channel, and how to let it go on."""
    for key in dict.fromkeys(key for key, _ in brakes):
        of_channel = [brake for other, brake in brakes if other == key]
        for brake in of_channel[:_MOST_BRAKES]:
            kind = "Not compared" if brake.kind == "ledger" else "Large change"
            yield f"{kind} · {key}: {brake.message}"
        if len(of_channel) > _MOST_BRAKES:
            yield f"Large change · {key}: and {len(of_channel) - _MOST_BRAKES} more."
    yield "Nothing was built. If this is as you want it, build again with --accept-large-changes."


def brakes_json(brakes: Sequence[tuple[str, Brake]]) -> dict[str, Any]:
    """Return what brakes a build."""
    return {
        "large_changes": [
            {"channel": key, "kind": brake.kind, "code": brake.code, "message": brake.message} for key, brake in brakes
        ]
    }
