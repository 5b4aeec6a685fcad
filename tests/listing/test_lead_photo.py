"""The picture that leads the line sheet: the first photo that has enough pixels for it, or none."""

from dataclasses import replace

from listkit.compute.catalog import Catalog
from listkit.listing.listings import Listings
from listkit.listing.papers import papers_of


def small(catalog: Catalog, codes: frozenset[str]) -> Listings:
    """The shop with photos of 1,000 by 750 pixels in these sets."""
    sets = []
    for facts in catalog.sets:
        shrunk = [replace(one, facts=replace(one.facts, width=1000, height=750)) for one in facts.source.photos]
        photos = tuple(shrunk) if facts.code in codes else facts.source.photos
        sets.append(replace(facts, source=replace(facts.source, photos=photos)))
    return Listings(replace(catalog, sets=tuple(sets)), ())


def test_photos_too_small_to_lead_leave_it_to_another_set_and_all_of_them_to_nobody(demo: Listings) -> None:
    first = papers_of(small(demo.catalog, frozenset())).lead
    assert first is not None
    second = papers_of(small(demo.catalog, frozenset({first.code}))).lead
    assert second is not None
    assert second.code != first.code
    for lead in (first, second):
        assert lead.cut.right - lead.cut.left >= 1200  # 16 by 9 across the head of a page; common practice, no source
    assert papers_of(small(demo.catalog, frozenset(facts.code for facts in demo.catalog.sets))).lead is None
