"""Printed papers of the listings: line sheet, price list, order form, labels and cards, each worded once.

A part is made when it is first asked for, by a check or by a writer, and kept as long as the listings are; so a shop
without papers pays for none.
"""

from dataclasses import dataclass, replace
from functools import cached_property

from listkit.compute.wholesale import Sheet, build_sheet
from listkit.listing.cards import CardPaper, card_paper
from listkit.listing.labels import LabelPaper, by_size, label_paper
from listkit.listing.listings import Listings
from listkit.listing.order_form import FormText, form_of
from listkit.listing.photos import SheetPhoto, lead_photo, sheet_photos
from listkit.listing.sheet import Document, document_with


@dataclass(frozen=True)
class Papers:
    """What is printed of these listings; a paper that the shop does not ask for, or has no words for, is None."""

    listings: Listings

    @cached_property
    def sheet(self) -> Sheet | None:
        """The line sheet in figures; None without terms for shops."""
        return build_sheet(self.listings.catalog)

    @cached_property
    def document(self) -> Document | None:
        """The line sheet in words; None without terms for shops, without lines, or without words."""
        return document_with(self.sheet, self.listings.catalog.shop)

    @cached_property
    def photos(self) -> tuple[SheetPhoto, ...]:
        """The photos of the line sheet's entries, in their order."""
        if self.document is None:
            return ()
        return sheet_photos(self.document.sheet, self.listings.catalog, self.document.voice.words)

    @cached_property
    def lead(self) -> SheetPhoto | None:
        """The photo that leads the line sheet."""
        if self.document is None:
            return None
        return lead_photo(self.document.sheet, self.listings.catalog, self.document.voice.words)

    @cached_property
    def form(self) -> FormText | None:
        """The order form."""
        return form_of(self.document, self.listings.catalog.shop) if self.document else None

    @cached_property
    def labels(self) -> tuple[LabelPaper, ...]:
        """The outside labels, those of each size together; none without [labels]."""
        paper, settings = label_paper(self.listings.catalog), self.listings.catalog.shop.settings
        return tuple(by_size(paper, settings.box_labels)) if paper else ()

    @cached_property
    def cards(self) -> CardPaper | None:
        """The price cards."""
        return card_paper(self.listings)


def papers_of(listings: Listings) -> Papers:
    """Return the papers of these listings, the same ones however often they are asked for."""
    papers: Papers | None = listings.made.get(Papers)
    if papers is None:  # they hold a copy: with the listings themselves each would keep the other in memory
        papers = listings.made[Papers] = Papers(replace(listings))
    return papers
