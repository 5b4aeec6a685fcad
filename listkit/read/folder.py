"""Which files a shop folder has and what each is for; the only place where file names are spelled.

Nothing is opened here. Links are never followed, so that no path leads out of the folder; hidden files and what
operating systems leave lying about are passed over in silence. A file that is known by its name counts as there
whatever lies in its place, so that nobody says that it is missing: read/source opens plain files alone.
"""

import os
import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import Final

from listkit import bounds
from listkit.paths import SOURCES, is_device
from listkit.problem import Place, Problem, one_line, quoted
from listkit.read.source import Fault
from listkit.read.wording import listed, nearest, write_instead

SHOP: Final = "shop.toml"
ITEMS: Final = ("items.csv", "items.xlsx", "items.ods")
OLD_ITEMS: Final = "items.xls"
TABLES: Final = (".csv", ".xlsx", ".ods")
PACKAGING: Final = "packaging.toml"
SETS, PHOTOS, CHANNELS, LANGUAGES, TEMPLATES = SOURCES
SET: Final = "set.toml"
STORY: Final = re.compile(r"story(?:\.([^.]+))?\.md")
SINGLES: Final = "items"
"""Folder of single pieces: of their stories, and within photos/ of their pictures."""
SINGLE_STORY: Final = re.compile(r"(.+)\.md")
PICTURES: Final = (".jpg", ".jpeg", ".png", ".webp", ".tif", ".tiff", ".avif", ".heic")
WHOLESALE: Final = "wholesale.toml"
STOCKISTS: Final = "stockists.csv"
RATES: Final = "rates.csv"
INGREDIENTS: Final = "ingredients.csv"
MOVEMENTS: Final = "movements.csv"
ALLOTMENT: Final = "allotment.csv"
MATERIALS: Final = "materials.csv"
RECIPES: Final = "recipes.csv"
PLAN: Final = "plan.csv"
_LITTER: Final = re.compile(r"(?is)\..*|~\$.*|.*~|.*\.tmp|thumbs\.db|desktop\.ini|icon\r|__macosx")
_JUNCTION: Final = 0xA0000003  # IO_REPARSE_TAG_MOUNT_POINT: a link between folders on Windows
_HAS_JUNCTIONS: Final = hasattr(os.stat_result, "st_reparse_tag")
_DEEPEST: Final = bounds.TEMPLATE_FOLDERS_DEEP
_MOST_TEMPLATES: Final = bounds.TEMPLATE_FILES


@dataclass(frozen=True, slots=True)
class SetFiles:
    """The files of one set: `file` is its set.toml, "" when there is none; stories with their language."""

    folder: str
    file: str
    stories: tuple[tuple[str, str], ...]
    photos: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ShopFiles:
    """Every file that is read, by what it is for; paths relative to the root, "" where there is none."""

    shop: str
    items: tuple[str, ...]
    packaging: str
    sets: tuple[SetFiles, ...]
    season_photos: tuple[str, ...]
    channels: tuple[str, ...]
    languages: tuple[str, ...]
    wholesale: str
    stockists: str
    rates: str
    ingredients: str
    movements: str
    allotment: str
    materials: str
    recipes: str
    plan: str
    templates: tuple[str, ...]

    @property
    def pictures(self) -> tuple[str, ...]:
        """Every file that has the ending of a picture, of sets and seasons."""
        photos = (*(photo for files in self.sets for photo in files.photos), *self.season_photos)
        return tuple(photo for photo in photos if photo.lower().endswith(PICTURES))

    @property
    def toml(self) -> tuple[str, ...]:
        """Every file in TOML."""
        of_sets = (files.file for files in self.sets)
        named = (self.shop, self.packaging, self.wholesale, *self.channels, *self.languages, *of_sets)
        return tuple(filter(None, named))

    def without_toml(self) -> "ShopFiles":
        """Return the files as though none in TOML were there."""
        return replace(self, shop="", packaging="", wholesale="", channels=(), languages=(), sets=())

    @property
    def channel_keys(self) -> tuple[str, ...]:
        """The keys of all channels that have a file, sound or not."""
        return tuple(PurePosixPath(file).stem for file in self.channels)


def find_files(root: Path) -> tuple[ShopFiles, list[Problem]]:
    """Return the files of the shop folder and what is wrong with their names and kinds."""
    look = _Look(root)
    shop = look.one("", SHOP)
    if look.lacks("", SHOP):
        look.tell(SHOP, "file-missing", "it is not there.", look.instead("", SHOP) or "Is this a shop folder?")
    files = ShopFiles(
        shop=shop,
        items=tuple(filter(None, (look.one("", name) for name in ITEMS))),
        packaging=look.one("", PACKAGING),
        sets=tuple(look.set_files(folder) for folder in look.folders(SETS)),
        season_photos=look.files(PHOTOS),
        channels=look.files(CHANNELS, lambda name: name.endswith(".toml")),
        languages=look.files(LANGUAGES, lambda name: name.endswith(".toml")),
        wholesale=look.one("", WHOLESALE),
        stockists=look.one("", STOCKISTS),
        rates=look.one("", RATES),
        ingredients=look.one("", INGREDIENTS),
        movements=look.one("", MOVEMENTS),
        allotment=look.one("", ALLOTMENT),
        materials=look.one("", MATERIALS),
        recipes=look.one("", RECIPES),
        plan=look.one("", PLAN),
        templates=tuple(look.below(TEMPLATES)),
    )
    return files, look.problems


def single_files(root: Path) -> tuple[tuple[str, ...], tuple[str, ...], list[Problem]]:
    """Return the stories of single pieces, their pictures, and what is wrong with the names and kinds of either."""
    look, folder = _Look(root), f"{PHOTOS}/{SINGLES}"
    pictures = look.files(folder) if folder in look.folders(PHOTOS) else ()
    return look.files(SINGLES, SINGLE_STORY.fullmatch), pictures, look.problems


def items_file(root: Path, files: ShopFiles, stated: str) -> tuple[str, list[Problem]]:
    """Return the items table: the stated one, else the only one there is; "" with its problem when there is none."""
    if stated:
        found = named_file(root, stated)
        if isinstance(found, str):
            return found, []
        return "", [Problem(Place(SHOP, key=("items", "file")), found.code, f"file: {found.message}", found.hint)]
    if not files.items:
        near = _Look(root).instead("", *ITEMS, OLD_ITEMS)
        hint = near or f"Put your sheet there, or name it in {SHOP} under [items]."
        return "", [Problem(Place(ITEMS[0]), "file-missing", "there is no table of items.", hint)]
    if len(files.items) > 1:
        message = f"{listed(files.items, 'and')} are both there."
        hint = f'Take one away, or name the true one in {SHOP}: [items] file = "{files.items[0]}".'
        return files.items[0], [Problem(Place(files.items[1]), "code-twice", message, hint)]
    return files.items[0], []


def named_file(root: Path, text: str) -> str | Fault:
    """Return the path of a file that the owner names, relative to the root, or what is wrong with the name."""
    if not stays_inside(text):
        return outside(text)
    parts = PurePosixPath(unicodedata.normalize("NFC", text)).parts
    folder = ""
    for part in parts:
        names = _Look(root).kinds(folder)
        name = next((name for name in names if unicodedata.normalize("NFC", name) == part), "")
        if not name:
            hint = (write_instead(part, names) if len(parts) == 1 else "") or "Put it there, or mend the name."
            return Fault((), "file-missing", f"there is no file {quoted(text)}.", hint)
        if names[name] == "link":
            return Fault((), "path-outside", f"{quoted(text)} is a link.", "Put the file itself into the shop folder.")
        folder = _joined(folder, name)
    if not (root / folder).is_file():
        return Fault((), "file-missing", f"{quoted(text)} is not a file.", "Name a file.")
    return folder


def stays_inside(text: str) -> bool:
    """Whether a path that the owner wrote stays in its folder, on every operating system."""
    if not text or text.startswith("/") or re.search(r"[\\:\x00-\x1f]", text):
        return False
    return not any(part in {"", ".", ".."} or is_device(part) for part in text.split("/"))


def outside(text: str) -> Fault:
    """Return the fault of a path that leaves the folder."""
    hint = 'Name a file in the shop folder, with forward slashes, as in "logo.png".'
    return Fault((), "path-outside", f"{quoted(text)} does not stay in its folder.", hint)


class _Look:
    """Looks into folders, by name and kind only, and gathers what is wrong."""

    def __init__(self, root: Path) -> None:
        self.root = os.fspath(root)
        self._told: dict[Problem, None] = {}  # a table, because a folder may hold thousands of what is wrong
        self._seen: dict[str, dict[str, str]] = {}
        self._shut = set[str]()  # folders that cannot be opened: nobody knows what lies in them

    def tell(self, path: str, code: str, message: str, hint: str) -> None:
        self._told.setdefault(Problem(Place(one_line(path)), code, message, hint))

    @property
    def problems(self) -> list[Problem]:
        """What is wrong, each told once."""
        return list(self._told)

    def kinds(self, folder: str) -> dict[str, str]:
        """Return name -> "file", "folder", "link" or "other" of all that is not litter, sorted by name."""
        if folder not in self._seen:
            self._seen[folder] = self._kinds(folder)
        return self._seen[folder]

    def _kinds(self, folder: str) -> dict[str, str]:
        try:
            with os.scandir(os.path.join(self.root, folder)) as entries:
                found = {entry.name: _kind(entry) for entry in entries if not _LITTER.fullmatch(entry.name)}
        except FileNotFoundError:
            return {}
        except OSError as fault:
            message, hint = f"it cannot be opened as a folder: {fault.strerror}.", "Check its permissions."
            if isinstance(fault, NotADirectoryError):
                message, hint = "it is not a folder.", "Put a folder in its place."
            self.tell(folder or ".", "file-missing", message, hint)
            self._shut.add(folder)
            return {}
        return dict(sorted(found.items()))

    def lacks(self, folder: str, name: str) -> bool:
        """Whether a folder that could be looked into has nothing of this name."""
        return name not in self.kinds(folder) and folder not in self._shut

    def one(self, folder: str, name: str) -> str:
        """Return the path of the file called `name`, "" when nothing is; what is no plain file its reader tells."""
        return _joined(folder, name) if name in self._inside(folder) else ""

    def files(self, folder: str, wanted: Callable[[str], object] | None = None) -> tuple[str, ...]:
        """Return the paths of the wanted files right in the folder, all if left out.

        Where names say what a file is for, what is no plain file is returned as well: it is none that is missing, and
        its reader tells what it is. Else a link or device is told here, and a folder is no file.
        """
        inside = self._inside(folder)
        paths = ((_joined(folder, name), kind) for name, kind in inside.items() if wanted is None or wanted(name))
        return tuple(path for path, kind in paths if self._usable(path, kind if wanted is None else "file", "file"))

    def folders(self, folder: str) -> tuple[str, ...]:
        """Return the paths of the folders in a folder."""
        paths = ((_joined(folder, name), kind) for name, kind in self._inside(folder).items())
        return tuple(path for path, kind in paths if kind in {"folder", "link"} and self._usable(path, kind, "folder"))

    def _inside(self, folder: str) -> dict[str, str]:
        """Return the kinds of what lies in a folder; of nothing where the folder itself is reached by a link."""
        if folder and "/" not in folder and self.kinds("").get(folder) == "link":
            self._usable(folder, "link", "folder")
            return {}
        return self.kinds(folder)

    def _usable(self, path: str, kind: str, expected: str) -> bool:
        is_plain = path == one_line(path)
        if not is_plain:
            self.tell(path, "encoding", "the name holds signs that no name should.", "Give it a plain name.")
        elif kind == "link":
            self.tell(path, "path-outside", "it is a link and is not followed.", "Put a copy in its place.")
        elif expected == "file" and kind == "other":
            self.tell(path, "file-missing", "it is no plain file.", "Put a plain file in its place.")
        return is_plain and kind == expected

    def instead(self, folder: str, *names: str) -> str:
        """Return the hint to rename a file that is nearly called as one of `names`."""
        if OLD_ITEMS in names and OLD_ITEMS in self.kinds(folder):
            return f'Save "{OLD_ITEMS}" again as .xlsx.'
        for name in names:
            if near := nearest(name, (other for other, kind in self.kinds(folder).items() if kind == "file")):
                return f'Rename "{near}" to "{name}".'
        return ""

    def set_files(self, path: str) -> SetFiles:
        """Return the files of one set folder."""
        folder = path.rpartition("/")[2]
        file = self.one(path, SET)
        if self.lacks(path, SET):
            hint = self.instead(path, SET) or "Write one, or take the folder away."
            self.tell(f"{path}/{SET}", "file-missing", "it is not there.", hint)
        stories = [(story, STORY.fullmatch(story.rpartition("/")[2])) for story in self.files(path, STORY.fullmatch)]
        photos: tuple[str, ...] = ()
        if (kind := self.kinds(path).get(PHOTOS)) and self._usable(f"{path}/{PHOTOS}", kind, "folder"):
            photos = self.files(f"{path}/{PHOTOS}")
        return SetFiles(folder, file, tuple((story, match[1] or "") for story, match in stories if match), photos)

    def below(self, folder: str, depth: int = 0) -> list[str]:
        """Return every file below a folder, at most _DEEPEST folders down."""
        found = list(self.files(folder))
        for inner in self.folders(folder) if depth < _DEEPEST else ():
            found += self.below(inner, depth + 1)
        return found[:_MOST_TEMPLATES]


def _kind(entry: os.DirEntry[str]) -> str:
    try:
        if entry.is_symlink():
            return "link"
        if _HAS_JUNCTIONS and getattr(entry.stat(follow_symlinks=False), "st_reparse_tag", 0) == _JUNCTION:
            return "link"
        return "file" if entry.is_file() else "folder" if entry.is_dir() else "other"
    except OSError:
        return "other"


def _joined(folder: str, name: str) -> str:
    return f"{folder}/{name}" if folder else name
