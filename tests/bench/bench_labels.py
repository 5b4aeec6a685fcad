"""How long labels and cards take: python -m tests.bench.bench_labels [distinct] [copied] [messages].

Distinct: 10,000 labels that all differ, as a build makes them. Copied: 1,000 labels of 50 texts, as they are asked for.
Messages: 200 cards with buyers' words. CPU seconds are those of this process and of those that lay the pages out.
"""

import random
import resource
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from listkit.compute.build import build_catalog
from listkit.listing.listings import Listings
from listkit.listing.print_words import LabelVoice, voice_in
from listkit.model.labels import CardWish, Labels
from listkit.model.shop import Shop
from listkit.problem import Place
from listkit.save.save import save
from listkit.write.asked_pages import Pages, label_kinds, message_sheets, sheets_of_all
from listkit.write.context import WriteContext
from listkit.write.labels import print_fitting, write_labels
from tests.bench.stages import cpu_seconds
from tests.bench.synthetic import CONTEXT, synthetic_shop

WORKERS = 2
WORDS = ("Happy birthday", "dear Ann", "with love", "from all of us", "on the hill", "and many thanks")


def labelled(sets: int, variants: int) -> Listings:
    """A shop of so many labels, 150 by 140 mm, two on a sheet."""
    shop = synthetic_shop(sets, variants, photos=0)
    labels = Labels.model_validate({"size": "150 x 140 mm"}, context=CONTEXT)
    made = replace(shop, settings=shop.settings.model_copy(update={"labels": labels}))
    return Listings(build_catalog(made), ())


def voice_of(shop: Shop) -> LabelVoice:
    """The words of its labels."""
    voice, problems = voice_in(shop, shop.settings.language)
    assert voice is not None
    assert not problems
    return voice


def measured(what: str, made: Callable[[], object]) -> None:
    """Print what something took."""
    began, started = cpu_seconds(), time.perf_counter()
    made()
    taken, passed = cpu_seconds() - began, time.perf_counter() - started
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"{what}: {passed:.1f} s by the clock, {taken:.1f} CPU s, largest process {peak:.0f} MB", flush=True)


def printed(pages: tuple[Pages, ...], shop: Shop, folder: Path) -> None:
    """Print what was asked for."""
    for page in pages:
        print_fitting(page.layout, page.what, shop.settings.measures, page.logo, (folder / page.name,))


def distinct(folder: Path) -> None:
    """Print the figures of 10,000 labels."""
    listings = labelled(200, 50)
    jobs = tuple(write_labels(listings, WriteContext("bench")))
    measured(f"10,000 labels in {len(jobs)} files", lambda: save(jobs, folder, workers=WORKERS))


def copied(folder: Path) -> None:
    """Print the figures of 20 labels of each of 50 texts."""
    listings = labelled(5, 10)
    shop = listings.catalog.shop
    kinds = label_kinds(listings)
    order = tuple(at for at in range(50) for _ in range(20))
    pages = tuple(sheets_of_all(kinds, order, 0, shop, voice_of(shop)))
    measured(f"1,000 labels of 50 texts in {len(pages)} files", lambda: printed(pages, shop, folder))


def messages(folder: Path) -> None:
    """Print the figures of 200 cards, each of 10 to 40 words."""
    listings = labelled(5, 10)
    shop, chance = listings.catalog.shop, random.Random(7)
    wishes = tuple(
        CardWish(
            order=str(1000 + at),
            code=listings.catalog.sets[at % 5].code,
            words=" ".join(chance.choices(WORDS, k=chance.randrange(4, 16))),
            sender="Ann",
            recipient="Bea",
            place=Place("orders.csv", line=at + 2),
        )
        for at in range(200)
    )
    pages = tuple(message_sheets(wishes, 0, listings.catalog, voice_of(shop)))
    measured(f"200 message cards in {len(pages)} files", lambda: printed(pages, shop, folder))


CASES = {case.__name__: case for case in (distinct, copied, messages)}

if __name__ == "__main__":
    for name in sys.argv[1:] or CASES:
        with tempfile.TemporaryDirectory() as scratch:
            CASES[name](Path(scratch))
