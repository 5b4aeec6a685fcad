"""Writers: listings in, jobs out, no disk. `WRITERS` names every output, in the order they are made."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace

from listkit.listing.listings import Listings
from listkit.save.job import Job
from listkit.write import (
    barcodes,
    contact_sheet,
    csv_feed,
    json_feed,
    jsonl_feed,
    labels,
    line_sheet,
    listing_text,
    order_form,
    photo_crops,
    proof,
    record,
    stall_list,
    wholesale_list,
    xlsx_feed,
)
from listkit.write.context import WriteContext

Writer = Callable[[Listings, WriteContext], Iterator[Job]]

WRITERS: dict[str, Writer] = {
    "csv-feed": csv_feed.write,
    "json-feed": json_feed.write,
    "jsonl-feed": jsonl_feed.write,
    "xlsx-feed": xlsx_feed.write,
    "listing-text": listing_text.write,
    "price-list": csv_feed.write_price_list,
    "printed-list": stall_list.write,
    "record": record.write,
    "photo-crops": photo_crops.write,
    "contact-sheet": contact_sheet.write,
    "line-sheet": line_sheet.write,
    "wholesale-list": wholesale_list.write,
    "order-form": order_form.write,
    "barcodes": barcodes.write,
    "wholesale-record": record.write_wholesale,
    "outside-labels": labels.write_labels,
    "price-cards": labels.write_cards,
    "proof": proof.write,
}


FOR_A_PLACE = (
    "csv-feed", "json-feed", "jsonl-feed", "xlsx-feed", "listing-text", "price-list", "printed-list", "photo-crops",
)  # fmt: skip
"""The outputs that a channel takes, each of its own listings alone."""
FOR_SHOPS = ("line-sheet", "wholesale-list", "order-form", "barcodes")
"""The outputs for shops that buy."""


def jobs_of(listings: Listings, context: WriteContext, *, names: Iterable[str] = WRITERS) -> Iterator[Job]:
    """Yield the jobs of all writers, or of these; those that cut the same photo are one, so that it is opened once.

    A job of several stands where the first of them does. Keys and files are those of the writers.
    """
    jobs: dict[object, Job] = {}
    for number, job in enumerate(job for name in names for job in WRITERS[name](listings, context)):
        same = (job.recipe, job.arguments) if job.heavy and job.parts else number
        first = jobs.get(same)
        jobs[same] = (
            job if first is None else replace(first, files=first.files + job.files, parts=first.parts + job.parts)
        )
    yield from jobs.values()
