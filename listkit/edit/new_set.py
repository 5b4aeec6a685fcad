"""Makes the folder of a new set: set.toml and story.md with two lines left to write, and the list of shots.

shots.md lies beside photos/, where nothing but pictures belongs, and is not read. What is explained in story.md stands
in a comment of its template language, which never comes out.
"""

import re
import unicodedata
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from slugify import slugify

from listkit.edit.in_the_making import in_the_making, write_file
from listkit.edit.proposal import Proposal
from listkit.edit.toml_words import filled_in
from listkit.model.to_write import TO_WRITE
from listkit.problem import FieldError

_OF_A_BOX: Final = ("open box", "closed")
_LONGEST_NAME: Final = 80
_LONGEST_FOLDER: Final = 60
_DEVICES: Final = re.compile(r"con|prn|aux|nul|com\d|lpt\d")
_FILES: Final = ("set.toml", "story.md", "shots.md")


@dataclass(frozen=True, slots=True)
class NewSet:
    """A set to be made: the folder under sets/, what set.toml says, and the shots that the shop asks for."""

    folder: str
    code: str
    name: str
    season: str
    keywords: tuple[str, ...]
    proposal: Proposal | None
    shots: tuple[str, ...]

    @property
    def pictures(self) -> tuple[str, ...]:
        """The files of the shots that the shop asks for; of one where it asks for none."""
        boxed = self.proposal is not None and bool(self.proposal.box)
        asked = [shot for shot in self.shots if boxed or shot not in _OF_A_BOX]
        return tuple(f"{shot.replace(' ', '-')}.jpg" for shot in asked or ["open box" if boxed else "contents"])


def folder_name(name: str) -> str:
    """Return the folder's name for a set: "Été & Mer" is "ete-mer".

    Raises:
        FieldError: no folder can be called so.
    """
    if any(unicodedata.category(sign) in {"Cc", "Cs", "Zl", "Zp"} for sign in name):
        raise FieldError("the name holds a sign that stands on no line.", "Write it in plain letters.")
    if len(name) > _LONGEST_NAME:
        raise FieldError(f"the name has {len(name)} characters.", f"Write at most {_LONGEST_NAME}.")
    folder = slugify(name, max_length=_LONGEST_FOLDER, word_boundary=True)
    if not folder:
        raise FieldError(f'"{name}" has no letter that a folder could be called by.', "Write a name with letters.")
    if _DEVICES.fullmatch(folder):
        raise FieldError(f'some systems cannot have a folder called "{folder}".', "Write a longer name.")
    return folder


def make_set(templates: Path, shop: Path, new: NewSet) -> tuple[str, ...]:
    """Make sets/<folder> in the shop folder and return the paths of its files, relative to the shop.

    Raises:
        FieldError: there is such a folder, or it cannot be written to. Nothing is overwritten or half made.
    """
    sets = shop / "sets"
    if sets.is_symlink():
        raise FieldError("sets is a link, which is not followed.", "Put the folder itself there.")
    there = {path.name.casefold() for path in sets.iterdir()} if sets.is_dir() else set()
    if new.folder.casefold() in there:
        raise FieldError(f"sets/{new.folder} is there already.", "Give the set another name, or take the folder away.")
    with in_the_making(sets / new.folder) as made:
        for file in _FILES:
            template = (templates / "new_set" / file).read_text(encoding="utf-8")
            write_file(made / file, filled_in(template, _values(new)))
        (made / "photos").mkdir()
    return tuple(f"sets/{new.folder}/{file}" for file in _FILES)


def _values(new: NewSet) -> dict[str, object]:
    return {"set": new, "proposal": new.proposal, "write_here": TO_WRITE}
