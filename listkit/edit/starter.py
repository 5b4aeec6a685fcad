"""Makes a new shop folder from the starter: a small shop with three pictures that builds at once."""

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from listkit.edit.files import filled_in, in_the_making, write_file


def copy_starter(starter: Path, folder: Path) -> tuple[str, ...]:
    """Copy the starter's files into `folder`, which is made; return their paths in it.

    Raises:
        FieldError: something lies there already, or it cannot be written to. Nothing is overwritten or half made.
    """
    files = sorted(path.relative_to(starter) for path in starter.rglob("*") if path.is_file())
    with in_the_making(folder) as made:
        for file in files:
            write_file(made / file, (starter / file).read_bytes())
    return tuple(file.as_posix() for file in files)


# Makes a new shop folder around the owner's own sheet, which is copied byte for byte and never changed.
#
# The starter gives the rest: an example box and card, one channel. Its example set is left out, for its pictures show
# goods that she does not make.

_EXAMPLE: Final = b"# An example: write your own boxes and their measures here before you sell anything in them.\n"
_KEPT: Final = ("channels/*.toml",)


@dataclass(frozen=True, slots=True)
class ColumnLine:
    """A line of [items.columns]: her heading, our word for it ("" leaves the column alone), and a remark."""

    heading: str
    says: str
    remark: str = ""


@dataclass(frozen=True, slots=True)
class OwnSheet:
    """The owner's sheet as the shop has it: its name and bytes, which sheet of it, its columns, what is missing."""

    file: str
    content: bytes
    sheet: str
    lines: tuple[ColumnLine, ...]
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ShopWords:
    """What is known of the shop, "" where it is not, each with a remark."""

    name: str
    currency: str
    currency_remark: str
    country: str
    country_remark: str


def make_own_shop(templates: Path, folder: Path, own: OwnSheet, words: ShopWords) -> tuple[str, ...]:
    """Make the folder and return the paths of its files.

    Raises:
        FieldError: something lies there already, or it cannot be written to. Nothing is overwritten or half made.
    """
    starter = templates / "new_shop"
    files = {path.relative_to(starter).as_posix(): path.read_bytes() for kept in _KEPT for path in starter.glob(kept)}
    files["packaging.toml"] = _EXAMPLE + (starter / "packaging.toml").read_bytes()
    files["shop.toml"] = _shop_toml((templates / "own_sheet" / "shop.toml").read_text(encoding="utf-8"), own, words)
    files[own.file] = own.content
    with in_the_making(folder) as made:
        for file, content in files.items():
            write_file(made / file, content)
    return tuple(sorted(files))


def _shop_toml(template: str, own: OwnSheet, words: ShopWords) -> bytes:
    values = {
        "name": words.name,
        "currency": words.currency,
        "currency_remark": words.currency_remark,
        "country": words.country,
        "country_remark": words.country_remark,
        "file": own.file,
        "sheet": own.sheet,
        "lines": own.lines,
        "missing": own.missing,
    }
    return filled_in(template, values)
