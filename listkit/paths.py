"""Which paths every system takes: asked by `check` of the names that owners give, and again by `save` before it writes.

A path is relative, with forward slashes. Nothing is opened here.
"""

import re
import unicodedata
from collections.abc import Iterable, Iterator
from typing import Final

MANIFEST: Final = "manifest.json"
MADE: Final = ".made.json"
JOURNAL: Final = ".making.jsonl"
BUILT: Final = ".built.json"
ASKED: Final = ".asked.json"
PLACES: Final = ".places.json"
OWNER: Final = ".shop.json"
LOCK: Final = ".lock"
OWN_NAMES: Final = (MANIFEST, MADE, JOURNAL, BUILT, ASKED, PLACES, OWNER, LOCK)
"""What listkit keeps for itself at the top of an output folder."""

KEPT: Final = ".listkit"
"""Folder of a shop in which the past of its files is kept; no part of the shop."""

SOURCES: Final = ("sets", "photos", "channels", "languages", "templates")
"""Folders of a shop in which every file is read as part of it; `read/folder.py` names each."""

MOST_BYTES_OF_PATH: Final = 4_096
"""PATH_MAX of Linux (linux/limits.h), the least of those that are told; a name in it has at most 255 (NAME_MAX)."""
_MOST_BYTES_OF_NAME: Final = 255

_PART: Final = re.compile(r"\.part-[0-9a-f]{16}-[0-9a-f]+(\.[^.]*)?")
_FORBIDDEN: Final = re.compile(r'[\x00-\x1f<>:"|?*\\\ud800-\udfff]')
# Names that Windows keeps for devices, with or without an ending: Microsoft, "Naming Files, Paths, and Namespaces".
_DEVICE: Final = re.compile(r"(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[0-9¹²³])", re.IGNORECASE)


def path_fault(path: str) -> str:
    """Return why a path cannot be an output's on every system; "" when it can.

    >>> path_fault("web/feed.csv"), path_fault("../feed.csv")
    ('', 'is not a plain path inside the output folder')
    """
    if _FORBIDDEN.search(path):
        return "holds a sign that some systems do not allow"
    if len(path.encode()) > MOST_BYTES_OF_PATH:
        return "is longer than some systems allow"
    faults = (fault for name in path.split("/") if (fault := _name_fault(name)))
    return next(faults, "is a name that listkit keeps for itself" if folded_path(path) in OWN_NAMES else "")


def _name_fault(name: str) -> str:
    if name in ("", ".", ".."):
        return "is not a plain path inside the output folder"
    if len(name.encode()) > _MOST_BYTES_OF_NAME:
        return "has a name that is longer than some systems allow"
    if name[-1] in ". ":
        return "has a name that ends with a dot or a space"
    if is_device(name):
        return "has a name that Windows keeps for a device"
    return "has the name of a temporary file" if is_part(name) else ""


def is_device(name: str) -> bool:
    """Whether Windows keeps a name for a device, with an ending or without.

    >>> is_device("Con"), is_device("nul.txt"), is_device("console")
    (True, True, False)
    """
    return _DEVICE.fullmatch(name.split(".", maxsplit=1)[0].rstrip()) is not None


def is_part(name: str) -> bool:
    """Whether a file of this name is a temporary one of ours."""
    return _PART.fullmatch(name) is not None


def folded_path(path: str) -> str:
    """Return the form that two paths share when some system takes them for the same file.

    >>> folded_path("Web/Feed.csv") == folded_path("web/feed.CSV")
    True
    """
    return unicodedata.normalize("NFC", unicodedata.normalize("NFC", path).casefold())


def path_faults(paths: Iterable[str]) -> Iterator[tuple[str, str]]:
    """Yield each path that cannot be written beside the others on every system, and why.

    >>> list(path_faults(["web/a.html", "web/A.html"]))
    [('web/A.html', 'and "web/a.html" are the same file')]
    """
    taken: dict[str, str] = {}
    for path in paths:
        if fault := path_fault(path):
            yield path, fault
        elif (name := folded_path(path)) in taken:
            yield path, f'and "{taken[name]}" are the same file'
        else:
            taken[name] = path
    for name, path in taken.items():
        for folder in folders_of(name):
            if folder in taken:
                yield taken[folder], f'is a file and also the folder of "{path}"'


def folders_of(path: str) -> list[str]:
    """Return the folders on the way to a path, the innermost first.

    >>> folders_of("a/b/c")
    ['a/b', 'a']
    """
    names = path.split("/")
    return ["/".join(names[:count]) for count in range(len(names) - 1, 0, -1)]
