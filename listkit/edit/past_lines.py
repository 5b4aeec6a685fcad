"""What is kept of a change to the owner's files: the lines of a text that differ, and a line of past.jsonl each."""

import datetime
import hashlib
import os
import re
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, Final

from listkit import bounds
from listkit.paths import KEPT

_LONGEST_PATCH: Final = 20_000
_CONTEXT: Final = 2  # lines on each side, by which a passage is found again where the file has changed elsewhere
LARGEST: Final = bounds.PAST_NUMBER
DIGEST: Final = re.compile(r"[0-9a-f]{64}")


@dataclass(frozen=True, slots=True)
class FileChange:
    """A file to be written: `before` is the SHA-256 of what is there, "" where no file is; no `content` removes it."""

    path: str
    before: str
    content: bytes | None


@dataclass(frozen=True, slots=True)
class Patch:
    """The lines of a text that differ: where they begin in bytes, before, after, and the lines around them."""

    at: int
    before: str
    after: str
    lead: str
    tail: str
    encoding: str


@dataclass(frozen=True, slots=True)
class PastFile:
    """A file in the past: digests before and after, "" for none. Without a patch what was before is kept whole."""

    path: str
    before: str
    after: str
    size: int = 0
    patch: Patch | None = None


@dataclass(frozen=True, slots=True)
class PastChange:
    """A change as the past has it: `made` and `gone` are folders; `takes_back` is the number of another, 0 for none."""

    number: int
    when: datetime.datetime
    what: str
    files: tuple[PastFile, ...]
    made: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    takes_back: int = 0
    taken_back: bool = False
    bytes: int = 0


def digest_of(content: bytes | None) -> str:
    """Return the SHA-256 of a file's bytes, "" of no file."""
    return "" if content is None else hashlib.sha256(content).hexdigest()


def patch_of(old: bytes, new: bytes) -> Patch | None:
    """Return the lines that differ, None where they are no text or too many."""
    if b"\0" in old[:8_000] and not old.startswith((b"\xff\xfe", b"\xfe\xff")):
        return None
    begin = old.rfind(b"\n", 0, _same(old, new)) + 1
    end = _same(old[begin:][::-1], new[begin:][::-1])
    while end and not _begins_line(old, begin, len(old) - end) & _begins_line(new, begin, len(new) - end):
        following = old.find(b"\n", len(old) - end)
        end = len(old) - following - 1 if following >= 0 else 0
    if len(old) + len(new) - 2 * begin - 2 * end > _LONGEST_PATCH:
        return None
    lead = b"".join(old[:begin].splitlines(keepends=True)[-_CONTEXT:]) if begin < 10**6 else b""
    tail = b"".join(old[len(old) - end :][:10_000].splitlines(keepends=True)[:_CONTEXT]) if end else b""
    parts = old[begin : len(old) - end], new[begin : len(new) - end], lead, tail
    try:  # each by itself: one may end within a letter that the next seems to go on with
        encoding, texts = "utf-8", [part.decode() for part in parts]
    except UnicodeDecodeError:
        encoding, texts = "latin-1", [part.decode("latin-1") for part in parts]  # each byte a letter
    before, after, above, below = texts
    return Patch(begin, before, after, lead=above, tail=below, encoding=encoding)


def _begins_line(content: bytes, begin: int, at: int) -> bool:
    return at == begin or content[at - 1 : at] == b"\n"


def _same(old: bytes, new: bytes) -> int:
    """Return how many bytes two files have in common from the beginning."""
    low, high = 0, min(len(old), len(new))
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if old[low:middle] == new[low:middle] else (low, middle - 1)
    return low


def between(content: bytes, lead: bytes, tail: bytes, encoding: str) -> str | None:
    """Return what lies now between the lines that were around a passage, None where these are not there once."""
    if not lead or not tail or content.count(lead) != 1:
        return None
    begin = content.index(lead) + len(lead)
    end = content.find(tail, begin)
    return content[begin:end].decode(encoding, "replace") if end >= 0 else None


def as_json(change: PastChange) -> dict[str, Any]:
    """Return a change as its line has it."""
    files = []
    for file in change.files:
        patch = file.patch
        stated: dict[str, Any] = {"path": file.path, "before": file.before, "after": file.after, "size": file.size}
        if patch is not None:
            stated["patch"] = asdict(patch)
        files.append(stated)
    return {
        "change": change.number,
        "when": change.when.isoformat(),
        "what": change.what,
        "takes_back": change.takes_back,
        "made": change.made,
        "gone": change.gone,
        "files": files,
    }


def from_json(stated: Mapping[str, Any], length: int) -> PastChange:
    """Return a change from its line; raises ValueError or the like where it is none of ours."""
    files = []
    for each in stated["files"]:
        patch = _patch(**each["patch"]) if "patch" in each else None
        if not all(digest == "" or DIGEST.fullmatch(digest) for digest in (each["before"], each["after"])):
            raise ValueError("no digest")
        size = _number(each["size"])
        files.append(PastFile(inside(each["path"]), each["before"], each["after"], size, patch))
    when = datetime.datetime.fromisoformat(stated["when"])
    when.astimezone()  # a year that no clock of this machine can show is none of ours either
    return PastChange(
        number=_number(stated["change"]),
        when=when,
        what=str(stated["what"]),
        files=tuple(files),
        made=tuple(map(inside, stated["made"])),
        gone=tuple(map(inside, stated["gone"])),
        takes_back=_number(stated["takes_back"]),
        bytes=length + sum(file.size for file in files),
    )


def _number(stated: object) -> int:
    """Return a number of a line; raise ValueError where no line of ours has such a one."""
    if not isinstance(stated, int) or not 0 <= stated <= LARGEST:
        raise ValueError("no number of a change, nor of bytes")
    return stated


def _patch(*, at: int, encoding: str, **texts: str) -> Patch:
    """Return a patch as its line has it; raises ValueError or the like where it is none of ours."""
    patch = Patch(at, encoding=encoding, **texts)
    if not isinstance(at, int) or at < 0 or encoding not in ("utf-8", "latin-1"):
        raise ValueError("no place in a text")
    for text in (patch.before, patch.after, patch.lead, patch.tail):
        text.encode(encoding)
    return patch


def inside(path: str) -> str:
    """Return a path that stays in the shop folder, and out of what is kept there; raise ValueError for any other."""
    os.fsencode(path)  # raises UnicodeEncodeError, a ValueError, of what no file can be called
    parts = path.split("/")
    signs = "\0\\:" if os.sep == "\\" else "\0"
    if any(part in ("", ".", "..") for part in parts) or parts[0] == KEPT or any(sign in path for sign in signs):
        raise ValueError("not in the folder")
    return path
