"""Small shops for tests: folders built from a clean one with a few files changed, tables in the kinds owners keep."""

import io
import re
import shutil
import tempfile
import zipfile
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from xml.sax.saxutils import escape

import openpyxl
from PIL import Image

from listkit.problem import Problem
from listkit.read.photos import PhotoMemory
from listkit.read.shop import read_shop

PROBLEMS = Path(__file__).parent / "problems"
CLEAN = PROBLEMS / "clean"
DEMO_DRAFT = frozenset(("frost-on-the-panes",))  # of the demo's folders, what no build shows
DEMO = Path(__file__).resolve().parents[1] / "demo_shop"
NOT_PART_OF_THE_SHOP = ("expected.txt", "remove.txt", "rename.txt")


def clean_shop(folder: Path, changes: Mapping[str, str | bytes | None] | None = None) -> Path:
    """Copy the clean shop to `folder`; `changes` are paths with the text that stands there instead, None to remove."""
    shutil.copytree(CLEAN, folder, dirs_exist_ok=True)
    return with_files(folder, changes or {})


def with_files(folder: Path, files: Mapping[str, str | bytes | None]) -> Path:
    """Write files by their paths below `folder`, None to remove one; return the folder."""
    for path, content in files.items():
        file = folder / path
        if content is None:
            file.unlink()
            continue
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_bytes(content if isinstance(content, bytes) else content.encode())
    return folder


def small_demo(folder: Path) -> Path:
    """Copy the demo shop with pictures and cuts of an eighth of their size, so that a build takes a few seconds."""
    shutil.copytree(Path(_small_demo().name), folder, dirs_exist_ok=True)
    return folder


@cache
def _small_demo() -> tempfile.TemporaryDirectory[str]:
    """Make the pictures small once; the folder goes with the process."""
    kept = tempfile.TemporaryDirectory(prefix="listkit-tests-")
    folder = Path(kept.name)
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("out"), dirs_exist_ok=True)
    for file in folder.glob("sets/*/photos/*.jpg"):
        shrink(file, 375)
    for file in folder.glob("channels/*.toml"):
        text = re.sub(
            r"(?m)^(width|smallest) = (\d+)",
            lambda size: f"{size[1]} = {int(size[2]) // 8}",
            file.read_text(encoding="utf-8"),
        )
        file.write_text(text, encoding="utf-8")
    return kept


def demo_without_pictures(folder: Path) -> Path:
    """Copy the demo shop without its pictures and places: what stockists see of it, ready in a second."""
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("out", "photos", "channels"))
    without_allotment(folder)
    with (folder / "shop.toml").open("a", encoding="utf-8") as stream:
        stream.write('\n[checks]\nshot-missing = "off"\n')
    for file in folder.glob("sets/*/set.toml"):
        whole = file.read_text(encoding="utf-8")
        file.write_text(whole.partition("[[photos]]")[0], encoding="utf-8")
    return folder


def without_allotment(folder: Path) -> None:
    """Let a copy of the demo share nothing out among its places."""
    before, _, rest = (folder / "shop.toml").read_text(encoding="utf-8").partition("[allotment]")
    (folder / "shop.toml").write_text(before + rest[rest.index("[workshop]") :], encoding="utf-8")


def shrink(file: Path, largest: int) -> None:
    """Write a picture anew with so many pixels at most on its longer side."""
    with Image.open(file) as picture:
        picture.draft("RGB", (largest, largest))
        small = picture.convert("RGB")
        exif = picture.getexif()
    small.thumbnail((largest, largest))
    small.save(file, quality=80, exif=exif)


@cache
def demo_photos() -> PhotoMemory:
    """Return what is measured in the demo's photos: measuring takes four seconds."""
    memory = PhotoMemory()
    read_shop(DEMO, photo_facts=memory)
    return PhotoMemory(memory.photos)


def edited(path: str, old: str, new: str) -> dict[str, str | bytes | None]:
    """Return the one change to the clean shop that puts `new` in the place of `old` in a file."""
    text = (CLEAN / path).read_text(encoding="utf-8")
    assert text.count(old) >= 1, f"{old!r} does not stand in {path}"
    return {path: text.replace(old, new, 1)}


def broken_shop(folder: Path, overlay: Path) -> Path:
    """Build the clean shop with the files of `overlay` over it, less those that its remove.txt names.

    rename.txt gives a folder a name that not every system could have in this one: "sets/dawn -> sets/CON".
    """
    clean_shop(folder)
    for file in (file for file in overlay.rglob("*") if file.is_file() and file.name not in NOT_PART_OF_THE_SHOP):
        target = folder / file.relative_to(overlay)
        target.parent.mkdir(parents=True, exist_ok=True)
        shutil.copyfile(file, target)
    gone = overlay / "remove.txt"
    for path in gone.read_text(encoding="utf-8").split("\n") if gone.exists() else ():
        if path:
            (folder / path).unlink()
    renamed = overlay / "rename.txt"
    for line in renamed.read_text(encoding="utf-8").splitlines() if renamed.exists() else ():
        old, _, new = line.partition(" -> ")
        (folder / old).rename(folder / new)
    return folder


def lines(problems: list[Problem]) -> list[str]:
    """Return problems as they are told, each with its code at the end."""
    return [f"{problem}  {problem.code}" for problem in problems]


ODS_MIME = "application/vnd.oasis.opendocument.spreadsheet"
_ODS_HEAD = (
    '<?xml version="1.0" encoding="UTF-8"?><office:document-content '
    'xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
    'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0" office:version="1.3">'
)


def zipped(parts: Mapping[str, str | bytes]) -> bytes:
    """Return a ZIP of these parts."""
    target = io.BytesIO()
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return target.getvalue()


def ods(table: str, *, head: str = _ODS_HEAD, manifest: str = "") -> bytes:
    """Return an OpenDocument 1.3 sheet (OASIS, part 3) with this table:table content."""
    body = f'<office:body><office:spreadsheet><table:table table:name="Items">{table}</table:table>'
    listing = (
        '<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0">'
        f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{ODS_MIME}"/>{manifest}</manifest:manifest>'
    )
    content = f"{head}{body}</office:spreadsheet></office:body></office:document-content>"
    return zipped({"mimetype": ODS_MIME, "content.xml": content, "META-INF/manifest.xml": listing})


def ods_row(cells: Sequence[str | float]) -> str:
    """Return one table:table-row with texts and numbers."""
    written = []
    for cell in cells:
        if isinstance(cell, str):
            text = f"<text:p>{escape(cell)}</text:p>" if cell else ""
            written.append(f'<table:table-cell office:value-type="string">{text}</table:table-cell>')
        else:
            written.append(f'<table:table-cell office:value-type="float" office:value="{cell}"/>')
    return f"<table:table-row>{''.join(written)}</table:table-row>"


def xlsx(rows: Sequence[Sequence[object]], *, title: str = "Items") -> bytes:
    """Return a workbook with one sheet, as openpyxl writes it."""
    book = openpyxl.Workbook()
    book.active.title = title
    for row in rows:
        book.active.append(list(row))
    target = io.BytesIO()
    book.save(target)
    return target.getvalue()
