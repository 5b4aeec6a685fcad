"""print/outside-labels.pdf and print/price-cards.pdf: labels of boxes, and cards for the stall and for shelves.

Made where shop.toml has [labels] or [cards]. A layout says of itself, at <short>, what does not fit; then it is
printed anew without that, so that no old wording stays to be printed, and the owner is told how much is missing and
what would help.
"""

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from decimal import ROUND_CEILING, Decimal
from pathlib import Path
from typing import Any, Final, Generic, TypeVar

from listkit.compute.barcodes import is_gtin, symbol
from listkit.compute.labels import sheet_plan
from listkit.listing.cards import CardText
from listkit.listing.labels import LabelPaper, LabelText, Spoken
from listkit.listing.listings import Listings
from listkit.listing.papers import papers_of
from listkit.listing.print_words import LabelVoice
from listkit.listing.sentences import fill
from listkit.model.labels import Cards, Labels, Laid
from listkit.model.photo import Cut
from listkit.model.shop import Shop
from listkit.picture.encode import ENCODERS, CropJob, CropPlan, fitted, make_crops
from listkit.problem import FieldError, InPartError
from listkit.save.job import File, Job, key_of
from listkit.save.temporary import temporary_folder
from listkit.units.length import MM_PER_INCH
from listkit.units.shown import Measures
from listkit.write.barcodes import TEMPLATE as BARCODE
from listkit.write.barcodes import svg_of
from listkit.write.context import WriteContext
from listkit.write.print import Layout, lang_of, layout_with, print_unless_said, printer, shop_facts, verify_pdf

SHARED: Final = "print/label_sheet.typ"
SHORT: Final = "short"
LOGO: Final = "logo.png"
_LOGO_SIDE: Final = 500  # pixels: 300 to an inch at 42 mm
_RULER: Final = (Decimal(150), Decimal(100), Decimal(50), Decimal(20), Decimal(10))  # mm; the longest that fits
_INCHES: Final = tuple(count * MM_PER_INCH for count in map(Decimal, (6, 4, 2, 1)))  # in mm
# How far apart the marks of a ruler are in mm, and at which of them a longer and a long one is.
_TICKS: Final = {"metric": (1.0, 5, 10), "customary": (float(MM_PER_INCH / 16), 8, 16)}
_MOST_TOLD: Final = 4
MOST_LAID: Final = 400  # labels that are laid out at once, faces counted: each stays in memory, some 1 MB
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Part(Generic[T]):
    """What stands in one file, where there is too much for one: its path, its title, and the texts it holds."""

    path: str
    title: str
    texts: tuple[T, ...]


def parts_of(texts: tuple[T, ...], path: str, title: str, laid: Laid, faces: int = 1) -> Iterator[Part[T]]:
    """Yield the texts in as many files as need be, all but the last of whole sheets; each text has so many faces."""
    places = len(sheet_plan(laid).places)
    most = max(MOST_LAID // faces // places, 1) * places
    count = -(-len(texts) // most)
    stem, _, ending = path.rpartition(".")
    for number in range(count):
        own = texts[number * most : (number + 1) * most]
        if count == 1:
            yield Part(path, title, own)
        else:
            yield Part(f"{stem}-{number + 1}.{ending}", f"{title} {number + 1}/{count}", own)


def sheet_facts(laid: Laid, shop: Shop, voice: LabelVoice, title: str) -> dict[str, Any]:
    """Return what a layout needs of the sheet, lengths in mm: see label_sheet.typ."""
    plan = sheet_plan(laid)
    measures = shop.settings.measures
    rulers = _INCHES if measures.customary else _RULER
    ruler = next((mm for mm in rulers if mm <= plan.sheet.width - 10), plan.sheet.width / 2)
    size = {"width": measures.length(plan.label.width), "height": measures.length(plan.label.height)}
    return {
        **shop_facts(shop, title, voice.language),
        "sheet": {
            "width": float(plan.sheet.width),
            "height": float(plan.sheet.height),
            "places": [[float(x), float(y)] for x, y in plan.places],
            "label": [float(plan.label.width), float(plan.label.height)],
            "columns": plan.columns,
            "rows": plan.rows,
            "right": float(plan.right),
            "bottom": float(plan.bottom),
            "crop_marks": laid.crop_marks,
            "test_page": laid.test_page,
            "ruler": float(ruler),
            "ticks": list(_TICKS[measures.system]),
        },
        "words": {
            "test": fill(voice.sheet.test, what=title),
            "test_how": voice.sheet.test_how,
            "test_label": fill(voice.sheet.test_label, **size),
            "ruler": fill(voice.sheet.ruler, length=measures.length(ruler)),
            "page": voice.sheet.page,
            "check_rules": voice.sheet.check_rules,
            "barcode_of": voice.sheet.barcode_of,
            "warning": voice.label.warning,
        },
    }


def barcode_facts(gtin: str, scale: Decimal, shop: Shop) -> dict[str, Any] | None:
    """Return a GTIN's barcode as a layout takes it; None for none, and for what is no GTIN, which the checks tell."""
    if not is_gtin(gtin):
        return None
    drawn = symbol(gtin, scale)
    return {
        "svg": svg_of(drawn, shop.templates[BARCODE]),
        "width": float(drawn.width),
        "kind": drawn.kind,
        "number": drawn.gtin,
    }


@dataclass(frozen=True, slots=True)
class Logo:
    """A shop's logo as it is printed: the file, its SHA-256 when it was measured, how it is scaled."""

    file: Path
    sha256: str
    crop: CropJob

    def pictures(self) -> tuple[tuple[str, bytes], ...]:
        """Return it as a layout is given it, of bounded size whatever the file's is.

        Raises:
            FieldError: the file is no longer the one that was measured.
        """
        with temporary_folder() as folder:
            path = folder / LOGO
            make_crops(self.file, CropPlan((self.crop,), self.sha256), (path,))
            return ((LOGO, path.read_bytes()),)


def logo_of(shop: Shop) -> Logo | None:
    """Return the logo of a shop that has one, scaled for labels."""
    if shop.logo is None:
        return None
    size = shop.logo.width, shop.logo.height
    return Logo(
        shop.root / shop.settings.logo,
        shop.logo.sha256,
        CropJob("", Cut(0, 0, *size, *fitted(size, _LOGO_SIDE)), format="png"),
    )


def print_fitting(layout: Layout, what: str, measures: Measures, logo: Logo | None, paths: tuple[Path, ...]) -> None:
    """Print pages of which every label holds its text: a recipe; `what` is "label" or "card".

    Raises:
        InPartError: labels are too small for what they must say; the pages are printed without these.
        FieldError: a sign has no glyph, or the layout has a fault.
    """
    pictures = logo.pictures() if logo else ()
    shorts = print_unless_said(paths[0], layout, SHORT, pictures=pictures)
    if not shorts:
        return
    shorts = tuple({json.dumps(short, sort_keys=True): short for short in shorts}.values())  # printed often, said once
    codes = tuple(dict.fromkeys(str(short["code"]) for short in shorts))
    if print_unless_said(paths[0], _without(layout, frozenset(codes)), SHORT, pictures=pictures):
        raise FieldError(*told_short(shorts, what, measures))
    message, hint = told_short(shorts, what, measures)
    named = ", ".join(codes[:_MOST_TOLD]) + (f" and {len(codes) - _MOST_TOLD} more" if codes[_MOST_TOLD:] else "")
    raise InPartError(f"{message} The file is new, and has no {what} of {named}.", hint, codes, message)


def _without(layout: Layout, codes: frozenset[str]) -> Layout:
    """Return the layout without the labels or cards of these codes; an order of places names the others as before."""
    facts = json.loads(layout.facts)
    for key in ("labels", "cards"):
        if key in facts:
            kept = [at for at, text in enumerate(facts[key]) if text["code"] not in codes]
            facts[key] = [facts[key][at] for at in kept]
            if "order" in facts:
                places = {before: now for now, before in enumerate(kept)}
                facts["order"] = [places[at] for at in facts["order"] if at in places]
    return layout.with_facts(facts)


def told_short(shorts: Iterable[dict[str, Any]], what: str, measures: Measures) -> tuple[str, str]:
    """Return what is missing on which labels, in words, and what would help.

    Each of `shorts` has code, what is missing in mm in the direction `side`, and how much of it the label must have.
    """
    all_of = sorted(shorts, key=lambda one: -float(one["missing"]))
    missing = [(short, measures.at_least(_up(short["missing"]))) for short in all_of[:_MOST_TOLD]]
    told = [f"{short['code']} lacks {length} of {short['side']}" for short, length in missing]
    more = len(all_of) - len(told)
    needs = {side: Decimal(0) for side in _SIDES}
    for short in all_of:
        needs[short["side"]] = max(needs[short["side"]], _up(short["needs"]))
    wanted = " and ".join(f"{measures.at_least(needs[side])} {word}" for side, word in _SIDES.items() if needs[side])
    message = f"a {what} of this size cannot hold its text in the smallest type allowed: {'; '.join(told)}"
    message += f"; and {more} more." if more > 0 else "."
    is_whole = what == "label" and any(one["face"] == "whole" for one in all_of)
    helps = " a front and a back in place of one," if is_whole else ""
    where = f"On the desk: Your shop, Labels and cards; in shop.toml: size{' and faces (1 or 2)' if is_whole else ''}."
    return message, f"Take a size at least {wanted},{helps} or fewer words; nothing is cut off. {where}"


_SIDES: Final = {"height": "high", "width": "wide"}


def _up(length: float) -> Decimal:
    """Return whole millimetres."""
    return Decimal(str(length)).quantize(Decimal(1), ROUND_CEILING)


def _job(
    part: Part[Any], layout: Layout, what: str, shop: Shop, context: WriteContext, *, logo: Logo | None = None
) -> Job:
    codes = tuple(dict.fromkeys(code for text in part.texts for code in text.codes))
    key = key_of(context.version, printer(), layout, (logo.sha256, logo.crop, ENCODERS) if logo else None)
    file = File(part.path, key, codes, verify=verify_pdf)
    return Job(print_fitting, (layout, what, shop.settings.measures, logo), (file,), heavy=True)


# Outside labels: one for every variant that may be sold, on sheets or a roll.

STEM: Final = "outside-labels"
LABELS_LAYOUT: Final = ("print/outside_labels.typ", SHARED)


def write_labels(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield all labels, those of one size as one file if one can hold them; nothing without [labels]."""
    shop = listings.catalog.shop
    for paper in papers_of(listings).labels:
        labels, voice = paper.labels, paper.voice
        stem, title = file_of(paper)
        for part in parts_of(paper.texts, f"print/{stem}.pdf", title, labels, labels.faces):
            layout = labels_layout(part.texts, labels, shop, sheet_facts(labels, shop, voice, part.title))
            yield _job(part, layout, "label", shop, context, logo=logo_of(shop) if labels.logo else None)


def file_of(paper: LabelPaper) -> tuple[str, str]:
    """Return what the file of a size is called, without ending, and its title."""
    title = paper.voice.sheet.labels
    if not paper.box:
        return STEM, title
    return f"{STEM}-box-{paper.box_in_name}", f"{title}, {fill(paper.voice.asked.box, code=paper.box)}"


def labels_layout(texts: tuple[LabelText, ...], labels: Labels, shop: Shop, sheet: dict[str, Any]) -> Layout:
    """Return the layout with all that it shows."""
    shown = [_label(text, labels, shop) for text in texts]
    logo = labels.logo and shop.logo is not None
    words = {**sheet["words"], "logo": shop.settings.name}
    facts = {
        **sheet, "words": words, "faces": labels.faces, "frame": labels.frame, "logo": logo, "labels": shown
    }  # fmt: skip
    return layout_with(shop, LABELS_LAYOUT, facts)


def _label(text: LabelText, labels: Labels, shop: Shop) -> dict[str, Any]:
    heights = text.heights
    return {
        "code": text.code,
        "set": text.set_code,
        "number": text.number,
        "name": text.name,
        "theme": text.theme,
        "spoken": [_spoken(one) for one in text.spoken],
        "opened": [asdict(opened) for opened in text.opened],
        "ingredients_heading": text.ingredients_heading,
        "ingredients": text.ingredients,
        "cautions_heading": text.cautions_heading,
        "barcode": barcode_facts(text.gtin, labels.barcodes, shop),
        "letters": float(heights.letters),
        "figures": float(heights.figures),
        "small": float(heights.small),
    }


def _spoken(spoken: Spoken) -> dict[str, Any]:
    return {
        **lang_of(spoken.language),
        "identity": spoken.identity,
        "pieces": spoken.pieces,
        "contents": spoken.contents,
        "lines": spoken.lines,
        "warnings": spoken.warnings,
        "cautions": spoken.cautions,
        "made": spoken.made,
        "batch": spoken.batch,
        "date": spoken.date,
    }


# Price cards: one for every variant or set.

CARDS: Final = "print/price-cards.pdf"
CARDS_LAYOUT: Final = ("print/price_cards.typ", SHARED)


def write_cards(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield all cards, as one file if one can hold them; nothing without [cards]."""
    paper, shop = papers_of(listings).cards, listings.catalog.shop
    if paper is None:
        return
    cards, voice = paper.cards, paper.voice
    for part in parts_of(paper.texts, CARDS, voice.sheet.cards, cards):
        layout = cards_layout(part.texts, cards, shop, sheet_facts(cards, shop, voice, part.title))
        yield _job(part, layout, "card", shop, context)


def cards_layout(texts: tuple[CardText, ...], cards: Cards, shop: Shop, sheet: dict[str, Any]) -> Layout:
    """Return the layout with all that it shows."""
    facts = {**sheet, "cards": [_card(text, cards, shop) for text in texts]}
    return layout_with(shop, CARDS_LAYOUT, facts)


def _card(text: CardText, cards: Cards, shop: Shop) -> dict[str, Any]:
    return {**asdict(text), "barcode": barcode_facts(text.gtin, cards.barcodes, shop)}
