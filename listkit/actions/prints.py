"""What is printed when somebody asks: labels and cards in numbers, packing cards, cards with buyers' words.

Files go into out/print/asked/, each written beside its place, read back, then put there; a build neither makes nor
removes them. The same request again takes the place of the one before, which is told; papers of orders bear the numbers
of the first and the last, so that those of other orders stay. Buyers' words are kept nowhere else and repeated in no
message.
"""

import json
import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

from listkit.compute.labels import misfits, sheet_plan
from listkit.ledger.orders import KeptOrder
from listkit.listing.photos import slug_of
from listkit.listing.print_words import LabelVoice, voice_in
from listkit.model.labels import Asked, CardWish, Laid
from listkit.pipeline import Checked
from listkit.problem import FieldError, InPartError, Level, Place, Problem, heap_of, must_fix
from listkit.read.asked_tables import MOST_COPIES, read_counts, read_wishes
from listkit.read.folder import SHOP
from listkit.read.source import Given
from listkit.save.asked import asked_files, asked_folder
from listkit.write.asked_pages import (
    Kind,
    Pages,
    cards_kind,
    inserts_kind,
    label_kinds,
    message_sheets,
    outline_layout,
    packed_codes,
    packing_pages,
    sheets_of_all,
)
from listkit.write.labels import SHORT, print_fitting
from listkit.write.print import UnshownError, pdf_of, points_of, print_pdf, print_unless_said, verify_pdf

FOLDER: Final = "print/asked"
KINDS: Final = ("labels", "price-cards", "packing", "inserts", "messages")
_NAMED: Final = 6
_LONGEST_NUMBER: Final = 24  # letters of an order's number in a file's name


@dataclass(frozen=True, slots=True)
class Request:
    """What is asked for: the kind, a table of counts or of orders, and the first place on a sheet that is free."""

    kind: str
    counts: Given | None = None
    orders: Given | None = None
    start: int = 1


@dataclass(frozen=True, slots=True)
class Printed:
    """The files that were written, below the output folder, how many labels or cards they hold, and what is told.

    `replaced` are those of the files that took the place of others that were printed before.
    """

    files: tuple[str, ...]
    count: int
    problems: tuple[Problem, ...]
    replaced: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Printable:
    """What there is to print of a kind: its codes in order, how it lies on a sheet, how many places each takes.

    `laid` is None for whole pages, of labels of several sizes the usual one; cards with buyers' words have no codes.
    """

    codes: tuple[str, ...] = ()
    laid: Laid | None = None
    faces: int = 1


def printable(checked: Checked, kind: str) -> Printable:
    """Return what there is to print of a kind.

    Raises:
        FieldError: the shop has no such papers, or no words for them.
    """
    if kind == "messages":
        return Printable(laid=checked.shop.settings.messages)
    if kind == "packing":
        return Printable(packed_codes(checked.catalog))
    kinds = _kinds(checked, kind, _voice(checked))
    return Printable(tuple(code for each in kinds for code in each.codes), kinds[0].laid, kinds[0].faces)


def ordered_counts(checked: Checked, codes: tuple[str, ...], orders: Iterable[KeptOrder]) -> dict[str, int]:
    """Return how many of each code, a set's or a variant's, were ordered in these orders of stockists."""
    now, counts = checked.shop.old_codes, Counter[str]()
    set_of = {variant.code: facts.code for facts in checked.catalog.sets for variant in facts.variants}
    for order in orders:
        for line in order.facts["lines"]:
            code = now(str(line["code"]))
            counts[code if code in codes else set_of.get(code, code)] += int(line["quantity"])
    return {code: counts[code] for code in codes}


def stock_counts(checked: Checked, codes: tuple[str, ...]) -> dict[str, int]:
    """Return how many of each code can be made of what is on hand; 0 where nobody counts."""
    can = {variant.code: variant.can_make for facts in checked.catalog.sets for variant in facts.variants}
    can |= {facts.code: facts.can_make for facts in checked.catalog.sets}
    return {code: can.get(code) or 0 for code in codes}


def outline_page(checked: Checked, kind: str) -> bytes:
    """Return a sheet on which each place of a kind is outlined, with a ruler, as PDF.

    Raises:
        FieldError: the shop has no such papers, or they do not lie on their sheet.
    """
    laid, voice = printable(checked, kind).laid, _voice(checked)
    if laid is None:
        raise FieldError("these are whole pages.", "There is nothing to test.")
    _refuse_misfit(laid, "labels" if kind == "labels" else "cards", checked, 1)
    title = {"labels": voice.sheet.labels, "price-cards": voice.sheet.cards, "inserts": voice.asked.inserts}
    return pdf_of(outline_layout(laid, checked.shop, voice, title.get(kind, voice.asked.messages)))


_SIZES: Final = {"labels": ("labels", "size"), "price-cards": ("cards", "size"), "inserts": ("inserts", "size")}
"""The key of shop.toml that says how large each kind is."""


def _voice(checked: Checked) -> LabelVoice:
    language = checked.shop.settings.language
    voice = voice_in(checked.shop, language)[0]
    if voice is None:
        raise FieldError(f"there are no words for labels in {language}.", "See what listkit check says.")
    return voice


def print_asked(checked: Checked, request: Request, out: Path) -> Printed:
    """Print what is asked for; nothing where anything about it must be fixed.

    Raises:
        FieldError: the shop has no such papers, or a file cannot be read or written.
    """
    shop, voice = checked.shop, _voice(checked)
    if request.kind == "messages":
        return _messages(checked, request, out, voice)
    if request.kind == "packing":
        codes = packed_codes(checked.catalog)
        order, problems = _order(codes, request, "variant")
        pages = packing_pages(checked.catalog, tuple(codes[at] for at in order), voice)
    else:
        kinds = _kinds(checked, request.kind, voice)
        codes = tuple(code for kind in kinds for code in kind.codes)
        order, problems = _order(codes, request, kinds[0].what)
        wanted = {codes[at] for at in order}
        asked = tuple(kind for kind in kinds if wanted & set(kind.codes))
        if request.start > 1 and len(asked) > 1:
            hint = "Ask with --counts for those of one size at a time, or leave --start out."
            raise FieldError("--start is of one sheet, and labels of several sizes are asked for.", hint)
        for kind in asked:
            _refuse_misfit(kind.laid, f"{kind.what}s", checked, request.start)
        pages = sheets_of_all(kinds, order, request.start - 1, shop, voice)
    if must_fix(problems) or not order:
        return Printed((), 0, tuple(problems))
    made = written(tuple(pages), checked, out, frozenset(codes[at] for at in order))
    missing = {code for fault in made.short for code in fault.codes}
    place = Place(SHOP, key=_SIZES.get(request.kind, ()))
    problems += [Problem(place, "print-asked", fault.message, fault.hint) for fault in made.short]
    return Printed(made.files, sum(codes[at] not in missing for at in order), tuple(problems), made.replaced)


def _kinds(checked: Checked, name: str, voice: LabelVoice) -> tuple[Kind, ...]:
    """Return what there is of a kind, one for each size."""
    listings = checked.listings
    if name == "labels":
        kinds = label_kinds(listings)
    else:
        kind = cards_kind(listings) if name == "price-cards" else inserts_kind(listings, voice)
        kinds = (kind,) if kind else ()
    if not kinds:
        table = {"labels": "labels", "price-cards": "cards"}.get(name)
        hint = f"Write [{table}] in shop.toml, and mend what listkit check says." if table else "Add a set first."
        raise FieldError(f"there is nothing to print as {name}.", hint)
    return kinds


def _refuse_misfit(laid: Laid, what: str, checked: Checked, start: int) -> None:
    """Refuse a size that lies on no sheet, and a first place that no sheet has."""
    for misfit in misfits(laid, what, checked.shop.settings.measures):
        raise FieldError(misfit.message, misfit.hint)
    places = len(sheet_plan(laid).places)
    if not 1 <= start <= places:
        raise FieldError(f"a sheet has {places} places, and none is number {start}.", f"Write --start 1 to {places}.")


def _order(codes: tuple[str, ...], request: Request, what: str) -> tuple[tuple[int, ...], list[Problem]]:
    """Return which codes, by their places, are printed in which order: as counted, else one of each."""
    if request.counts is None:
        if len(codes) > MOST_COPIES:
            message = f"there are {len(codes)}; at most {MOST_COPIES} are printed at once."
            raise FieldError(message, "Ask for some of them with --counts.")
        return tuple(range(len(codes))), []
    asked, problems = read_counts(request.counts.name, request.counts.content)
    places = {code: at for at, code in enumerate(codes)}
    problems += [unknown_row(row, codes, what) for row in asked if row.code not in places]
    if must_fix(problems):
        return (), problems
    return tuple(places[row.code] for row in asked for _ in range(row.quantity)), problems


def unknown_row(row: Asked, codes: tuple[str, ...], what: str) -> Problem:
    """Return the problem of a row whose code is none of these."""
    more = f" and {len(codes) - _NAMED} more" if len(codes) > _NAMED else ""
    hint = f"There are {', '.join(codes[:_NAMED])}{more}. What must be fixed first is left out."
    return Problem(row.place, "print-asked", f'there is no {what} of "{row.code[:60]}".', hint)


@dataclass(frozen=True, slots=True)
class Written:
    """Paths of files below the output folder, those that took the place of others, and what did not go on its label."""

    files: tuple[str, ...]
    replaced: tuple[str, ...]
    short: tuple[InPartError, ...]


def written(pages: tuple[Pages, ...], checked: Checked, out: Path, codes: frozenset[str]) -> Written:
    """Write what is asked of these codes.

    All files are made before the first is put there.

    Raises:
        FieldError: nothing fits, or a file does not read back.
    """
    short: list[InPartError] = []
    measures = checked.shop.settings.measures
    paths = tuple(f"{FOLDER}/{page.name}" for page in pages)
    with asked_folder(out, checked.shop.root, paths) as folder, asked_files(folder, paths) as parts:
        replaced = already_there(folder, paths)
        for path, part, page in zip(paths, parts, pages, strict=True):
            try:
                if page.what:
                    print_fitting(page.layout, page.what, measures, page.logo, (part,))
                else:
                    print_pdf(part, page.layout)
            except InPartError as fault:
                short.append(fault)
            if damage := verify_pdf(part, print_pdf, ()):
                raise FieldError(f"{path} does not read back as it was written: {damage}")
        if short and codes <= {code for fault in short for code in fault.codes}:
            raise FieldError(short[0].why, short[0].hint)
    return Written(paths, replaced, tuple(short))


def already_there(folder: Path, paths: tuple[str, ...]) -> tuple[str, ...]:
    """Return which of the paths are in the folder before they are written."""
    return tuple(path for path in paths if (folder / path).exists())


def of_orders(pages: Iterable[Pages], orders: Iterable[str]) -> tuple[Pages, ...]:
    """Return pages in files that are named by the first and the last order that they are of, where one has a number."""
    numbers = [number for order in orders if (number := slug_of(order)[:_LONGEST_NUMBER].strip("-"))]
    if not numbers:
        return tuple(pages)
    batch = numbers[0] if numbers[0] == numbers[-1] else f"{numbers[0]}-to-{numbers[-1]}"
    return tuple(replace(page, name=f"{page.name.removesuffix('.pdf')}-{batch}.pdf") for page in pages)


# Cards with buyers' words


def _messages(checked: Checked, request: Request, out: Path, voice: LabelVoice) -> Printed:
    if request.orders is None:
        raise FieldError("cards with words need a table of orders.", "Name it with --orders.")
    wishes, problems = read_wishes(request.orders.name, request.orders.content)
    problems += _odd_orders(wishes, checked)
    cards = tuple(wish for wish in wishes if wish.words.strip())
    if must_fix(problems) or not cards:
        return Printed((), 0, tuple(problems))
    printed = print_cards(cards, checked, out, voice, start=request.start)
    return replace(printed, problems=(*problems, *printed.problems))


def print_cards(
    cards: tuple[CardWish, ...],
    checked: Checked,
    out: Path,
    voice: LabelVoice,
    *,
    start: int = 1,
    orders: tuple[str, ...] = (),
) -> Printed:
    """Print cards with buyers' words, but for those whose words do not go on a card, which are told.

    `orders` are those that the files are named by, of the cards themselves where there are none.

    Raises:
        FieldError: the size lies on no sheet, or a file cannot be written.
    """
    _refuse_misfit(checked.shop.settings.messages, "cards", checked, start)
    orders = orders or tuple(card.order for card in cards)
    faults: list[Problem] = []
    while cards:
        pages = of_orders(message_sheets(cards, start - 1, checked.catalog, voice), orders)
        try:
            return replace(_printed_cards(pages, cards, checked, out), problems=tuple(faults))
        except _UnfitError as unfit:
            faults += unfit.faults
            rows = {fault.place.line for fault in unfit.faults}
            cards = tuple(card for card in cards if card.place.line not in rows)
    return Printed((), 0, tuple(faults))


def _printed_cards(pages: tuple[Pages, ...], cards: tuple[CardWish, ...], checked: Checked, out: Path) -> Printed:
    """Write the files of cards; where the words of one do not go on it, no file takes its place."""
    paths = tuple(f"{FOLDER}/{page.name}" for page in pages)
    faults: list[Problem] = []
    with asked_folder(out, checked.shop.root, paths) as folder, asked_files(folder, paths) as parts:
        replaced = already_there(folder, paths)
        for page, part in zip(pages, parts, strict=True):
            faults += _not_shown(page, part, cards, checked)
        if faults:
            raise _UnfitError(faults)
    return Printed(paths, len(cards), (), replaced)


class _UnfitError(Exception):
    """Some words do not go on their cards, so that no file takes its place."""

    def __init__(self, faults: list[Problem]) -> None:
        super().__init__("some words do not go on their cards")
        self.faults = faults


def _odd_orders(wishes: tuple[CardWish, ...], checked: Checked) -> Iterator[Problem]:
    """Yield what to look at in a table of orders; cards are made all the same."""
    known = {code for facts in checked.catalog.sets for code in (facts.code, *(one.code for one in facts.variants))}
    known |= dict(checked.shop.old_codes.now).keys()
    seen: set[str] = set()
    for wish in wishes:
        told = []
        if not wish.words.strip():
            told.append(("it has no words, so it gets no card.", "Ask the buyer, or leave it."))
        if any(unicodedata.bidirectional(sign) == "AL" for sign in _all_words(wish)):
            message = (
                f"order {wish.order[:60]}: its Arabic letters are those of a typewriter; our fonts have no others."
            )
            told.append((message, "Look at its card, or write it by hand."))
        if not wish.order:
            told.append(("it has no order number.", "Write one, so that card and parcel are found."))
        elif wish.order in seen:
            told.append((f"order {wish.order[:60]} stands here twice; both get a card.", "Is it one order too many?"))
        if wish.code and wish.code not in known:
            told.append((f'there is no set "{wish.code[:60]}" any more.', "Look what goes with the card."))
        seen.add(wish.order)
        for message, hint in told:
            yield Problem(wish.place, "message-card", message, hint, Level.LOOK_AT)


def _not_shown(page: Pages, part: Path, cards: tuple[CardWish, ...], checked: Checked) -> Iterator[Problem]:
    """Print one file of cards; yield which words do not fit or have letters that the font lacks, without the words.

    One run finds all letters that no font has: the cards with them are taken out and the others tried again.
    """
    by_row = {wish.place.line: wish for wish in cards}
    layout = page.layout
    while True:
        try:
            shorts = print_unless_said(part, layout, SHORT)
            break
        except UnshownError as fault:
            facts = json.loads(layout.facts)
            first_signs = {card["row"]: _first_sign(fault.signs, by_row[card["row"]]) for card in facts["cards"]}
            lacking = {row: sign for row, sign in sorted(first_signs.items()) if sign}
            if not lacking:
                raise
            yield from (_lacking(by_row[row], sign) for row, sign in lacking.items())
            facts["cards"] = [card for card in facts["cards"] if card["row"] not in lacking]
            facts["order"] = list(range(len(facts["cards"])))
            layout = layout.with_facts(facts)
    measures = checked.shop.settings.measures
    card = checked.shop.settings.messages.size
    size = measures.sides((card.width, card.height))
    told: dict[int, Any] = {short["row"]: short for short in shorts}
    for row, short in sorted(told.items()):
        wish = by_row[row]
        too_many = f"its words are {short['letters']} letters too many for" if short["letters"] else _WIDE
        message = f"order {wish.order[:60]}: {too_many} a card of {size}."
        hint = "Take a larger size under [messages] in shop.toml, or agree on fewer words; nothing is cut off."
        yield Problem(wish.place, "print-asked", message, hint)


_WIDE: Final = "one of its words is wider than"


def _all_words(wish: CardWish) -> str:
    return "\n".join((wish.words, wish.sender, wish.recipient, wish.order, wish.code))


def _first_sign(signs: tuple[str, ...], wish: CardWish) -> str:
    """Return what a card cannot show, "" for nothing: marks heaped upon one letter, else the first of the signs."""
    words = _all_words(wish)
    letters = set(words)  # thousands of signs are looked for in thousands of cards
    return heap_of(words) or next((sign for sign in signs if sign[0] in letters and sign in words), "")


def _lacking(wish: CardWish, sign: str) -> Problem:
    points = points_of(sign)
    what = f'our font has no "{sign}" ({points})' if sign.isprintable() else f"our font has no {points}"
    if heap_of(sign):
        what = f"{len(sign)} marks stand upon one letter, over the lines around it"
    return Problem(
        wish.place,
        "print-asked",
        f"order {wish.order[:60]}: {what}.",
        "Write it otherwise, or take its words out of the table and write this card by hand.",
    )
