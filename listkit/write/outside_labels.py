"""print/outside-labels.pdf: for every variant that may be sold the label of its outside, on sheets or a roll.

Made where shop.toml has [labels]. The declared contents are never set smaller than the rule for their panel; what a
label cannot hold is told with how much is missing, and then no file takes the old one's place.
"""

from collections.abc import Iterator
from typing import Any, Final

from listkit.listing.listings import Listings
from listkit.model.labels import Labels
from listkit.model.shop import Shop
from listkit.save.job import File, Job, key_of
from listkit.write.context import WriteContext
from listkit.write.label_sheets import barcode_facts, lang_of, layout_with, parts_of, print_fitting, sheet_facts
from listkit.write.label_text import LabelText, Spoken, label_texts, label_voices
from listkit.write.print import Layout, printer, verify_pdf

PATH: Final = "print/outside-labels.pdf"
LAYOUT: Final = "print/outside_labels.typ"


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield all labels, as one file if one can hold them; nothing without [labels]."""
    catalog = listings.catalog
    labels = catalog.shop.settings.labels
    texts = label_texts(catalog, labels) if labels else ()
    if labels is None or not texts:
        return
    voice = label_voices(catalog, labels)[0]
    for part in parts_of(texts, PATH, voice.sheet.labels, labels, labels.faces):
        layout = labels_layout(part.texts, labels, catalog.shop, sheet_facts(labels, catalog.shop, voice, part.title))
        codes = tuple(dict.fromkeys(code for text in part.texts for code in text.codes))
        file = File(part.path, key_of(context.version, printer(), layout), codes, verify=verify_pdf)
        yield Job(print_fitting, (layout, "label"), (file,))


def labels_layout(texts: tuple[LabelText, ...], labels: Labels, shop: Shop, sheet: dict[str, Any]) -> Layout:
    """Return the layout with all that it shows."""
    facts = {**sheet, "faces": labels.faces, "labels": [_label(text, labels, shop) for text in texts]}
    return layout_with(shop, LAYOUT, facts)


def _label(text: LabelText, labels: Labels, shop: Shop) -> dict[str, Any]:
    heights = text.heights
    return {
        "code": text.code,
        "number": text.number,
        "name": text.name,
        "spoken": [_spoken(one) for one in text.spoken],
        "ingredients_heading": text.ingredients_heading,
        "ingredients": text.ingredients,
        "cautions_heading": text.cautions_heading,
        "barcode": barcode_facts(text.gtin, labels.barcodes, shop),
        "letters": float(heights.letters),
        "figures": float(heights.figures),
        "small": float(heights.small),
    }


def _spoken(one: Spoken) -> dict[str, Any]:
    return {
        **lang_of(one.language),
        "identity": one.identity,
        "pieces": one.pieces,
        "contents": one.contents,
        "cautions": one.cautions,
        "made": one.made,
        "batch": one.batch,
        "date": one.date,
    }
