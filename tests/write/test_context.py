"""Tests of what holds for every writer: keys follow the bytes, files are verified, paths are each written once."""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from listkit.listing.listings import Listing, Listings
from listkit.save.job import File, Job
from listkit.units.money import Money
from listkit.units.weight import Weight
from listkit.write import WRITERS
from listkit.write.context import WriteContext
from tests.write.two_sets import channel, listings

Change = Callable[[Listing], Listing]


def channels(**said: Any) -> Listings:
    kinds = (("a", "csv", "html"), ("b", "json", "plain"), ("c", "jsonl", "markdown"), ("d", "xlsx", "plain"))
    return listings(*(channel(key, feed=feed, text=text, **said) for key, feed, text in kinds))


def jobs(of: Listings, version: str = "1") -> list[Job]:
    """Return all jobs but the photos' and what is made of them, whose bytes come from pictures."""
    written = (job for write in WRITERS.values() for job in write(of, WriteContext(version)))
    return [job for job in written if not job.heavy and not job.last]


def files(of: Listings) -> dict[str, File]:
    return {file.path: file for job in jobs(of) for file in job.files}


def made(of: Listings, folder: Path) -> dict[str, bytes]:
    """Return every file's bytes."""
    found: dict[str, bytes] = {}
    for job in jobs(of):
        paths = tuple(folder / file.path.replace("/", "-") for file in job.files)
        for path in paths:
            path.unlink(missing_ok=True)
        job.recipe(*job.inputs, paths)
        found |= {file.path: path.read_bytes() for file, path in zip(job.files, paths, strict=True)}
    return found


def changed(change: Change) -> Listings:
    before = channels()
    return replace(before, listings=tuple(change(one) for one in before.listings))


def first_offer(listing: Listing, **said: Any) -> Listing:
    return replace(listing, offers=(replace(listing.offers[0], **said), *listing.offers[1:]))


def first_variant(listing: Listing, **said: Any) -> Listing:
    return first_offer(listing, variant=replace(listing.offers[0].variant, **said))


CHANGES: dict[str, Change] = {
    "nothing": replace,
    "title": lambda one: replace(one, title=one.title + " for two"),
    "text": lambda one: replace(one, description=one.description.replace("care", "much care")),
    "plain text": lambda one: replace(one, plain="Other."),
    "theme": lambda one: replace(one, theme="Another."),
    "keywords": lambda one: replace(one, keywords=(*one.keywords, "more")),
    "order of variants": lambda one: replace(one, offers=tuple(reversed(one.offers))),
    "one variant less": lambda one: replace(one, offers=one.offers[1:]) if len(one.offers) > 1 else one,
    "stock": lambda one: first_offer(one, stock=1),
    "availability": lambda one: first_offer(one, availability="OutOfStock"),
    "a choice": lambda one: first_offer(one, choices=tuple(f"{choice}!" for choice in one.offers[0].choices)),
    "kept": lambda one: first_offer(one, sale=replace(one.offers[0].sale, kept=Money(Decimal(1), "GBP"))),
    "cost": lambda one: first_variant(one, full_cost=Money(Decimal("9.99"), "GBP")),
    "exact cost": lambda one: first_variant(one, exact_cost=Decimal("9.991")),
    "weight": lambda one: first_variant(one, weights=replace(one.offers[0].variant.weights, gift=Weight(Decimal(300)))),
    "weight too little to see": lambda one: first_variant(
        one,
        weights=replace(
            one.offers[0].variant.weights, gift=one.offers[0].variant.weights.gift + Weight(Decimal("0.001"))
        ),
    ),
    "words for photos": lambda one: replace(one, photos=tuple(replace(photo, alt="Other") for photo in one.photos)),
    "address": lambda one: replace(one, address="https://ottermarl.example/other"),
    "language": lambda one: replace(one, language="en-IE"),
}


@pytest.fixture(scope="module")
def old(tmp_path_factory: pytest.TempPathFactory) -> dict[str, bytes]:
    """Every file's bytes before anything changes."""
    return made(channels(), tmp_path_factory.mktemp("old"))


@pytest.mark.parametrize("name", CHANGES)
def test_a_key_changes_when_the_bytes_do_and_only_then(tmp_path: Path, name: str, old: dict[str, bytes]) -> None:
    after = changed(CHANGES[name])
    later = files(after)
    keys = {path: (file.key, later[path].key) for path, file in files(channels()).items()}
    new = made(after, tmp_path)
    assert {path for path in keys if keys[path][0] != keys[path][1]} == {path for path in old if old[path] != new[path]}
    if name == "nothing":
        assert old == new


@pytest.mark.parametrize(
    "said",
    [
        {"separator": ";"},
        {"decimal": ",", "separator": ";"},
        {"line_end": "lf"},
        {"encoding": "windows-1252"},
        {"encoding": "windows-1252", "byte_order_mark": True},
        {"byte_order_mark": True},
        {"encoding": "utf-16", "byte_order_mark": True},
        {"quote": "all"},
        {"header": False},
        {"weight": "kg"},
        {"length": "in"},
        {"date": "28.02.2027"},
        {"transliterate": True, "encoding": "windows-1252"},
    ],
)
def test_a_key_follows_the_dialect_as_far_as_the_bytes_do(
    tmp_path: Path, said: dict[str, Any], old: dict[str, bytes]
) -> None:
    after = channels(dialect=said)
    new, later = made(after, tmp_path), files(after)
    assert {path for path in old if old[path] != new[path]} == {
        path for path, file in files(channels()).items() if file.key != later[path].key
    }


def test_a_new_version_makes_every_file_again() -> None:
    one, other = ([file.key for job in jobs(channels(), version) for file in job.files] for version in ("1", "2"))
    assert not set(one) & set(other)


def test_every_file_is_verified_and_belongs_to_its_channel() -> None:
    for path, file in files(channels()).items():
        assert file.verify is not None
        assert path.startswith(f"{file.channel}/")


def test_no_path_is_written_twice() -> None:
    paths = [file.path for job in jobs(channels()) for file in job.files]
    assert len(paths) == len(set(paths)) == 6 + 6 + 5 + 5


def test_any_bit_turned_over_in_any_file_is_told(tmp_path: Path) -> None:
    for job in jobs(channels()):
        [file] = job.files
        assert file.verify is not None
        if file.path.endswith(".xlsx"):
            continue  # an archive, with bytes that no reader looks at; test_xlsx_feed.py changes its cells
        path = tmp_path / "a"
        job.recipe(*job.inputs, (path,))
        whole = path.read_bytes()
        for at in range(0, len(whole), max(1, len(whole) // 60)):
            path.unlink()
            path.write_bytes(whole[:at] + bytes([whole[at] ^ 1 << at % 8]) + whole[at + 1 :])
            assert file.verify(path, job.recipe, job.inputs), (file.path, at)
        path.unlink()
