"""Opens a shop for a command: reads it, computes it, lists it, checks it, each once."""

import datetime
from dataclasses import dataclass
from pathlib import Path

from listkit.check import check_listings
from listkit.check.places import CheckContext
from listkit.check.thresholds import read_thresholds
from listkit.cli.listed import ledger_unread, listed
from listkit.cli.sheets import sheet_history
from listkit.compute.catalog import Catalog
from listkit.compute.wholesale import NOTHING_GIVEN_OUT, SheetHistory
from listkit.listing.listings import Listings
from listkit.model.settings import Settings
from listkit.model.shop import Shop
from listkit.problem import FieldError, Problem
from listkit.read.folder import find_files
from listkit.read.parts import read_settings, settle_settings
from listkit.read.photos import PhotoMemory
from listkit.read.shop import in_order, read_shop, with_lines
from listkit.save.made import Photos, read_made


@dataclass(frozen=True, slots=True)
class Checked:
    """A shop with all that follows from it, every problem in the order of places, and what was measured in photos.

    `history` is what the ledger knows of line sheets that were given out.
    """

    shop: Shop
    listings: Listings
    problems: tuple[Problem, ...]
    photos: Photos
    history: SheetHistory = NOTHING_GIVEN_OUT


def open_shop(folder: Path) -> Shop:
    """Read the shop alone; whatever is wrong in it is left out."""
    return read_shop(folder, photo_facts=PhotoMemory(read_made(folder / "out").photos))[0]


def open_settings(folder: Path) -> Settings:
    """Read shop.toml alone; whatever is wrong in it is left out."""
    said, _ = read_settings(folder, find_files(folder)[0].shop)
    return settle_settings(folder, said)[0]


def check_shop(folder: Path, out: Path, today: datetime.date) -> Checked:
    """Read, compute, list and check the shop in `folder`; photos measured before are remembered in `out`."""
    memory = PhotoMemory(read_made(out).photos)
    shop, problems = read_shop(folder, photo_facts=memory)
    listings, unread = listed(shop, today)
    problems += (*unread, *listings.problems)
    history, told = _history(shop, listings.catalog)
    problems += told
    problems += check_listings(listings, CheckContext(today, sheets=history))
    wanted = read_thresholds(shop.settings)[0].judged(problems)
    ordered = sorted(with_lines(folder, wanted), key=in_order)
    return Checked(shop, listings, tuple(dict.fromkeys(ordered)), memory.photos, history)


def _history(shop: Shop, catalog: Catalog) -> tuple[SheetHistory, tuple[Problem, ...]]:
    """Return what was given out; where the ledger cannot be used that is told, and nothing is known."""
    try:
        return sheet_history(shop.root, catalog), ()
    except FieldError as fault:
        return NOTHING_GIVEN_OUT, (ledger_unread(fault),)
