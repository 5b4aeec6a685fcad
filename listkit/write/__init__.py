"""Writers: listings in, jobs out, no disk. `WRITERS` names every output, in the order they are made."""

from collections.abc import Callable, Iterator

from listkit.listing.listings import Listings
from listkit.save.job import Job
from listkit.write import (
    barcodes,
    contact_sheet,
    csv_feed,
    json_feed,
    jsonl_feed,
    line_sheet,
    listing_text,
    order_form,
    outside_labels,
    photo_crops,
    price_cards,
    price_list,
    record,
    wholesale_list,
    wholesale_record,
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
    "price-list": price_list.write,
    "record": record.write,
    "photo-crops": photo_crops.write,
    "contact-sheet": contact_sheet.write,
    "line-sheet": line_sheet.write,
    "wholesale-list": wholesale_list.write,
    "order-form": order_form.write,
    "barcodes": barcodes.write,
    "wholesale-record": wholesale_record.write,
    "outside-labels": outside_labels.write,
    "price-cards": price_cards.write,
}
