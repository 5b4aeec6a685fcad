"""One ZIP with all that the last build made for a place, and a note in plain words of what to do with each file.

It goes out chunk by chunk, so that no file is ever held as a whole, and has the same bytes wherever the same build is
packed: nothing is compressed (pictures are already, and what a table shrinks to depends on the machine's own zlib),
no file has a date of its own, and their order is that of the note.
"""

import hashlib
import os
import re
import zipfile
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from io import BufferedReader
from pathlib import Path
from typing import Final

from listkit import __version__
from listkit.actions.held import held_back, kept_paths
from listkit.actions.outputs import RECORD
from listkit.listing.print_words import sections_for_owner
from listkit.listing.sentences import fill, with_places
from listkit.pipeline import WHOLESALE, Checked
from listkit.problem import BlockedError, FieldError, remedy_of
from listkit.save.made import read_made
from listkit.save.manifest import Entry, read_manifest
from listkit.save.out_folder import blocked_by_disk, digest_at, locked, opened
from listkit.save.place import placed, refuse_sources
from listkit.write import FOR_A_PLACE, FOR_SHOPS, jobs_of
from listkit.write.contact_sheet import NAME as CONTACT_SHEET
from listkit.write.context import WriteContext

NOTE: Final = "what-to-do.txt"
ENDING: Final = ".zip"
_PIECE: Final = 1 << 18  # bytes that are read and sent at once
_MARK: Final = b"listkit packed this: "
_DATE: Final = (1980, 1, 1, 0, 0, 0)  # the first that a ZIP can hold
_RIGHTS: Final = 0o644 << 16
_UNIX: Final = 3
_FOLDER: Final = "pack"
_OWNERS: Final = (RECORD, f"photos/{CONTACT_SHEET}")
"""What a build makes for the owner herself, and no place takes."""
_KINDS: Final = {
    "feed": re.compile(r"feed\.\w+"),
    "price_list": re.compile(r"price-list\.\w+"),
    "papers": re.compile(r".+\.(pdf|xlsx)"),
    "tables": re.compile(r"[^/]+\.(csv|jsonl)"),
    "texts": re.compile(r"listings/.+"),
    "photos": re.compile(r"photos/.+"),
    "pictures": re.compile(r"(pictures|barcodes)/.+"),
    "columns": re.compile(r".+"),
}
"""The kinds of files by the first expression that takes a path below the place's folder, in the order of the note."""
_TABLES: Final = (".csv", ".xlsx")
"""The endings of files whose rows somebody can count: pages and JSON have none that are seen as such."""


@dataclass(frozen=True, slots=True)
class PackWords:
    """What the note says; a sentence a kind of file."""

    row: str
    file: str
    after_sent: str
    head: str = with_places("shop", "place", spared=("shop",))
    rows: str = with_places("count")
    files: str = with_places("count")
    feed: str = with_places("place", spared=("place",))
    table: str = with_places("place", spared=("place",))
    price_list: str = with_places("place", spared=("place",))
    papers: str = with_places("place", spared=("place",))
    tables: str = with_places("place", spared=("place",))
    texts: str = with_places("place", spared=("place",))
    photos: str = with_places("place", spared=("place",))
    pictures: str = with_places("place", spared=("place",))
    columns: str = with_places("place", spared=("place",))
    after: str = with_places("place", spared=("place",))


@dataclass(frozen=True, slots=True)
class PackedFile:
    """One file: its path in the ZIP, its kind (a key of the note), where it is, and what the build made there."""

    path: str
    kind: str
    source: Path
    size: int
    sha256: str
    rows: int | None


@dataclass(frozen=True, slots=True)
class Pack:
    """What one ZIP holds; `name` is its own. `behind`: the shop was changed since the build that made the files."""

    name: str
    files: tuple[PackedFile, ...]
    note: str
    behind: bool


def pack_of(checked: Checked, key: str, out: Path) -> Pack:
    """Return what the last build left in `out` for a place; no file of it is read.

    Raises:
        FieldError: nothing was built for it, or a file is no longer there as it was built.
        BlockedError: a build is at work.
    """
    if not read_manifest(out):  # nor is a lock put into a folder that is none of ours
        raise _not_built(checked.name(key))
    with blocked_by_disk(out), locked(out):
        entries = [each for each in read_manifest(out) if each.path.startswith(f"{key}/") or each.channel == key]
        packed = (file for entry in entries if (file := _packed(entry, key, out)) is not None)
        files = tuple({file.path: file for file in packed}.values())
        if not files:
            raise _not_built(checked.name(key))
        behind = _is_behind(checked, key, out, {file.source.relative_to(out).as_posix() for file in files})
    order = tuple(_KINDS)
    files = tuple(sorted(files, key=lambda file: (order.index(file.kind), file.path)))
    return Pack(f"{key}{ENDING}", files, _note(checked, key, files), behind)


def _is_behind(checked: Checked, key: str, out: Path, packed: set[str]) -> bool:
    """Whether a build would make, change or remove any of what a place takes, by what is remembered of the last one.

    Only these outputs are planned: all of a build's take several times as long in a large shop.
    """
    own = checked.listings_of(key)
    shown = checked.listings if key == WHOLESALE else replace(checked.listings, listings=own)
    context = WriteContext(version=__version__, previous=checked.sheets.previous)
    jobs = jobs_of(shown, context, names=FOR_SHOPS if key == WHOLESALE else FOR_A_PLACE)
    expected = {file.path: file for job in jobs for file in job.files if file.path.startswith(f"{key}/")}
    kept = kept_paths(checked, held_back(checked), expected.values(), out)
    made = read_made(out)
    unbuilt = sorted(expected.keys() - kept - {entry.path for entry in read_manifest(out)})
    if hidden := next((path for path in unbuilt if os.path.lexists(out / path)), ""):
        if digest_at(out / hidden) in made.digests.get(hidden, ()):  # it took its place before the manifest was written
            raise FieldError(f"{hidden} is of a build that was broken off.", "Build, then pack.")
        message = f"{hidden} was not built, as something else lies in its place."
        raise FieldError(message, "Put that elsewhere and build, then pack.")
    keys = {path: file.key for path, file in made.files.items()}
    current = {path for path, file in expected.items() if keys.get(path) == file.key}
    within = {path for path in packed if path.startswith(f"{key}/")}
    return bool((within | expected.keys()) - current - kept)


def _not_built(name: str) -> FieldError:
    return FieldError(f"nothing is built for {name}.", "Build, then pack.")


def _packed(entry: Entry, key: str, out: Path) -> PackedFile | None:
    """Return a file of the place, None for one that is the owner's alone.

    Raises:
        FieldError: it is not there, or has another size than it was built with.
    """
    path = entry.path.removeprefix(f"{key}/")
    if path in _OWNERS:
        return None
    source = out / entry.path
    if source.is_symlink() or not source.is_file() or source.stat().st_size != entry.size:
        raise _changed(entry.path)
    kind = next(kind for kind, form in _KINDS.items() if form.fullmatch(path))
    return PackedFile(path, kind, source, size=entry.size, sha256=entry.sha256, rows=entry.rows)


def _changed(path: str) -> FieldError:
    return FieldError(f"{path} is no longer what the build made.", "Build, then pack.")


def _note(checked: Checked, key: str, files: tuple[PackedFile, ...]) -> str:
    """Return what to do with each file, in the shop's language where there are words in it.

    Raises:
        FieldError: the owner's own file of words has a fault.
    """
    shop, place = checked.shop, checked.name(key)
    sections = sections_for_owner(shop.templates, _FOLDER, shop.settings.language, (("note", PackWords),))
    words: PackWords = sections["note"]
    parts = [fill(words.head, shop=shop.settings.name, place=place)]
    kinds = tuple(dict.fromkeys(file.kind for file in files))
    for kind in kinds:
        alike = tuple(file for file in files if file.kind == kind)
        is_at_hand = kind == "feed" and "price_list" in kinds and "texts" not in kinds  # as at a stall: not sent
        shown = (_named(alike, words), fill(words.table if is_at_hand else getattr(words, kind), place=place))
        parts.append("\n".join((*shown, *(_main_pictures(checked, key, alike) if kind == "photos" else ()))))
    after = words.after_sent if key == WHOLESALE else fill(words.after, place=place)
    return "\n\n".join((*parts, after)) + "\n"


def _named(alike: tuple[PackedFile, ...], phrases: PackWords) -> str:
    """Return the names of files of one kind, a line each; of those in a folder the folder and how many there are."""
    folders = Counter(file.path.rpartition("/")[0] for file in alike)
    lines = [
        f"{folder}/  ({_counted(count, phrases.file, phrases.files)})" for folder, count in folders.items() if folder
    ]
    for file in alike:
        if "/" not in file.path:
            counted = file.rows and file.path.endswith(_TABLES)
            rows = f"  ({_counted(file.rows or 0, phrases.row, phrases.rows)})" if counted else ""
            lines.append(f"{file.path}{rows}")
    return "\n".join(lines)


def _counted(count: int, single: str, several: str) -> str:
    return single if count == 1 else fill(several, count=str(count))


def _main_pictures(checked: Checked, key: str, photos: tuple[PackedFile, ...]) -> Iterator[str]:
    """Yield each set with the name of the picture that goes first, as far as it is packed."""
    packed = {file.path.rpartition("/")[2] for file in photos}
    for listing in checked.listings_of(key):
        main = next((listed.main for listed in listing.photos if listed.main), None)
        if main and main.name in packed:
            yield f"{listing.facts.name}: {main.name}"


# The ZIP itself


class _Taken:
    """What zipfile writes to: it cannot be gone back in, and gives away what was written."""

    def __init__(self) -> None:
        self._written: list[bytes] = []

    def write(self, content: bytes) -> int:
        """Keep a piece until it is taken."""
        self._written.append(bytes(content))
        return len(content)

    def flush(self) -> None:
        """Do nothing: every piece is taken at once."""

    def take(self) -> bytes:
        """Return what was written since it was last taken."""
        content = b"".join(self._written)
        self._written.clear()
        return content


def streamed(pack: Pack) -> Iterator[bytes]:
    """Yield the ZIP piece by piece, some 256 kB each at most; its comment holds by what to know it as ours.

    Raises:
        BlockedError: a file is another one by now. The ZIP breaks off before it could be taken for a whole one.
    """
    taken, whole = _Taken(), hashlib.sha256()
    with zipfile.ZipFile(taken, "w", zipfile.ZIP_STORED) as archive:  # type: ignore[call-overload]
        archive.writestr(_entry(NOTE), pack.note.encode())
        for file in pack.files:
            digest = hashlib.sha256()
            with archive.open(_entry(file.path, file.size), "w") as target, _source(file) as source:
                while content := source.read(_PIECE):
                    digest.update(content)
                    target.write(content)
                    whole.update(piece := taken.take())
                    yield piece
            if digest.hexdigest() != file.sha256:
                raise _moved(file)
        whole.update(piece := taken.take())
        yield piece
        archive.comment = _MARK + whole.hexdigest().encode()
    yield taken.take()


def _is_ours(path: Path) -> bool:
    """Whether a file is a ZIP of ours that nobody has changed: its comment is right for all before its directory."""
    try:
        with opened(path) as stream, zipfile.ZipFile(stream) as archive:
            comment, left, whole = archive.comment, archive.start_dir, hashlib.sha256()
            stream.seek(0)
            while left and (content := stream.read(min(left, _PIECE))):
                whole.update(content)
                left -= len(content)
    except (OSError, ValueError, zipfile.BadZipFile, NotImplementedError):
        return False
    return comment == _MARK + whole.hexdigest().encode()


def _entry(path: str, size: int = 0) -> zipfile.ZipInfo:
    info = zipfile.ZipInfo(path, _DATE)
    info.create_system, info.external_attr, info.file_size = _UNIX, _RIGHTS, size
    return info


def _source(file: PackedFile) -> BufferedReader:
    try:
        return opened(file.source)
    except OSError as fault:
        raise _moved(file) from fault


def _moved(file: PackedFile) -> BlockedError:
    return BlockedError(f"{file.path} was changed while it was packed.", "Wait until the build has ended, then pack.")


def write_pack(target: Path, pack: Pack, shop: Path) -> None:
    """Write the ZIP to a path, whole; a file that is there already is replaced only where it is one of ours.

    Raises:
        FieldError: the path has another ending.
        BlockedError: it is among the shop's own files, is there already, cannot be written, or a file moved meanwhile.
    """
    if target.suffix.lower() != ENDING:
        raise FieldError(f"{target} is no name for a ZIP.", f"Write a name that ends in {ENDING}.")
    refuse_sources(shop, target)
    try:
        with placed((target,), _is_ours) as (part,), part.open("wb") as file:
            file.writelines(streamed(pack))
    except OSError as fault:
        hint = "Make room on the disk, allow writing there, or name another place."
        raise BlockedError(f"{target} cannot be written: {fault.strerror or fault}.", remedy_of(fault, hint)) from fault
