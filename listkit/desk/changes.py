"""What the desk changes in the owner's files: checked like the file itself, guarded, written whole, kept in the past.

    seen = see(shop, Target(Role.SET, "OHS-1"))            # the file with its digest, which the page carries
    outcome = apply(shop, [Edit(seen.target, Put(("name",), "First Nectar"))], {seen.target: seen.digest}, when=now)

Nothing is written unless all of it can be: a wrong value comes back with its message, and where a file is not the one
that the page showed, with what the file says there now. What is done can be taken back, which is a change too.
Disks and locks that are in the way raise BlockedError, whole sentences for the owner.
"""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum
from pathlib import Path
from types import MappingProxyType
from typing import Final

from listkit.actions.rename import plan_rename
from listkit.desk.edits import (
    Add,
    Edit,
    Files,
    Move,
    Put,
    PutText,
    Target,
    edited_all,
    look,
    names,
    new_problems,
    problems_of,
)
from listkit.desk.tables import PutCell, cell_text
from listkit.edit.past import MovedError, Past, opened, past
from listkit.edit.past_lines import FileChange, PastChange, digest_of
from listkit.edit.toml import value_at
from listkit.problem import BlockedError, FieldError, KeyPath, Problem, not_in
from listkit.read.folder import SETS
from listkit.read.source import read_bytes
from listkit.save.out_folder import LARGEST_KEPT, content_of

__all__ = ["Came", "Kind", "Moved", "Outcome", "Seen", "Wrong", "apply", "delete_file", "delete_set", "past",
           "put_files", "rename", "see", "take_back"]  # fmt: skip


class Came(StrEnum):
    """What came of a change."""

    DONE = "done"
    REFUSED = "refused"
    MOVED = "moved"
    ASKS = "asks"


@dataclass(frozen=True, slots=True)
class Seen:
    """A file as it was read for a page: `digest` is what the page gives back, "" where there is no file yet."""

    target: Target
    path: str
    content: bytes
    digest: str


@dataclass(frozen=True, slots=True)
class Wrong:
    """What keeps an edit from being made: the message for a field, and what to write instead.

    `key` is the place of the fault in the file, mostly that of the edit.
    """

    edit: Edit | None
    key: KeyPath
    message: str
    hint: str


@dataclass(frozen=True, slots=True)
class Moved:
    """An edit of a file that is another one now: what she wanted is in the edit, `there` is what the file has there.

    `digest` is that of the file as it is now: with it, the same edit goes through if she chooses hers.
    """

    edit: Edit | None
    path: str
    there: object
    digest: str


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a change; only where it is DONE was anything written.

    `number` is the change's in the past, 0 where nothing differed, and `when` its time. `digests` are those of the
    files now. `forgets` are the changes that could no longer be taken back: the same call with `agreed` goes on.
    """

    came: Came
    number: int = 0
    digests: Mapping[Target, str] = field(default_factory=dict)
    wrong: tuple[Wrong, ...] = ()
    moved: tuple[Moved, ...] = ()
    forgets: tuple[PastChange, ...] = ()
    when: str = ""


@dataclass(frozen=True, slots=True)
class Kind:
    """How a change is made: its time, what the past calls it, and whether she agreed to what is then forgotten."""

    when: datetime.datetime
    what: str = ""
    agreed: bool = False


_NOTHING: Final[Mapping[str, bool]] = {}


def see(root: Path, target: Target, files: Files | None = None) -> Seen:
    """Return a file as it is now; `files` are those of the folder where they are known already.

    Raises:
        FieldError: there is no such set, channel or language, or it cannot be read.
    """
    path = (files or look(root)).path(target)
    content = _read(root, path)
    return Seen(target, path, content or b"", digest_of(content))


def apply(
    root: Path,
    edits: Sequence[Edit],
    shown: Mapping[Target, str],
    how: Kind,
    *,
    whole: Mapping[str, bytes | None] = MappingProxyType({}),
) -> Outcome:
    """Make edits of one or several files, all or none.

    Args:
        root: the shop folder.
        edits: in their order; each sees what those before it made.
        shown: for each file the digest with which the page showed it.
        how: the time, and what the past is to call the change.
        whole: files that go with them, as pictures; see `put_files`.
    """
    with opened(root) as kept:
        try:
            batch = _batch(root, edits)
        except BlockedError:
            raise
        except FieldError as fault:
            return _refused(None, (), fault)
        if moved := batch.moved(shown):
            return Outcome(Came.MOVED, moved=moved)
        after, wrong = batch.after()
        if wrong:
            return Outcome(Came.REFUSED, wrong=wrong)
        changes = [FileChange(batch.paths[each], digest_of(batch.before[each]), now) for each, now in after.items()]
        changes += _whole_changes(root, whole)
        outcome = _written(kept, changes, how, _NOTHING, what=_what(edits, batch.paths))
        if outcome.came is not Came.DONE:
            return outcome
        digests = {each: digest_of(content) for each, content in {**batch.before, **after}.items()}
        return replace(outcome, digests=digests)


def delete_file(root: Path, target: Target, shown: str, how: Kind) -> Outcome:
    """Take one file away, as that of a place, and keep it in the past; `shown` is its digest as the page showed it."""
    with opened(root) as kept:
        try:
            file = see(root, target)
        except FieldError as fault:
            return _refused(None, (), fault)
        if file.digest != shown:
            return Outcome(Came.MOVED, moved=(Moved(None, file.path, None, file.digest),))
        return _written(kept, [FileChange(file.path, shown, None)], how, _NOTHING, what=f"{file.path} taken away")


def delete_set(root: Path, code: str, shown: str, how: Kind) -> Outcome:
    """Take the folder of a set away with all that lies in it, and keep it in the past.

    Args:
        root: the shop folder.
        code: the set's, or its folder's name.
        shown: the digest of its set.toml as the page showed it.
        how: as for `apply`.
    """
    with opened(root) as kept:
        try:
            files = look(root).folder(code)
        except FieldError as fault:
            return _refused(None, (), fault)
        folder = f"{SETS}/{files.folder}"
        now = digest_of(_read(root, files.file) if files.file else None)
        if now != shown:
            return Outcome(Came.MOVED, moved=(Moved(None, files.file, None, now),))
        below = sorted((root / folder).rglob("*"))
        if link := next((path for path in below if path.is_symlink() or not (path.is_file() or path.is_dir())), None):
            refusal = FieldError(
                f"{link.relative_to(root).as_posix()} is a link or no plain file.", "Take it away first."
            )
            return _refused(None, (), refusal)
        if large := next((path for path in below if path.is_file() and path.stat().st_size > LARGEST_KEPT), None):
            what = f"{large.relative_to(root).as_posix()} is larger than the past keeps, so it could not come back."
            return _refused(None, (), FieldError(what, "Put it elsewhere first."))
        gone = {path.relative_to(root).as_posix(): False for path in below if path.is_dir()}
        changes = [
            FileChange(path.relative_to(root).as_posix(), digest_of(content_of(path)), None)
            for path in below
            if path.is_file()
        ]
        return _written(kept, changes, how, {folder: False, **gone}, what=f"{folder} taken away")


def rename(root: Path, old: str, new: str, how: Kind) -> Outcome:
    """Give an item or a set another code, in all files at once; the old one stays understood."""
    with opened(root) as kept:
        try:
            plan = plan_rename(root, old, new)
        except FieldError as fault:
            return _refused(None, ("code",), fault)
        if plan.by_hand:
            cells = "; ".join(cell for file in plan.by_hand for cell in file.cells[:5])
            return _refused(
                None, ("code",), FieldError(f"{plan.by_hand[0].file} is a workbook.", f"Type there {cells}.")
            )
        changes = [FileChange(file.file, digest_of(file.before), file.content) for file in plan.files]
        return _written(kept, changes, how, _NOTHING, what=f"{old} is {new} now")


def put_files(
    root: Path,
    files: Mapping[str, bytes | None],
    how: Kind,
    *,
    fresh: bool = False,
    folders: Sequence[str] = (),
    read: Mapping[str, str] = MappingProxyType({}),
) -> Outcome:
    """Write or take away whole files, as photos and a new set; None takes one away.

    Args:
        root: the shop folder.
        files: by paths that are relative to the shop and the caller's own making, never a request's.
        how: as for `apply`.
        fresh: whether nothing may be there yet; otherwise a file that is there is replaced.
        folders: folders to be there too, though nothing lies in them.
        read: digests of files whose new bytes come of those that they had: of others by now nothing is written.
    """
    with opened(root) as kept:
        changes = [FileChange(file, "", files[file]) for file in files] if fresh else _whole_changes(root, files)
        changes = [replace(change, before=read.get(change.path, change.before)) for change in changes]
        what = ", ".join(sorted(files)[:3])
        return _written(kept, changes, how, dict.fromkeys(folders, True), what=what)


def take_back(root: Path, number: int, how: Kind, when: str = "") -> Outcome:
    """Take a change back: every file as it was before, and what has changed elsewhere in a text kept.

    `when` is its time, as a page has it: numbers begin again where the past was put away meanwhile.
    """
    with opened(root) as kept:
        change = next(
            (each for each in kept.changes if each.number == number and when in ("", each.when.isoformat())), None
        )
        if change is None or change.taken_back:
            what = "is taken back already" if change else "is no longer kept, so it cannot be taken back"
            return _refused(None, (), FieldError(f"this change {what}.", "Load the page again."))
        try:
            changes, folders = kept.backwards(change)
            wrong = _wrong_then(root, change, changes)
        except MovedError as moved:
            return _moved(root, moved)
        if wrong:
            return Outcome(Came.REFUSED, wrong=tuple(wrong))
        return _written(kept, changes, how, folders, what=f"taken back: {change.what}", takes_back=number)


# Parts of the above.


def _whole_changes(root: Path, files: Mapping[str, bytes | None]) -> list[FileChange]:
    there = {path: content_of(root / path) if (root / path).exists() else None for path in files}
    return [FileChange(path, digest_of(there[path]), content) for path, content in files.items()]


@dataclass(frozen=True, slots=True)
class _Batch:
    """Edits with the files that they are of, and what these hold before; None where there is no file yet."""

    files: Files
    edits: tuple[Edit, ...]
    paths: Mapping[Target, str]
    before: Mapping[Target, bytes | None]

    def moved(self, shown: Mapping[Target, str]) -> tuple[Moved, ...]:
        """Return the edits of files that are not as they were shown."""
        return tuple(
            Moved(edit, self.paths[edit.target], _there(self.files, edit, before), digest_of(before))
            for edit in self.edits
            if shown.get(edit.target) != digest_of(before := self.before[edit.target])
        )

    def after(self) -> tuple[dict[Target, bytes], tuple[Wrong, ...]]:
        """Return what the files that change are to hold, and what would be wrong in them."""
        before = {target: content or b"" for target, content in self.before.items()}
        after, faults = edited_all(self.files, self.edits, self.paths, before)
        wrong = [Wrong(edit, (*edit.key[:1], *each.place.key), each.message, each.hint) for edit, each in faults]
        after = {target: content for target, content in after.items() if content != (self.before[target] or b"")}
        for target, content in after.items():
            if target.is_table:
                continue  # its rows are looked at one by one
            file, mine = self.paths[target], [edit for edit in self.edits if edit.target == target]
            olds = problems_of(self.files, target, file, self.before[target] or b"")
            news = problems_of(self.files, target, file, content)
            wrong += [_wrong(edit, problem) for edit, problem in new_problems(mine, olds, news)]
        return after, tuple(wrong)


def _batch(root: Path, edits: Sequence[Edit]) -> _Batch:
    files = look(root)
    paths = {edit.target: files.path(edit.target) for edit in edits}
    return _Batch(files, tuple(edits), paths, {target: _read(root, path) for target, path in paths.items()})


def _written(
    kept: Past,
    changes: Sequence[FileChange],
    how: Kind,
    folders: Mapping[str, bool],
    *,
    what: str,
    takes_back: int = 0,
) -> Outcome:
    changes = [change for change in changes if digest_of(change.content) != change.before]
    if not changes and not folders:
        return Outcome(Came.DONE)
    forgets = kept.forgets(changes)
    if forgets and not how.agreed:
        return Outcome(Came.ASKS, forgets=forgets)
    try:
        done = kept.write(changes, what=how.what or what, when=how.when, folders=folders, takes_back=takes_back)
    except MovedError as moved:
        return _moved(kept.root, moved)
    return Outcome(Came.DONE, done.number, when=done.when.isoformat())


def _wrong_then(root: Path, change: PastChange, changes: Sequence[FileChange]) -> list[Wrong]:
    """Return what would be wrong in texts that have changed meanwhile and are to be put together with what was."""
    files, wrong = look(root), list[Wrong]()
    targets = dict(names(files))
    for was, file in zip(change.files, changes, strict=True):
        target = targets.get(file.path)
        if target is not None and file.content is not None and file.before not in ("", was.after):
            olds = problems_of(files, target, file.path, _read(root, file.path) or b"")
            news = problems_of(files, target, file.path, file.content)
            wrong += [_wrong(None, problem) for problem in not_in(olds, news)]
    return wrong


def _moved(root: Path, moved: MovedError) -> Outcome:
    now = content_of(root / moved.path) if (root / moved.path).is_file() else None
    there = Moved(None, moved.path, moved.there, digest_of(now))
    return Outcome(Came.MOVED, moved=(there,))


def _refused(edit: Edit | None, key: KeyPath, fault: FieldError) -> Outcome:
    return Outcome(Came.REFUSED, wrong=(Wrong(edit, key, fault.message, fault.hint),))


def _wrong(edit: Edit | None, problem: Problem) -> Wrong:
    return Wrong(edit, problem.place.key, problem.message, problem.hint)


def _there(files: Files, edit: Edit, content: bytes | None) -> object:
    """Return what a file says now where an edit would change it."""
    action = edit.action
    if content is None:
        return None
    try:
        if isinstance(action, (Put, Add, Move)):
            return value_at(content, action.key)
        if isinstance(action, PutCell):
            return cell_text(files.path(edit.target), content, files.form(edit.target.role), action)
    except FieldError:
        return None
    return content.decode("utf-8-sig", "replace") if isinstance(action, PutText) else None


def _read(root: Path, path: str) -> bytes | None:
    """Return a text file's bytes, None where it is not there."""
    if not (root / path).exists() and not (root / path).is_symlink():
        return None
    content = read_bytes(root, path)
    if isinstance(content, Problem):
        raise FieldError(f"{path}: {content.message}", content.hint)
    return content


def _what(edits: Sequence[Edit], paths: Mapping[Target, str]) -> str:
    every = (f"{paths[edit.target]}: {'.'.join(map(str, edit.key))}".removesuffix(": ") for edit in edits)
    named = list(dict.fromkeys(every))
    rest = f" and {len(named) - 2} more" if len(named) > 2 else ""
    return ", ".join(named[:2]) + rest
