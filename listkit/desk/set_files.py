"""Sets and their pictures as whole files: a new set, a copy of another one, pictures dropped in or taken away.

Each is one change of the past. Names of folders and files are made here; what a request calls them is only looked up.
"""

import datetime
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Final

from slugify import slugify

from listkit.actions.new_set import plan_set
from listkit.desk.changes import Came, Kind, Outcome, Wrong, apply, put_files, see
from listkit.desk.edits import Edit, Put, Role, Target, look
from listkit.edit.new_set import Proposal, files_of_set, refuse_taken
from listkit.edit.toml import value_at
from listkit.paths import is_device
from listkit.picture.open import BYTE_LIMIT, read_picture
from listkit.problem import BlockedError, FieldError, KeyPath
from listkit.read.folder import PHOTOS, SETS
from listkit.shipped import shipped_templates

_ENDINGS: Final = {"jpeg": ".jpg", "tiff": ".tif", "heif": ".heic"}
_LONGEST_NAME: Final = 60


EMPTY: Final = "empty"
"""What a new set begins with that is neither proposed nor begun with another."""


def new_set(
    root: Path, name: str, day: datetime.date, how: Kind, begin_with: str = "", *, chosen: Proposal | None = None
) -> tuple[Outcome, str]:
    """Make a new set, proposed with "", EMPTY, or begun with another; return what came of it, and the set's code.

    `chosen` is the proposal that it is made of, where the owner has chosen one.
    """
    other = "" if begin_with == EMPTY else begin_with
    try:
        plan = plan_set(root, name, day, other, empty=begin_with == EMPTY, chosen=chosen).new
        refuse_taken(root, plan.folder)
    except BlockedError:
        raise
    except FieldError as fault:
        return _refused(("name",), fault), ""
    folder = f"{SETS}/{plan.folder}"
    files = {f"{folder}/{file}": content for file, content in files_of_set(shipped_templates(), plan).items()}
    what = replace(how, what=how.what or (f"{name} begun with {other}" if other else f"{name} begun"))
    return put_files(root, files, what, fresh=True, folders=(f"{folder}/{PHOTOS}",)), plan.code


def add_photos(root: Path, code: str, pictures: Sequence[tuple[str, bytes]], how: Kind) -> tuple[Outcome, list[str]]:
    """Put pictures into a set's folder; return what came of it, and the names that they have there.

    One that cannot be opened is left out, with what is wrong with it; the others are kept all the same.
    """
    try:
        files = look(root).folder(code)
    except FieldError as fault:
        return _refused((), fault), []
    taken = {path.rpartition("/")[2].casefold() for path in files.photos}
    made: dict[str, bytes] = {}
    wrong = []
    for number, (sent, content) in enumerate(pictures):
        try:
            ending = _ending(sent, content)
        except FieldError as fault:
            wrong.append(Wrong(None, ("photos", number), fault.message, fault.hint))
            continue
        name = next(each for each in _names(sent, ending) if each.casefold() not in taken)
        taken.add(name.casefold())
        made[f"{SETS}/{files.folder}/{PHOTOS}/{name}"] = content
    if not made:
        return Outcome(Came.REFUSED, wrong=tuple(wrong)), []
    outcome = put_files(root, made, replace(how, what=how.what or f"{len(made)} pictures for {code}"), fresh=True)
    return replace(outcome, wrong=(*outcome.wrong, *wrong)), [path.rpartition("/")[2] for path in made]


def take_photo(root: Path, code: str, name: str, shown: str, how: Kind) -> Outcome:
    """Take a picture out of a set, and what set.toml says of it; the past keeps both.

    Args:
        root: the shop folder.
        code: the set's.
        name: the picture's file name, as one of the set's.
        shown: the digest of set.toml as the page showed it.
        how: as for `changes.apply`.
    """
    target = Target(Role.SET, code)
    try:
        files = look(root).folder(code)
        path = next((each for each in files.photos if each.rpartition("/")[2] == name), None)
        if path is None:
            raise FieldError(f'there is no picture "{name}".', "Load the page again.")
        content = see(root, target).content
        edits = [Edit(target, Put(key, None)) for key in _said_of(content, name)]
    except BlockedError:
        raise
    except FieldError as fault:
        return _refused(("photos",), fault)
    # an edit that changes nothing carries the guard where nothing is said of the picture
    edits = edits or [Edit(target, Put(("name",), value_at(content, ("name",))))]
    what = replace(how, what=how.what or f"{name} taken away from {code}")
    return apply(root, edits, {target: shown}, what, whole={path: None})


def _said_of(content: bytes, name: str) -> list[KeyPath]:
    """Return the keys of set.toml that name a picture, the last first, so that each is where it was."""
    keys: list[KeyPath] = []
    photos, variants = value_at(content, ("photos",)), value_at(content, ("variant",))
    for key, said, of in (("photos", photos, "file"), ("variant", variants, "photo")):
        for at, entry in enumerate(said if isinstance(said, list) else ()):
            if isinstance(entry, dict) and entry.get(of) == name:
                keys.append((key, at) if key == "photos" else (key, at, of))
    return keys[::-1]


def _ending(name: str, content: bytes) -> str:
    """Return the ending of a picture's kind; raises FieldError where it is none that can be opened."""
    if len(content) > BYTE_LIMIT:
        raise FieldError(f"the picture has more than {BYTE_LIMIT // 1_000_000} MB.", "Save it smaller.")
    with read_picture(Path(name.rpartition("/")[2] or "picture"), content, at_least=64) as original:
        return _ENDINGS.get(original.format, f".{original.format}")


def _names(sent: str, ending: str) -> Iterator[str]:
    """Yield names for a picture: styled.jpg, styled-2.jpg ..."""
    stem = slugify(Path(sent.replace("\\", "/")).stem, max_length=_LONGEST_NAME) or "photo"
    stem = f"photo-{stem}" if is_device(stem) else stem
    yield f"{stem}{ending}"
    yield from (f"{stem}-{number}{ending}" for number in range(2, 100_000))


def _refused(key: KeyPath, fault: FieldError) -> Outcome:
    return Outcome(Came.REFUSED, wrong=(Wrong(None, key, fault.message, fault.hint),))
