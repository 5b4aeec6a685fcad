"""price-list.pdf of a channel: what lies on the table at a stall, on one page as long as the lines go on it."""

from collections.abc import Iterator
from pathlib import Path
from typing import Final

from listkit.listing.listings import Listings
from listkit.listing.rows import prices_of
from listkit.listing.stall_list import StallList, stall_list
from listkit.model.shop import Shop
from listkit.save.job import File, Job, key_of
from listkit.write.context import WriteContext, codes_of
from listkit.write.print import Layout, head_facts, layout_with, print_pdf, printer, verify_pdf

LAYOUTS: Final = ("print/stall_list.typ", "print/common.typ")
_ROOMY: Final = 32  # lines that go on one page in large type that is read across a table
_FEW: Final = 40  # in the next smaller one


def write(listings: Listings, context: WriteContext) -> Iterator[Job]:
    """Yield the printed price list of every channel that asks for one."""
    shop = listings.catalog.shop
    for channel, own in listings.by_channel():
        page = stall_list(own, shop) if "printed list" in channel.make else None
        if page is None:
            continue
        layout = layout_of(page, shop)
        file = File(
            f"{channel.key}/price-list.pdf", key_of(context.version, printer(), layout), codes_of(own),
            prices_of(own, "variant"), channel=channel.key, verify=verify_pdf,
        )  # fmt: skip
        yield Job(print_list, (layout,), (file,))


def print_list(layout: Layout, paths: tuple[Path, ...]) -> None:
    """Print the page: a recipe."""
    print_pdf(paths[0], layout)


def layout_of(page: StallList, shop: Shop) -> Layout:
    """Return the layout of a list with all that it shows; without a day, so that nothing but a change makes it anew."""
    facts = {
        **head_facts(shop, page.title, language=page.language, contact=page.contact, page=page.words.page),
        "size": "roomy" if len(page.lines) <= _ROOMY else "large" if len(page.lines) <= _FEW else "small",
        "words": {"code": page.words.code, "line": page.words.line, "price": page.words.price},
        "lines": [
            {"code": line.code, "name": line.name, "more": line.more, "price": line.price} for line in page.lines
        ],
    }
    return layout_with(shop, LAYOUTS, facts)
