import importlib
import os
import threading
import time
from collections.abc import Callable
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import closing
from functools import partial
from pathlib import Path

import pytest

from listkit.problem import FieldError
from listkit.save.job import File, Job, Recipe
from listkit.save.out_folder import part_of
from listkit.save.save import Task, run, write


def write_text(text: str, paths: tuple[Path, ...]) -> None:
    for path in paths:
        path.write_text(text, encoding="utf-8")


def write_parts(texts: tuple[str, ...], paths: tuple[Path, ...]) -> None:
    for text, path in zip(texts, paths, strict=True):
        path.write_text(text, encoding="utf-8")


def refuse(message: str, paths: tuple[Path, ...]) -> None:
    paths[0].write_text("half", encoding="utf-8")
    raise FieldError(message, "hint")


def write_process(paths: tuple[Path, ...]) -> None:
    paths[0].write_text(str(os.getpid()), encoding="utf-8")


def write_thread(paths: tuple[Path, ...]) -> None:
    time.sleep(0.05)
    paths[0].write_text(threading.current_thread().name, encoding="utf-8")


def forget(paths: tuple[Path, ...]) -> None:
    pass


def is_upper(path: Path, recipe: Recipe, inputs: tuple[object, ...]) -> str:
    text = path.read_text(encoding="utf-8")
    return "" if text.isupper() else f"{text} of {recipe.__name__}{inputs} is not in capitals"


def task(out: Path, job: Job) -> Task:
    return Task(job, tuple(part_of(out, file.path) for file in job.files), tuple(range(len(job.files))))


def test_what_was_written_is_told_by_size_and_sha256(tmp_path: Path) -> None:
    """FIPS 180-4 with the example values published beside it: SHA-256 of "abc"."""
    (written,) = write(task(tmp_path, Job(write_text, ("abc",), (File("deep/down/a.txt", "k"),))))
    assert written.size == 3
    assert written.sha256 == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"


def test_a_reader_is_given_the_path_the_recipe_and_the_files_own_part_alone(tmp_path: Path) -> None:
    files = (File("a.txt", "k", verify=is_upper), File("b.txt", "k", verify=is_upper), File("c.txt", "k"))
    faults = [each.fault for each in write(task(tmp_path, Job(write_parts, (), files, parts=("A", "b", "c"))))]
    assert faults == ["", "b of write_parts(('b',),) is not in capitals", ""]


def test_a_recipe_that_leaves_a_file_out_is_our_own_mistake(tmp_path: Path) -> None:
    with pytest.raises(RuntimeError, match=r"the recipe forget wrote no web/a\.txt"):
        write(task(tmp_path, Job(forget, (), (File("web/a.txt", "k"),))))


@pytest.mark.parametrize("workers", [1, 2, partial(ProcessPoolExecutor, 1)])
def test_a_fault_is_told_with_its_task_wherever_it_ran(tmp_path: Path, workers: int | Callable[[], Executor]) -> None:
    jobs = [
        Job(write_text, ("good",), (File("good.txt", "k"),), heavy=True),
        Job(refuse, ("the photo is gone.",), (File("bad.txt", "k"),), heavy=True),
    ]
    told = {}
    pool = workers if isinstance(workers, int) else workers()
    try:
        with closing(run([task(tmp_path, job) for job in jobs], pool)) as ended:
            for each, result in ended:
                try:
                    told[each.files[0].path] = str(result()[0].size)
                except FieldError as fault:
                    told[each.files[0].path] = f"{fault.message} {fault.hint}"
    finally:
        if isinstance(pool, Executor):
            pool.shutdown()
    assert told == {"good.txt": "4", "bad.txt": "the photo is gone. hint"}
    assert list(tmp_path.iterdir()) == []


def test_only_heavy_jobs_go_to_the_executor(tmp_path: Path) -> None:
    jobs = [Job(write_process, (), (File(f"{heavy}", "k"),), heavy=heavy) for heavy in (True, False)]
    ran = {}
    with ProcessPoolExecutor(1) as pool, closing(run([task(tmp_path, job) for job in jobs], pool)) as ended:
        for each, result in ended:
            result()
            ran[each.files[0].path] = int(each.parts[0].read_text(encoding="utf-8"))
    assert ran["False"] == os.getpid()
    assert ran["True"] != os.getpid()


def test_two_workers_are_two_threads(tmp_path: Path) -> None:
    jobs = [Job(write_thread, (), (File(f"{number}", "k"),), heavy=True) for number in range(4)]
    names = set()
    with closing(run([task(tmp_path, job) for job in jobs], 2)) as ended:
        for each, result in ended:
            result()
            names.add(each.parts[0].read_text(encoding="utf-8"))
    assert len(names) == 2
    assert threading.current_thread().name not in names


@pytest.mark.parametrize("workers", [1, 2])
def test_breaking_off_leaves_no_temporary_file_and_nothing_running(tmp_path: Path, workers: int) -> None:
    jobs = [Job(write_thread, (), (File(f"{number}", "k"),), heavy=True) for number in range(6)]
    with closing(run([task(tmp_path, job) for job in jobs], workers)) as ended:
        next(ended)[1]()
        assert len(list(tmp_path.iterdir())) >= 1
    assert list(tmp_path.iterdir()) == []
    time.sleep(0.1)
    assert list(tmp_path.iterdir()) == []


def test_a_thread_that_ended_without_a_word_is_never_waited_for(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where memory lacks, a thread may end before it has told what became of its task."""
    jobs = [Job(write_text, (f"{number}",), (File(f"{number}.txt", "k"),), heavy=True) for number in range(4)]
    lost, before = iter([True]), threading.active_count()

    def end_in_the_middle(self: object) -> None:
        if getattr(self, "fn", None) is write and next(lost, False):
            raise MemoryError
        usual(self)

    item = importlib.import_module("concurrent.futures.thread")._WorkItem
    usual = item.run
    monkeypatch.setattr(item, "run", end_in_the_middle)
    with closing(run([task(tmp_path, job) for job in jobs], 2)) as ended, pytest.raises(MemoryError):
        [result() for _task, result in ended]
    assert threading.active_count() == before
    assert [*tmp_path.iterdir()] == []
