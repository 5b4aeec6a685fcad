"""What another office program makes of the owner's sheet: LibreOffice saves it, and it is read the same."""

import shutil
import subprocess
from pathlib import Path

import pytest

from listkit.model.item import Item
from listkit.read.shop import read_shop
from tests.office import profile

OFFICE = shutil.which("soffice")


def items_of(folder: Path) -> tuple[Item, ...]:
    """The items of a shop that is nothing but settings and a sheet."""
    shop, problems = read_shop(folder)
    assert [one for one in problems if one.place.file.startswith("items")] == []
    return shop.items


@pytest.mark.skipif(OFFICE is None, reason="LibreOffice is not installed (Debian: libreoffice-calc)")
@pytest.mark.parametrize("ending", ["xlsx", "ods"])
def test_the_demos_items_saved_by_libreoffice_read_the_same(ending: str, demo_folder: Path, tmp_path: Path) -> None:
    assert OFFICE is not None
    plain, saved = tmp_path / "plain", tmp_path / "saved"
    for folder in (plain, saved):
        folder.mkdir()
        shutil.copy(demo_folder / "shop.toml", folder)
        shutil.copy(demo_folder / "logo.png", folder)
    shutil.copy(demo_folder / "items.csv", plain)
    comma_quote_utf8 = "CSV:44,34,76,1"  # the filter's own codes: separator, quote, encoding, first row
    subprocess.run(
        [OFFICE, f"-env:UserInstallation=file://{profile()}", "--headless", f"--infilter={comma_quote_utf8}",
         "--convert-to", ending, "--outdir", str(saved), str(plain / "items.csv")],
        check=True,
        capture_output=True,
        timeout=120,
    )  # fmt: skip
    assert (saved / f"items.{ending}").is_file()
    assert items_of(saved) == items_of(plain)
