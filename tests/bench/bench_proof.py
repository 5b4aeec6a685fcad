"""What the proof adds to a build, and what a place's ZIP takes: until its first piece, and in memory.

CPU seconds of this process. The large shop has 200 sets of 50 variants, or as many sets as the command says; its ZIP
is one of 1,600 pictures of 300 kB. Run with `python -m tests.bench.bench_proof`.
"""

import datetime
import hashlib
import os
import resource
import sys
import tempfile
import time
from pathlib import Path

from listkit.actions.build import build_shop, owners_notes
from listkit.actions.pack import Pack, PackedFile, pack_of, streamed
from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.listing.listings import Listings
from listkit.pipeline import check_shop
from listkit.save.save import save
from listkit.write import FOR_A_PLACE, jobs_of, proof
from listkit.write.context import OwnersNotes, WriteContext
from tests.bench.synthetic import synthetic_shop
from tests.shops import small_demo

DAY = datetime.date(2027, 3, 1)
PICTURES, PICTURE = 1_600, 300_000


def proof_of(listings: Listings, notes: OwnersNotes, out: Path) -> None:
    """Make the proof and print what it takes."""
    began, before = time.process_time(), peak()
    saved = save(tuple(proof.write(listings, WriteContext("bench", notes=notes))), out)
    took = time.process_time() - began
    sizes = [(out / path).stat().st_size for path in saved.made]
    more = peak() - before
    print(f"  proof: {took:.2f} s, {len(sizes)} pages, the largest {max(sizes):,} bytes, {more} MB more at the peak")


def demo(folder: Path) -> None:
    """Build the demo with small pictures; make its proof again, and plan the ZIP of a place."""
    print("demo")
    checked = check_shop(small_demo(folder / "demo"), DAY)
    build_shop(checked, folder / "demo/out", workers=2)
    proof_of(checked.listings, owners_notes(checked), folder / "proof")
    began = time.process_time()
    size = len(next(streamed(pack_of(checked, "web_shop", folder / "demo/out"))))
    print(f"  ZIP: first {size:,} bytes after {time.process_time() - began:.2f} s")


def large(folder: Path, sets: int) -> None:
    """Make the proof of a large shop, plan what a place's ZIP is held against, and stream one."""
    print(f"{sets} sets of 50 variants")
    listings = build_listings(build_catalog(synthetic_shop(sets, 50)))
    proof_of(listings, OwnersNotes(), folder / "large")
    began = time.process_time()
    count = sum(1 for _ in jobs_of(listings, WriteContext("bench"), names=FOR_A_PLACE))
    print(f"  ZIP: {count} outputs planned in {time.process_time() - began:.2f} s")
    picture = folder / "picture.jpg"
    picture.write_bytes(os.urandom(PICTURE))
    digest = hashlib.sha256(picture.read_bytes()).hexdigest()
    names = (f"photos/{number:04}.jpg" for number in range(PICTURES))
    files = tuple(PackedFile(name, "photos", picture, PICTURE, sha256=digest, rows=None) for name in names)
    began, before = time.process_time(), peak()
    size = sum(map(len, streamed(Pack("large.zip", files, "note", behind=False))))
    print(f"  ZIP: {size:,} bytes in {time.process_time() - began:.2f} s, {peak() - before} MB more at the peak")


def peak() -> int:
    """Return the process's largest size so far in MB."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as place:
        demo(Path(place))
        large(Path(place), int(sys.argv[1]) if len(sys.argv) > 1 else 200)
