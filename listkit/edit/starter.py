"""Makes a new shop folder: the starter's small shop with three pictures, or a shop around the owner's own sheet."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from functools import cache
from pathlib import Path
from typing import Final

from listkit.edit.files import filled_in, in_the_making, write_file
from listkit.edit.toml import with_value

_SHOP: Final = Path("shop.toml")


def copy_starter(starter: Path, folder: Path, stated: Mapping[str, str] | None = None) -> tuple[str, ...]:
    """Make `folder` with the starter's files; return their paths in it.

    `stated` are keys of shop.toml that the starter has (name, currency, country) with the owner's own values.

    Raises:
        FieldError: it is there already and not empty.
        BlockedError: it cannot be written to. Nothing is overwritten or half made.
    """
    files = sorted(path.relative_to(starter) for path in starter.rglob("*") if path.is_file())
    with in_the_making(folder) as made:
        for file in files:
            content = (starter / file).read_bytes()
            for key, value in (stated or {}).items() if file == _SHOP else ():
                content = with_value(content, (key,), value)
            write_file(made / file, content)
    return tuple(file.as_posix() for file in files)


# Around the owner's sheet, which is copied byte for byte: the starter's example box, card and channel. Its example set
# is left out, since its pictures show goods that the owner does not make.

_EXAMPLE: Final = b"# An example: write your own boxes and their measures here before you sell anything in them.\n"
_KEPT: Final = ("channels/*.toml",)


@dataclass(frozen=True, slots=True)
class ColumnLine:
    """A line of [items.columns]: the owner's heading, our word for it ("" leaves the column alone), and a remark."""

    heading: str
    says: str
    remark: str = ""


@dataclass(frozen=True, slots=True)
class OwnSheet:
    """The owner's file: its name and bytes, which sheet of it, its columns, and the fields that no column has."""

    file: str
    content: bytes
    sheet: str
    lines: tuple[ColumnLine, ...]
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ShopWords:
    """The shop's name, and what its sheet lets one guess, "" where unknown, each with a remark.

    `measure` is "metric" or "customary"; "" leaves the key out.
    """

    name: str
    currency: str
    currency_remark: str
    country: str
    country_remark: str
    language: str
    language_remark: str
    measure: str
    measure_remark: str


def make_own_shop(templates: Path, folder: Path, sheet: OwnSheet, shop: ShopWords) -> tuple[str, ...]:
    """Make the folder and return the paths of its files.

    Raises:
        FieldError: it is there already and not empty.
        BlockedError: it cannot be written to. Nothing is overwritten or half made.
    """
    starter = templates / "new_shop"
    files = {path.relative_to(starter).as_posix(): path.read_bytes() for kept in _KEPT for path in starter.glob(kept)}
    packaging = templates / "own_sheet" if shop.measure == "customary" else starter
    files["packaging.toml"] = _EXAMPLE + (packaging / "packaging.toml").read_bytes()
    values = {
        **asdict(shop),
        "file": sheet.file,
        "sheet": sheet.sheet,
        "lines": sheet.lines,
        "missing": sheet.missing,
    }
    files["shop.toml"] = filled_in((templates / "own_sheet" / "shop.toml").read_text(encoding="utf-8"), values)
    files[sheet.file] = sheet.content
    with in_the_making(folder) as made:
        for file, content in files.items():
            write_file(made / file, content)
    return tuple(sorted(files))


# The figures that nobody has changed since: each is told by its line, which holds value and remark as we wrote them.

_HEADING: Final = re.compile(r"\[{1,2}(\w+)\]{1,2}")
_FIGURE: Final = re.compile(r'\w+ = "?\d[^#]*(?<![\s#])( *#.*)')


@dataclass(frozen=True, slots=True)
class ExampleFigure:
    """A figure of a file of the shop that is still the starter's: its key, and its value as the file has it."""

    file: str
    key: tuple[str, str]
    value: str


def example_figures(templates: Path, file: str, text: str) -> tuple[ExampleFigure, ...]:
    """Return the figures of a file that stand there as the starter wrote them, remark and all, in their order."""
    figures = []
    for _, table, line, remark in _figures(text):
        if (table, line) in _starter_lines(templates, file):
            name, _, value = line.removesuffix(remark).partition(" = ")
            figures.append(ExampleFigure(file, (table, name), value.strip().strip('"')))
    return tuple(figures)


def without_remarks(templates: Path, file: str, text: str) -> str:
    """Return a file whose figures are the owner's: those of the starter without the remarks that mark them."""
    lines, known = text.splitlines(keepends=True), _starter_lines(templates, file)
    for at, table, line, remark in _figures(text):
        if (table, line) in known:
            lines[at] = line.removesuffix(remark) + lines[at].removeprefix(line)
    return "".join(lines)


def _figures(text: str) -> Iterator[tuple[int, str, str, str]]:
    """Yield the lines with a value and a remark: which it is, the table that it is in, the line, and its remark."""
    table = ""
    for at, line in enumerate(text.splitlines()):
        if heading := _HEADING.match(line):
            table = heading[1]
        elif table and (figure := _FIGURE.fullmatch(line)):
            yield at, table, line, figure[1]


@cache
def _starter_lines(templates: Path, file: str) -> frozenset[tuple[str, str]]:
    texts = (templates / folder / file for folder in ("new_shop", "own_sheet"))
    lines = (_figures(text.read_text(encoding="utf-8")) for text in texts if text.is_file())
    return frozenset((table, line) for each in lines for _, table, line, _ in each)
