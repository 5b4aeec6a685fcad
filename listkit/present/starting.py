"""New shops, sets and channels: what was made and understood, what is left to decide, and the one next step."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from listkit.actions.learn import Learnt
from listkit.actions.new_set import AddedSet, ProposalList
from listkit.actions.own_sheet import NEEDED, NewShop, SheetColumns
from listkit.compute.proposals import BEAM, SetProposal
from listkit.edit.new_set import slot_name
from listkit.fields import FIELDS
from listkit.learn.matching import Match
from listkit.model.item import Item
from listkit.model.shop import Shop
from listkit.present.table import table
from listkit.problem import Problem, as_typed, must_fix, times
from listkit.read.folder import SHOP
from listkit.read.wording import listed

_MOST_ROWS: Final = 5

# A shop around the owner's sheet


def new_shop_lines(folder: Path, new: NewShop, bold: Callable[[str], str]) -> Iterator[str]:
    """Yield what was understood of the sheet, what is missing, and the next step; `bold` marks headings."""
    read, columns = new.read, new.columns
    yield bold(f"{folder} is made around {read.file}, which was copied and stays as it is.")
    where = f'sheet "{read.sheet}", ' if read.sheet else ""
    yield f"Its headings stand in {where}{'row' if read.table.workbook else 'line'} {read.header_line}."
    if columns.understood:
        yield bold("Understood:")
        yield table(
            [(f"  {_short(line.heading)}", line.says, _meaning(line.says)) for line in columns.understood], left=3
        )
    yield from _doubtful_lines(columns, new.problems, bold)
    if guessed := _guessed(new):
        yield bold(f"Guessed, to be looked at in {SHOP}:")
        yield table([(f"  {key}", f'"{value}"', remark) for key, value, remark in guessed], left=3)
    if columns.lacking:
        yield bold(f"Missing in {read.file}:")
        yield from (f"  {each.words(read.file)}" for each in columns.lacking)
    if columns.unused:
        yield bold("Left alone, as listkit does not know these headings:")
        more = f" and {len(columns.unused) - _MOST_UNUSED} more" if len(columns.unused) > _MOST_UNUSED else ""
        yield f"  {', '.join(map(_short, columns.unused[:_MOST_UNUSED]))}{more}"
        given = {line.says.partition(" (")[0] for line in columns.understood}
        lacking = [name for name in _WANTED if name not in given]
        if lacking:
            yield f"  No column is taken for {listed(lacking, 'and')}. Where one of these is it, write so in {SHOP},"
            yield f'  below [items.columns], as in "your heading" = "{lacking[0]}".'
    if {line.says.partition(" (")[0] for line in columns.understood}.issuperset(NEEDED):
        yield from _row_lines(new, bold)
    yield bold(f"Next: {_next_step(folder, new)}")


_LONGEST: Final = 80  # letters of a heading that are shown
_MOST_UNUSED: Final = 60  # headings that are listed one by one


def _short(heading: str) -> str:
    return heading if len(heading) <= _LONGEST else heading[: _LONGEST - 1] + "…"


_WANTED: Final = ("ingredients", "cautions", "cost", "container", "shape", "upright", "on hand", "gtin")
"""What an owner's sheet often has under a heading of her own, and texts, labels or boxes go by."""


def _guessed(new: NewShop) -> list[tuple[str, str, str]]:
    """Return what the sheet let us guess of the shop: key, value and why."""
    names = ("currency", "country", "language", "measure")
    says = [(name, getattr(new.guessed, name), getattr(new.guessed, f"{name}_remark")) for name in names]
    return [(name, value, remark) for name, value, remark in says if value]


def _meaning(says: str) -> str:
    return Item.model_fields[says.partition(" (")[0].replace(" ", "_")].description or ""


def _doubtful_lines(columns: SheetColumns, problems: tuple[Problem, ...], bold: Callable[[str], str]) -> Iterator[str]:
    asked = [f"the {problem.place.key[0]}" for problem in problems if problem.place.file == SHOP and problem.place.key]
    if columns.doubtful or asked:
        yield bold(f'Doubtful, to be decided in {SHOP} (the lines with "?"):')
    if asked:
        yield f"  {listed(asked, 'and')}"
    for doubt in columns.doubtful:
        yield f"  {_short(doubt.heading)}: {doubt.words}" if doubt.heading else f"  {doubt.words}"


def _row_lines(new: NewShop, bold: Callable[[str], str]) -> Iterator[str]:
    """Yield how many rows can be read as they are, and the first of what cannot."""
    of_sheet = [problem for problem in new.problems if problem.place.file == new.read.file]
    rows = [problem for problem in of_sheet if problem.place.line or problem.place.row]
    spoilt = {problem.place.row for problem in rows if problem.code == "bad-value"}
    items = sum(item.code not in spoilt for item in new.shop.items)
    yield bold(f"{times(items, 'row')} can be read as {'it is' if items == 1 else 'they are'}.")
    for problem in rows[:_MOST_ROWS]:
        yield f"  {problem.place}: {problem.message} {problem.hint}".rstrip()
    if len(rows) > _MOST_ROWS:
        yield f"  and {len(rows) - _MOST_ROWS} more, which listkit check tells."


def _next_step(folder: Path, new: NewShop) -> str:
    """Return what stands before everything else."""
    if any(problem.place.file == SHOP for problem in new.problems) or any(
        doubt.heading for doubt in new.columns.doubtful
    ):
        return f'open {folder / SHOP}, fill in the lines with "?", then: listkit check --shop {as_typed(folder)}'
    if new.columns.lacking:
        return f"add what is missing to {folder / new.read.file}, then: listkit check --shop {as_typed(folder)}"
    if must_fix(new.problems):
        return f"mend the rows in {folder / new.read.file} that listkit check --shop {as_typed(folder)} tells"
    return f'listkit add "The name of your first set" --shop {as_typed(folder)}'


def new_shop_json(folder: Path, new: NewShop) -> dict[str, Any]:
    """Return the files that were made, and what each column of the sheet is taken for."""
    read = new.read
    filled = {line.heading for line in new.columns.understood}
    return {
        "folder": str(folder),
        "files": list(new.files),
        "items": {
            "file": read.file,
            "sheet": read.sheet or None,
            "header": read.header_line,
            "currency": read.currency.code or None,
            "guessed": {name: value for name, value, _ in _guessed(new)},
            "columns": [
                {
                    "heading": heading,
                    "field": match.field,
                    "confidence": match.confidence,
                    "second": match.second,
                    "reason": match.reason,
                    "filled_in": heading in filled,
                }
                for heading, match in zip(read.header.headings, read.matches, strict=True)
            ],
            "missing": [each.field for each in new.columns.lacking],
        },
    }


# A new set


def new_set_lines(folder: Path, added: AddedSet, card: "ProposalCard | None" = None) -> Iterator[str]:
    """Yield what is proposed or what the set begins with, and what is left to the owner.

    `card` is the proposal that was chosen by its number: the set gives the same reasons.
    """
    new, old = added.new, added.begun_with
    path = folder / "sets" / new.folder
    if old:
        yield f"{path}: {new.code}, {new.name}. Begun with {old.gift_set.code}, {old.gift_set.name}."
        yield "  Contents, box, words and story are there. Left behind are photos, reductions, a price in print,"
        yield "  and what is said of single variants, as their GTINs: these belong to the old set alone."
        yield "Left for you:"
        yield f"  look through theme, season and contents in {path / 'set.toml'}"
        yield f"  {'write' if 'story.md' not in new.copied else 'look through'} the story in {path / 'story.md'}"
    else:
        yield f"{path}: {new.code}, {new.name}. Proposed, to be changed as you like:"
        for line in _proposal_lines(added, card):
            yield f"  {line}"
        yield "Left for you:"
        yield f"  write the theme in {path / 'set.toml'}, the line with WRITE HERE"
        yield f"  write the story in {path / 'story.md'}, the line with WRITE HERE"
    yield f"  put into {path / 'photos'}: {listed(new.pictures, 'and')}; shots.md lists what else to take"
    yield "It is a draft, which no build shows: when it is finished, take the line status out of set.toml."
    yield f"Next: listkit check --shop {as_typed(folder)}"


def _proposal_lines(added: AddedSet, card: "ProposalCard | None") -> list[str]:
    proposal = added.new.proposal
    if proposal is None and added.usable > 1:
        return ["nothing: all that is on sale and on hand and goes together lies in a set already"]
    if proposal is None:
        return [f"nothing: of {added.items} items that can be read, fewer than two are on sale and on hand"]
    naming = added.naming
    options = [naming.of(item) for item in proposal.options]
    return [
        *(naming.of(item) for item in proposal.fixed),
        *([f"{proposal.slot}: {listed(options)}"] if options else []),
        f"box {proposal.box}" if proposal.box else "no box: none in packaging.toml holds all of it",
        *((f"why: {card.why}", f"     {card.figures}") if card else (f"why: {proposal.why}",)),
    ]


def new_set_json(added: AddedSet, card: "ProposalCard | None" = None) -> dict[str, Any]:
    """Return the files that were made, and what is proposed by code."""
    new, proposal = added.new, added.new.proposal
    return {
        "folder": f"sets/{new.folder}",
        "files": list(added.files),
        "code": new.code,
        "name": new.name,
        "items": [item.code for item in proposal.fixed] if proposal else [],
        "slot": (proposal.slot or None) if proposal else None,
        "options": [item.code for item in proposal.options] if proposal else [],
        "box": (proposal.box or "none") if proposal else "none",
        "why": f"{card.why}; {card.figures}" if card else proposal.why if proposal else None,
        "begun_with": added.begun_with.gift_set.code if added.begun_with else None,
    }


# Sets that could be made


_MOST_TAKEN: Final = 4  # sets that are named, of those that a proposal takes from


def proposal_lines(proposed: ProposalList) -> Iterator[str]:
    """Yield each proposal by its number with its pieces, and in two lines why, and what it takes from others."""
    proposals, shop = proposed.proposals, proposed.shop
    looked = f"{times(proposals.of_three, 'composition')} of three pieces looked at, all there are"
    if proposals.left_out:
        looked += f" without {times(proposals.left_out, 'item')} with the least to speak for them"
    shown = f" ({looked}.)" if proposals.of_three else ""
    looked += f", and {proposals.of_four} of four, around the best {BEAM} of these" if proposals.of_four else ""
    if not proposals.best:
        yield f"Nothing can be proposed: {proposals.missing}{shown}"
        return
    for number, card in enumerate(proposal_cards(proposed), 1):
        yield f"{number}. {card.title}"
        yield f"   {card.why}"
        yield f"   {card.figures}"
    yield f"{looked}."
    if proposals.is_cut:
        yield "So many promise as much that not all of them were worked out: others may be as good."
    yield f'Next: listkit add "A Name" --propose 1 --shop {as_typed(shop.root)}'


@dataclass(frozen=True, slots=True)
class ProposalCard:
    """A proposal in words: its pieces, why in one line, its figures and what it takes in another; its codes."""

    title: str
    why: str
    figures: str
    codes: str


def proposal_cards(proposed: ProposalList) -> Iterator[ProposalCard]:
    """Yield each proposal in words."""
    for each in proposed.proposals.best:
        fixed = " + ".join(proposed.shop.naming.of(item) for item in each.fixed)
        options = listed([item.code for item in each.options])
        yield ProposalCard(
            title=f"{fixed} + {slot_name(each.options)}: {options}",
            why="; ".join(_reasons(each, proposed)),
            figures="; ".join(_figures(each, proposed.shop)),
            codes=" ".join(each.codes),
        )


def _reasons(proposal: SetProposal, proposed: ProposalList) -> Iterator[str]:
    """Yield what speaks for a proposal: what lies, what sold, what an hour leaves."""
    sold, pieces = proposed.sold, (*proposal.fixed, proposal.options[0])
    lying = [item for item in pieces if item.on_hand and sold.get(item.code, 0) * 2 < item.on_hand]
    if lying and not any(sold.values()):
        there = ", ".join(f"{item.on_hand} of {item.code}" for item in lying)
        yield f"{there} {'is' if len(lying) == 1 and lying[0].on_hand == 1 else 'are'} on hand"
    elif lying:
        yield ", ".join(f"{item.code} lies ({item.on_hand}, {max(0, sold.get(item.code, 0))} went)" for item in lying)
    if went := [item for item in pieces if item not in lying and sold.get(item.code, 0) > 0]:
        yield ", ".join(f"{sold[item.code]} of {item.code} went in a year" for item in went)
    if proposal.per_hour is not None:
        hour = proposed.shop.settings.spoken.money(proposal.per_hour)
        yield f"an hour of packing leaves {hour} before fees"


def _figures(proposal: SetProposal, shop: Shop) -> Iterator[str]:
    """Yield price and band, box, weight, how many, and what it takes from other sets."""
    facts, (low, high) = proposal.facts, (proposal.facts.cheapest, proposal.facts.dearest)
    band = next((each for each in shop.settings.prices.bands if each.amount >= high.amount), None)
    money = shop.settings.spoken.money
    price = money(low) if low.amount == high.amount else f"{money(low)} to {money(high)}"
    yield price + (f", {'on' if band.amount == high.amount else 'under'} {money(band)}" if band else "")
    heaviest = max(variant.weights.parcel or variant.weights.gift for variant in facts.variants)
    yield f"box {facts.box.code if facts.box else ''}, {shop.settings.measures.weight(heaviest, rounded=True)}"
    yield "uncounted" if facts.can_make is None else f"{facts.can_make} can be made"
    taken = [f"{code} ({', '.join(codes)})" for code, codes in proposal.takes[:_MOST_TAKEN]]
    more = f" and {times(len(proposal.takes) - _MOST_TAKEN, 'other set')}" if len(proposal.takes) > _MOST_TAKEN else ""
    yield f"takes from {', '.join(taken)}{more}" if taken else "takes from no other set"


def proposals_json(proposed: ProposalList) -> dict[str, Any]:
    """Return each proposal with its points, and how many compositions were looked at."""
    proposals = proposed.proposals
    return {
        "season": proposed.season or None,
        "of_three": proposals.of_three,
        "of_four": proposals.of_four,
        "left_out": proposals.left_out,
        "others_may_be_as_good": proposals.is_cut,
        "missing": proposals.missing or None,
        "proposals": [
            {
                "items": [item.code for item in each.fixed],
                "options": [item.code for item in each.options],
                "box": each.box.code if each.box else None,
                "price": str(each.facts.cheapest),
                "points": {"lies": each.points.lies, "hour": each.points.hour, "sold": each.points.sold},
                "total": each.points.total,
                "can_make": each.facts.can_make,
                "takes": [{"set": code, "items": list(codes)} for code, codes in each.takes],
                "reasons": [*_reasons(each, proposed), *_figures(each, proposed.shop)],
            }
            for each in proposals.best
        ],
    }


# A channel drafted from a sample


def learnt_lines(shop: Path, learnt: Learnt) -> Iterator[str]:
    """Yield which columns are filled in, which are to be decided, and the next step."""
    matches = learnt.matches
    sure = [match for match in matches if match.sure]
    asked = [match for match in matches if not match.sure]
    yield f"{learnt.path}: {times(len(matches), 'column')}, {len(sure)} filled in, {len(asked)} for you to decide."
    if sure:
        yield table([(f"  {_short(match.heading.text)}", _in_words(match.field or "")) for match in sure], left=2)
    if asked:
        yield 'To be decided (the lines with "?"):'
        yield table([(f"  {_short(match.heading.text)}", _doubt(match)) for match in asked], left=2)
    for heading in map(_short, learnt.twice):
        yield f'Several columns are headed "{heading}", and a feed has each heading once: keep one, or name them anew.'
    yield f"Next: look it through, then: listkit check --shop {as_typed(shop)}"


def _doubt(match: Match) -> str:
    """Return what a column may be, what else, and why that is not sure."""
    if not match.field:
        return match.reason
    said = match.second is not None and match.reason.endswith(_in_words(match.second))
    second = "" if said or not match.second else f" or: {_in_words(match.second)}?"
    return f"{_in_words(match.field)}?{second} {match.reason or 'it is not sure'}"


def _in_words(field: str) -> str:
    """Return what a field holds; of one of a family, which.

    >>> _in_words("image_2")
    'Addresses of its pictures, its own first: number 2'
    """
    name, _, number = field.rpartition("_")
    known = FIELDS.get(field) or FIELDS.get(name)
    if known is None:
        return field
    return known.meaning.rstrip(".") + (f": number {number}" if known.name != field else "")


def learnt_json(learnt: Learnt) -> dict[str, Any]:
    """Return the file, how the sample is written, and what each of its columns is taken for."""
    return {
        "file": str(learnt.path),
        "dialect": learnt.dialect,
        "columns": [
            {
                "heading": match.heading.text,
                "field": match.field,
                "confidence": match.confidence,
                "second": match.second,
            }
            for match in learnt.matches
        ],
    }
