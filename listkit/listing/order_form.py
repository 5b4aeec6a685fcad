"""What an order form says: its lines in the order of the sheet, what is counted together, its words. No cells yet."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from listkit.compute.wholesale import SheetEntry, SheetLine
from listkit.listing.print_words import FormWords
from listkit.listing.sentences import fill
from listkit.listing.sheet import Document, EntryText, held_text, window_told
from listkit.model.shop import Shop
from listkit.units.money import minor_digits

SET, ITEM, DISPLAY = "set", "item", "display"
Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class FormLine:
    """One row to order by. `prices` are wholesale and the tiers, upwards; `kind` is SET, ITEM or DISPLAY.

    Spans are numbers of lines, the end not among them: `packed` are counted together for cases and minimums, `priced`
    for tiers; of a display set both are the lines of its set. `leads` says that what is missing is told here. From
    how much on of which lines together it costs nothing is in `free_over`.
    """

    code: str
    name: str
    more: str
    gtin: str
    prices: tuple[Decimal, ...]
    retail: Decimal | None
    case: int | None
    least: int | None
    kind: str
    packed: Span
    priced: Span
    leads: bool
    free_over: tuple[Decimal, Span] | None = None


@dataclass(frozen=True, slots=True)
class FormGroup:
    """A heading, and the number of the line that it stands before."""

    title: str
    window: str
    before: int


@dataclass(frozen=True, slots=True)
class FormText:
    """All that the workbook says. `name` is the sheet's, by which prices are looked up when it comes back."""

    title: str
    shop: str
    name: str
    language: str
    currency: str
    digits: int
    paper: str
    tiers: tuple[int, ...]
    headings: tuple[str, ...]
    head: tuple[tuple[str, str], ...]
    groups: tuple[FormGroup, ...]
    lines: tuple[FormLine, ...]
    opening: Decimal | None
    reorder: Decimal | None
    free_from: int | None
    tax: Decimal | None  # in all suggested prices alike; None where they include unlike ones
    terms: tuple[tuple[str, str], ...]
    notes: tuple[str, ...]
    contact: tuple[str, ...]
    order_to: str
    words: FormWords

    @property
    def asks_first(self) -> bool:
        """Whether it must be known if this is a shop's first order."""
        return self.opening is not None or self.reorder is not None

    @property
    def buyer_labels(self) -> tuple[str, ...]:
        """What the buyer is asked for, in the order of the rows."""
        words = self.words
        who = (words.shop, words.address, words.email, words.phone, words.order_number, words.deliver_by, words.notes)
        return (*who, *((words.first_order,) if self.asks_first else ()))


def form_of(document: Document, shop: Shop) -> FormText:
    """Return the form of a sheet."""
    sheet, text, voice = document.sheet, document.text, document.voice
    own, terms = voice.own.sheet, sheet.terms
    tiers = tuple(tier.start for tier in sheet.tiers)
    lines = tuple(_lines(document))
    return FormText(
        title=voice.own.form.order_form,
        shop=shop.settings.name,
        name=text.name,
        language=voice.language,
        currency=sheet.currency,
        digits=minor_digits(sheet.currency),
        paper=shop.paper,
        tiers=tiers,
        headings=(
            own.code, own.line, own.choice, own.wholesale, *(fill(own.tier, count=str(n)) for n in tiers),
            own.retail, own.case, own.least, voice.own.form.quantity, voice.own.form.total, voice.own.form.missing,
            own.gtin,
        ),
        head=tuple((name, says) for name, says in text.head if name != own.lead),
        groups=tuple(_groups(document, lines)),
        lines=lines,
        opening=terms.opening.amount if terms.opening else None,
        reorder=terms.reorder.amount if terms.reorder else None,
        free_from=terms.display.free_from if terms.display else None,
        tax=sheet.taxes[0] if len(set(sheet.taxes)) == 1 else None if sheet.taxes else Decimal(0),
        terms=text.terms,
        notes=text.notes,
        contact=text.contact,
        order_to=fill(own.order_to, address=text.order_to) if text.order_to else "",
        words=voice.own.form,
    )  # fmt: skip


def _lines(document: Document) -> Iterator[FormLine]:
    at = goods = 0
    for group, told in zip(document.sheet.groups, document.text.groups, strict=True):
        for entry, entry_text in zip(group.entries, told.entries, strict=True):
            end = at + len(entry.lines)
            for number, line in enumerate(entry.lines):
                yield _line(entry, line, entry_text, (at, number), goods)
            if entry.display is not None and entry_text.display is not None:
                label = entry_text.display.label
                yield FormLine(
                    code=entry_text.display.code, name=entry.name, more=label, gtin="", prices=(entry.display.amount,),
                    retail=None, case=None, least=None, kind=DISPLAY, packed=(at, end), priced=(at, end), leads=True,
                )  # fmt: skip
                end += 1
            at = end
            goods = goods if entry.holds else at


def _line(entry: SheetEntry, line: SheetLine, entry_text: EntryText, at: tuple[int, int], goods: int) -> FormLine:
    """Return a line; `at` is the number of its entry's first line, and its own among them.

    `goods` is how many lines come before the display sets.
    """
    first, number = at
    whole, alone = (first, first + len(entry.lines)), (first + number, first + number + 1)
    packed = whole if entry.packs.together else alone
    return FormLine(
        code=line.code,
        name=entry.name,
        more=", ".join(held_text(entry)) if entry.holds else entry_text.lines[number].choice or entry_text.size,
        gtin=line.gtin,
        prices=(line.wholesale.amount, *(price.amount for price in line.tiers)),
        retail=line.retail.amount,
        case=entry.packs.case,
        least=entry.packs.least,
        kind=SET if entry.is_set else ITEM,
        packed=packed,
        priced=whole,
        leads=first + number == packed[0],
        free_over=(entry.free_from.amount, (0, goods)) if entry.free_from is not None and goods else None,
    )


def _groups(document: Document, lines: tuple[FormLine, ...]) -> Iterator[FormGroup]:
    before = 0
    for group, told in zip(document.sheet.groups, document.text.groups, strict=True):
        window = ", ".join(f"{name} {says}" for name, says in window_told(group.window, document.voice))
        if told.title or window:
            yield FormGroup(told.title, window, before)
        before += sum(len(entry.lines) + (entry.display is not None) for entry in group.entries)
