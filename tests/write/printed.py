"""The clean shop with labels or cards, and their pages as a build makes them."""

from pathlib import Path

from listkit.compute.build import build_catalog
from listkit.compute.catalog import Catalog
from listkit.listing.listings import Listings
from listkit.read.shop import read_shop
from listkit.write import Writer
from listkit.write.context import WriteContext
from tests.shops import CLEAN, clean_shop

CONTEXT = WriteContext(version="test")


def clean_catalog(
    table: str, folder: Path, says: str, *, items: tuple[tuple[str, str], ...] = (), files: dict[str, str] | None = None
) -> Catalog:
    """The clean shop with a table of shop.toml that says this; in its items each first text becomes the second."""
    sheet = (CLEAN / "items.csv").read_text(encoding="utf-8")
    for old, new in items:
        assert old in sheet
        sheet = sheet.replace(old, new)
    settings = (CLEAN / "shop.toml").read_text(encoding="utf-8")
    changes = {"shop.toml": f"{settings}\n\n[{table}]\n{says}\n", "items.csv": sheet, **(files or {})}
    shop, problems = read_shop(clean_shop(folder, dict(changes)))
    assert [problem for problem in problems if problem.level == "Must fix"] == []
    return build_catalog(shop)


def printed_by(write: Writer, catalog: Catalog, path: Path) -> Path:
    """Make the only file of a writer at `path`."""
    (job,) = write(Listings(catalog, ()), CONTEXT)
    job.recipe(*job.arguments, (path,))
    return path
