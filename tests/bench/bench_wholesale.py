"""How long a line sheet and an order form take: python -m tests.bench.bench_wholesale.

The sheet has 300 sets with a choice of three and two pictures each; the pictures are prepared before, as a build
does in other processes, and that is told apart. The form has 2,000 lines.
"""

import hashlib
import tempfile
import time
from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

from PIL import Image, ImageDraw

from listkit.compute.build import build_catalog
from listkit.listing.listings import Listings
from listkit.listing.order_form import form_of
from listkit.listing.papers import papers_of
from listkit.listing.photos import SheetPhoto
from listkit.listing.sheet import Document, document_of
from listkit.model.photo import WHOLE, PhotoFacts
from listkit.model.shop import Photo, SetFolder, Shop
from listkit.model.wholesale import Wholesale
from listkit.write import order_form
from listkit.write.context import WriteContext
from listkit.write.line_sheet import layout_of, picture_jobs, print_sheet
from listkit.write.order_form import form_fault, write_form_sheet
from tests.bench.synthetic import CONTEXT, synthetic_shop

TERMS = {
    "issued": "2027-01-15",
    "valid_until": "2027-07-14",
    "opening": "200",
    "payment": "first order prepaid, then 30 days",
    "case_pack": {"sets": 2, "mixed": True},
    "tier": [{"from": 24, "wholesale": "47 %"}],
}


def selling(sets: int, variants: int, *, pictures: Path | None = None) -> Listings:
    """A shop that sells so many sets to shops, with two pictures of each in `pictures`."""
    shop = synthetic_shop(sets, variants)
    folders = tuple(_pictured(folder, pictures) if pictures else folder for folder in shop.sets)
    terms = Wholesale.model_validate(TERMS, context=CONTEXT)
    made = replace(shop, root=pictures or shop.root, sets=folders, wholesale=terms, channels=())
    return Listings(build_catalog(made), ())


def _pictured(folder: SetFolder, root: Path) -> SetFolder:
    photos = []
    for at, shot in enumerate(("styled", "open box")):
        path = root / f"sets/{folder.folder}/photos/{shot.replace(' ', '-')}.jpg"
        path.parent.mkdir(parents=True, exist_ok=True)
        colour = sum(map(ord, folder.folder)) * 37 % 160 + 60
        picture = Image.effect_noise((900, 900), 40).convert("RGB")
        ImageDraw.Draw(picture).ellipse((150, 150, 750, 750), fill=(colour, 180 - 60 * at, 120))
        picture.save(path, quality=90)
        facts = PhotoFacts(
            width=900, height=900, sha256=hashlib.sha256(path.read_bytes()).hexdigest(), format="JPEG",
            mode="colour", profile="sRGB", orientation=1, frames=1, ground="#ffffff", plain=True,
            found=WHOLE, how_found="ground", detail=WHOLE,
            sharpness=Decimal("0.7"), brightness=Decimal("0.7"), likeness=at,
        )  # fmt: skip
        photos.append(Photo(path.relative_to(root).as_posix(), facts, shot))
    return replace(folder, photos=tuple(photos))


def seconds(work: Callable[[], object], repeats: int = 3) -> float:
    """Return the fastest of some runs."""
    found = []
    for _ in range(repeats):
        started = time.perf_counter()
        work()
        found.append(time.perf_counter() - started)
    return min(found)


def laid(document: Document, shop: Shop, photos: tuple[SheetPhoto, ...], path: Path) -> None:
    """Lay the sheet out and print it, its pictures lying there."""
    names = tuple(dict.fromkeys(one.name for one in photos))
    print_sheet(layout_of(document, shop, photos), names, (path,))


def written(of: Listings, path: Path) -> None:
    """Write the form as a build does, from the catalog on."""
    for job in order_form.write(replace(of), WriteContext("bench")):
        job.recipe(*job.inputs, (path,))


def bench_sheet(folder: Path, sets: int) -> None:
    """Print the figures of one sheet."""
    of = selling(sets, 3, pictures=folder / "shop")
    shop, context = of.catalog.shop, WriteContext("bench")
    document = document_of(of.catalog)
    assert document is not None
    photos = papers_of(of).photos
    jobs = tuple(picture_jobs(photos, shop, context))
    out = folder / f"sheet-{sets}"
    (out / "pictures").mkdir(parents=True)
    started = time.perf_counter()
    for job in jobs:
        job.recipe(*job.inputs, tuple(out / "pictures" / Path(file.path).name for file in job.files))
    prepared = time.perf_counter() - started
    words = seconds(lambda: document_of(of.catalog))
    printed = seconds(lambda: laid(document, shop, photos, out / "sheet.pdf"))
    size = (out / "sheet.pdf").stat().st_size / 1e6
    print(
        f"line sheet of {sets} sets: computed and worded {words:.2f} s, laid out and printed {printed:.2f} s, "
        f"{size:.1f} MB; its {len(jobs)} pictures {prepared:.1f} s before"
    )


def bench_form(folder: Path, sets: int, variants: int) -> None:
    """Print the figures of one order form."""
    of = selling(sets, variants)
    shop = of.catalog.shop
    document = document_of(of.catalog)
    assert document is not None
    form = form_of(document, shop)
    path = folder / "form.xlsx"
    made = seconds(lambda: write_form_sheet(path, form_of(document, shop)))
    read = seconds(lambda: form_fault(path, form))
    whole = seconds(lambda: written(of, path))
    print(
        f"order form of {len(form.lines)} lines: written {made:.2f} s, read back and compared {read:.2f} s, "
        f"from the catalog on {whole:.2f} s, {path.stat().st_size / 1e6:.2f} MB"
    )


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch:
        bench_sheet(Path(scratch), 100)
        bench_sheet(Path(scratch), 300)
        bench_form(Path(scratch), 200, 10)
