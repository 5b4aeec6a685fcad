"""Saving: makes the output folder hold what the jobs describe; only what changed is made again.

A file is made again when its key is not the one it was last made from, when it is gone, or when
somebody changed it. Each is written under a temporary name beside its target, read back, and only
then takes the old file's place, so that a build that is killed or fails leaves every earlier file
whole. Files of the last build that this one no longer has are removed when all new ones are there, nothing else;
before that only where one is in the way of a new one's folder, or its folder in the way of a new one.

A file is known to be ours by its bytes: their SHA-256 is in the memory, the manifest or the journal, or it is that of
what is to take its place. Any other file is the owner's: it is told, and neither replaced nor removed.
"""

import os
from collections.abc import Callable, Collection, Generator, Iterable, Iterator
from concurrent.futures import Executor, Future, wait
from contextlib import closing, contextmanager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Final

from listkit.paths import MANIFEST, folders_of, is_part
from listkit.problem import BlockedError, FieldError, InPartError, remedy_of
from listkit.save.job import File, Job
from listkit.save.made import UNSURE, Journal, Made, MadeFile, read_made, write_made
from listkit.save.manifest import Entry, entry_of, is_manifest, read_manifest, write_manifest
from listkit.save.out_folder import (
    check_paths,
    digest_at,
    discard,
    locked,
    part_of,
    prune,
    real_folder,
    refuse_links,
    sha256_of,
    sweep,
    sync,
    take_new_place,
)
from listkit.waiting import Threads, as_they_end

# Running jobs: recipes write temporary files and verifiers read them back, in this thread, in others or elsewhere.
#
# A task's result is a function to call, so that its exception is raised where it is dealt with. However the run ends,
# no task goes on behind it and no temporary file of it is left.


@dataclass(frozen=True, slots=True)
class Written:
    """What a recipe wrote to one temporary file; `fault` is what its verifier found wrong, "" for nothing.

    `missing` is why something is not in it, None where all is.
    """

    size: int
    sha256: str
    fault: str
    missing: InPartError | None = None


@dataclass(frozen=True, slots=True)
class Task:
    """A job, the temporary file of each of its files, and the indices of those that are to take their places."""

    job: Job
    parts: tuple[Path, ...]
    needed: tuple[int, ...]

    @property
    def files(self) -> tuple[File, ...]:
        """The files that are to take their places."""
        return tuple(self.job.files[index] for index in self.needed)

    def discard(self) -> None:
        """Remove the temporary files that have not taken a place."""
        for part in self.parts:
            discard(part)


Result = Callable[[], tuple[Written, ...]]
"""Returns what was written, a value for each file of the task's job, or raises what the recipe raised."""


def run(tasks: list[Task], workers: Executor | int) -> Generator[tuple[Task, Result]]:
    """Yield every task as it ends, heavy ones running beside the others. Close the generator when breaking off.

    With threads or an executor the other tasks still run in the caller's thread, when their result is asked for.
    Tasks whose job is last come when all others have taken their places.
    """
    futures: dict[Future[tuple[Written, ...]], Task] = {}
    try:
        with _pool(workers) as pool:
            try:
                for task in tasks:
                    if pool and task.job.heavy and not task.job.last:
                        futures[pool.submit(write, task)] = task
                for task in tasks:
                    if not (task.job.last or (pool and task.job.heavy)):
                        yield task, partial(write, task)
                for future in as_they_end(pool, futures):
                    yield futures[future], future.result
                for task in tasks:
                    if task.job.last:
                        yield task, partial(write, task)
            finally:
                begun = [future for future in futures if not future.cancel()]
                if not isinstance(pool, Threads):  # which end by themselves before their pool does
                    wait(begun)
    finally:  # no thread is at work any more
        for task in tasks:
            task.discard()


@contextmanager
def _pool(workers: Executor | int) -> Iterator[Executor | None]:
    """Yield threads (decoding and encoding pictures leave the interpreter free), the executor given, or None."""
    if isinstance(workers, Executor):
        yield workers
    elif workers > 1:
        with Threads(workers) as pool:
            yield pool
    else:
        yield None


def write(task: Task) -> tuple[Written, ...]:
    """Run a recipe and verify what it wrote: the part that may happen in another process.

    Raises:
        RuntimeError: the recipe left out a file: our own mistake.
    """
    job = task.job
    for part in task.parts:
        part.parent.mkdir(parents=True, exist_ok=True)
    missing = None
    try:
        job.recipe(*job.inputs, task.parts)
    except InPartError as told:
        missing = told
    written = []
    for index, (file, part) in enumerate(zip(job.files, task.parts, strict=True)):
        if not part.is_file():
            raise RuntimeError(f"the recipe {job.recipe.__qualname__} wrote no {file.path}")
        sync(part)
        fault = file.verify(part, job.recipe, job.select((index,)).inputs) if file.verify else ""
        written.append(Written(part.stat().st_size, sha256_of(part), fault, missing))
    return tuple(written)


# A build: what is to be made, and what became of it.

_NOT_OURS: Final = "is there already, and is not as listkit made it; it is left as it is."
_ELSEWHERE: Final = "Put that file elsewhere, or build into another folder with --out."

Progress = Callable[[int, int], None]
"""Called with how many files are done, and of how many; first with 0 done."""


@dataclass(frozen=True, slots=True)
class Failure:
    """Files that could not be made or removed, and why. The old files are still there.

    Those that are made `in_part` are new, and hold all but what the message says.
    """

    paths: tuple[str, ...]
    message: str
    hint: str = ""
    in_part: bool = False


@dataclass(frozen=True, slots=True)
class Saved:
    """What a build did: paths made and removed, how many files are unchanged, what failed, the manifest's entries."""

    made: tuple[str, ...]
    unchanged: int
    removed: tuple[str, ...]
    failures: tuple[Failure, ...]
    entries: tuple[Entry, ...]


def nothing(done: int, total: int) -> None:
    """Show no progress."""


def save(
    jobs: Iterable[Job],
    out: Path,
    *,
    workers: Executor | int = 1,
    channel: str = "",
    keep: Collection[str] = (),
    progress: Progress = nothing,
) -> Saved:
    """Make what the jobs describe in the folder `out`, and remove files of earlier builds that they do not describe.

    Args:
        jobs: all jobs of the build. Their recipes run in this thread, in order; heavy ones elsewhere as `workers` says.
        out: the output folder, made if need be.
        workers: how many threads heavy jobs may have (with 1 they run in this thread too), or an executor, which may
            have other processes or machines as long as they see the same disk.
        channel: only files of this channel are made, and nothing is removed.
        keep: paths that are neither made nor removed, whatever the jobs describe.
        progress: called after each file.

    Raises:
        FieldError: `out` cannot be an output folder.
        BlockedError: another build is at work in the folder, a link leads out of it, or it cannot be written to.
        ValueError: two jobs make the same file, or a path is not safe: our own mistake.
    """
    jobs = tuple(jobs)
    files = tuple(file for job in jobs for file in job.files)
    check_paths(file.path for file in files)
    out = real_folder(out)
    refuse_links(out, ())
    try:
        with locked(out):
            build = _Build(out, channel, frozenset(keep))
            wanted = {file.path for file in files}
            refuse_links(out, build.remembered() | wanted)
            sweep(out)
            if not channel:
                build.clear_the_way(wanted)
            build.make(build.tasks(jobs), workers, progress)
            if not channel and not build.failures:
                build.remove_all_but(wanted)
            return build.finish(tuple(file for file in files if build.asked(file)))
    except OSError as fault:
        hint = "Make room on the disk, or allow writing there."
        raise BlockedError(f"{out.name} cannot be written to: {_reason(fault)}.", remedy_of(fault, hint)) from fault


class _Build:
    """One build in progress: what is remembered of each file, and what was done so far."""

    def __init__(self, out: Path, channel: str, keep: frozenset[str]) -> None:
        last = read_made(out)
        if not is_manifest(out):
            raise BlockedError(f"{MANIFEST} in {out.name} is not listkit's own.", _ELSEWHERE)
        self.out = out
        self.channel = channel
        self.keep = keep
        self.photos = last.photos
        self.files = dict(last.files)
        self.digests = last.digests
        self.old = {entry.path: entry for entry in read_manifest(out)}
        self.made: list[str] = []
        self.removed: list[str] = []
        self.failures: list[Failure] = []
        self.in_part: dict[str, tuple[File, Failure]] = {}
        for path in self.files:
            self._settle_digest(path)

    def _settle_digest(self, path: str) -> None:
        """After a kill a file may be the old one or the new one: remember the one that is there."""
        known = self.digests.get(path, frozenset())
        if len(known) > 1 or (known and not self.files[path].sha256):
            digest = digest_at(self.out / path)
            if digest in known and digest != self.files[path].sha256:
                self.files[path] = replace(UNSURE, sha256=digest)

    def _is_ours(self, path: str, digest: str) -> bool:
        """Whether a file with these bytes is one that we made."""
        entry = self.old.get(path)
        return digest in self.digests.get(path, ()) or (entry is not None and digest == entry.sha256)

    def _sizes(self, path: str) -> tuple[int, ...]:
        """Return the sizes that are remembered of a file of ours."""
        return tuple(known.size for known in (self.files.get(path), self.old.get(path)) if known is not None)

    def remembered(self) -> set[str]:
        """Return every path that an earlier build made."""
        return self.files.keys() | self.old.keys()

    def asked(self, file: File) -> bool:
        """Whether the file belongs to what is built: all, or one channel; never one to be kept as it is."""
        return self.channel in ("", file.channel) and file.path not in self.keep

    def clear_the_way(self, wanted: set[str]) -> None:
        """Remove files of earlier builds that are no longer made where a folder must go now, or the reverse."""
        folders = {folder for path in wanted for folder in folders_of(path)}
        stale = self.remembered() - wanted
        self._remove({path for path in stale if path in folders or not wanted.isdisjoint(folders_of(path))})

    def remove_all_but(self, wanted: set[str]) -> None:
        """Remove files of earlier builds that are no longer made; the last thing done, when all new ones are there."""
        self._remove(self.remembered() - wanted)

    def _remove(self, paths: set[str]) -> None:
        stale = sorted(paths - self.keep)
        if stale:  # else a build that is killed, or a full disk, would leave a manifest that names what is gone
            Journal(self.out, stale).close()
        for path in stale:
            target = self.out / path
            try:
                if target.is_file():  # it may be gone, or have become a stranger's folder
                    if not self._is_ours(path, sha256_of(target, self._sizes(path))):
                        self._leave(path)
                    else:
                        target.unlink()
                        self.removed.append(path)
            except OSError as fault:
                self.failures.append(_failure((path,), "cannot be removed", fault))
                continue
            self.files.pop(path, None)
            self.old.pop(path, None)
        prune(self.out, stale)

    def _leave(self, path: str) -> None:
        """Tell once of a file that is no longer made and was changed; one that never was ours is passed over."""
        if self.digests.get(path) or path in self.old:
            message = "is no longer made, and was changed since listkit made it; it is left as it is."
            self.failures.append(Failure((path,), message, "Take it away when you need it no more."))

    def tasks(self, jobs: tuple[Job, ...]) -> list[Task]:
        """Return the tasks of this build, each job narrowed to the files that are to be made."""
        tasks = []
        for job in jobs:
            needed = tuple(i for i, file in enumerate(job.files) if self.asked(file) and not self._is_current(file))
            if needed:
                chosen = job.select(needed)
                indices = tuple(range(len(needed))) if job.parts else needed
                tasks.append(Task(chosen, tuple(part_of(self.out, file.path) for file in chosen.files), indices))
        return tasks

    def _is_current(self, file: File) -> bool:
        """Whether the file is as it was made from this key. Its bytes are read only if its time has changed."""
        known = self.files.get(file.path)
        if known is None or known.key != file.key:
            return False
        try:
            status = (self.out / file.path).stat()
            if status.st_size != known.size:
                return False
            if status.st_mtime_ns != known.mtime_ns:
                if sha256_of(self.out / file.path) != known.sha256:
                    return False
                self.files[file.path] = replace(known, mtime_ns=status.st_mtime_ns)
        except OSError:
            return False
        return True

    def make(self, tasks: list[Task], workers: Executor | int, progress: Progress) -> None:
        """Run the tasks, heavy ones beside the others, and put every file that turns out well in its place."""
        paths = [file.path for task in tasks for file in task.files]
        progress(0, len(paths))
        if not tasks:
            return
        done = 0
        with closing(Journal(self.out, paths)) as journal, closing(run(tasks, workers)) as ended:
            for task, result in ended:
                self._settle(task, result, journal)
                done += len(task.needed)
                progress(done, len(paths))

    def _settle(self, task: Task, result: Result, journal: Journal) -> None:
        try:
            written = result()
        except (FieldError, OSError) as fault:
            self.failures.append(_failure(tuple(file.path for file in task.files), "cannot be made", fault))
        else:
            for index in task.needed:
                file = task.job.files[index]
                if task.job.last and self.failures:  # it may list what is missing: the next build makes it anew
                    file = replace(file, key="")
                if missing := written[index].missing:  # asked for again by every build, until it is whole
                    file = replace(file, key="", codes=tuple(c for c in file.codes if c not in missing.codes))
                    self.in_part[file.path] = file, Failure((file.path,), missing.message, missing.hint, in_part=True)
                self._place(file, task.parts[index], written[index], journal)
        finally:
            task.discard()

    def _place(self, file: File, part: Path, written: Written, journal: Journal) -> None:
        """Put a verified file in its place, unless one of the owner's is there, and remember it."""
        if written.fault:
            self.failures.append(Failure((file.path,), f"does not read back as it was written: {written.fault}"))
            return
        target = self.out / file.path
        try:
            sizes = (*self._sizes(file.path), written.size)
            there = sha256_of(target, sizes) if os.path.lexists(target) else ""
            if there not in ("", written.sha256) and not self._is_ours(file.path, there):
                self.failures.append(Failure((file.path,), _NOT_OURS, _ELSEWHERE))
                return
            status = part.stat()
            if status.st_size != written.size:  # a shared disk may show less than was written
                raise OSError(f"{status.st_size} of {written.size} bytes arrived")
            known = MadeFile(file.key, written.size, status.st_mtime_ns, written.sha256)
            journal.made(file.path, known)  # first, so that after a kill it is known as ours
            if there:
                os.replace(part, target)
            else:
                take_new_place(part, target)
        except FileExistsError:
            self.failures.append(Failure((file.path,), _NOT_OURS, _ELSEWHERE))
            return
        except OSError as fault:
            self.failures.append(_failure((file.path,), "cannot be put in its place", fault))
            return
        self.files[file.path] = known
        self.made.append(file.path)

    def finish(self, files: tuple[File, ...]) -> Saved:
        """Write the manifest, then the memory, and return what was done."""
        failed = {path for failure in self.failures for path in failure.paths}
        prune(self.out, failed)
        entries = {path: entry for path, entry in self.old.items() if path not in failed or self._is_whole(entry)}
        for file in files:
            if file.path not in failed:
                known = self.files[file.path]
                of_file, _ = self.in_part.get(file.path, (file, None))
                entries[file.path] = entry_of(of_file, known.size, known.sha256)
        in_part = [failure for path, (_, failure) in self.in_part.items() if path not in failed]
        write_manifest(self.out, entries.values())
        write_made(self.out, Made(self.files, self.photos))
        return Saved(
            made=tuple(sorted(self.made)),
            unchanged=len(files) - len(self.made) - sum(file.path in failed for file in files),
            removed=tuple(self.removed),
            failures=tuple(sorted((*self.failures, *in_part), key=lambda failure: failure.paths)),
            entries=tuple(entries[path] for path in sorted(entries)),
        )

    def _is_whole(self, entry: Entry) -> bool:
        return digest_at(self.out / entry.path, (entry.size,)) == entry.sha256


def _failure(paths: tuple[str, ...], what: str, fault: FieldError | OSError) -> Failure:
    if isinstance(fault, FieldError):
        return Failure(paths, fault.message, fault.hint)
    hint = "Close it if another program has it open, then build." if isinstance(fault, PermissionError) else ""
    return Failure(paths, f"{what}: {_reason(fault)}.", hint)


def _reason(fault: OSError) -> str:
    """Return why, and which file it concerns, unless that is a temporary one, whose name means nothing to the owner."""
    reason = fault.strerror or str(fault)
    if not isinstance(fault.filename, str | os.PathLike) or is_part(Path(fault.filename).name):
        return reason
    return f"{reason} ({fault.filename})"
