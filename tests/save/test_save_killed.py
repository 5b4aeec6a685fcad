"""A build that is killed at any moment: another process builds slowly, and is killed when it has told enough."""

import subprocess
import sys
import time
from collections.abc import Mapping
from pathlib import Path

import pytest

from listkit.save.job import File, Job, key_of
from listkit.save.manifest import read_manifest
from listkit.save.out_folder import part_of
from listkit.save.save import save
from tests.save.test_save import content, text_job


def write_slowly(text: str, paths: tuple[Path, ...]) -> None:
    with paths[0].open("w", encoding="utf-8") as stream:
        stream.write(text[: len(text) // 2])
        stream.flush()
        time.sleep(0.02)
        stream.write(text[len(text) // 2 :])


SLOW = {f"web/listings/set-{number}.html": f"{number} old " * 50 for number in range(8)}
SLOW_NEW = {path: text.replace("old", "new") for path, text in SLOW.items()} | {"web/z.html": "z"}
KILLED = """
import sys
from pathlib import Path
from tests.save.test_save_killed import save_slowly
save_slowly(Path(sys.argv[1]), int(sys.argv[2]))
"""


def slow_jobs(texts: Mapping[str, str]) -> list[Job]:
    return [Job(write_slowly, (text,), (File(path, key_of(text)),), heavy=True) for path, text in texts.items()]


def save_slowly(out: Path, workers: int) -> None:
    save(slow_jobs(SLOW_NEW), out, workers=workers, progress=lambda done, total: print(done, flush=True))  # noqa: T201


@pytest.mark.parametrize("workers", [1, 2])
@pytest.mark.parametrize("done", [0, 3, 8, 9])
def test_a_killed_build_leaves_every_file_whole_and_the_next_is_right(tmp_path: Path, done: int, workers: int) -> None:
    stale = {"web/old.html": "gone"}
    save(slow_jobs(SLOW | stale), tmp_path)
    build = subprocess.Popen(
        [sys.executable, "-c", KILLED, str(tmp_path), str(workers)], stdout=subprocess.PIPE, text=True
    )
    assert build.stdout is not None
    while int(build.stdout.readline()) < done:
        pass
    build.kill()  # in the middle of the next file, which takes 20 ms
    build.communicate()
    for path, text in content(tmp_path).items():
        if not Path(path).name.startswith((".part-", ".making")):
            assert text in (SLOW.get(path), SLOW_NEW.get(path), stale.get(path)), path
    assert len([path for path in content(tmp_path) if path in SLOW]) == len(SLOW)
    saved = save(slow_jobs(SLOW_NEW), tmp_path)
    assert saved.unchanged >= done
    assert content(tmp_path) == SLOW_NEW
    assert [entry.path for entry in read_manifest(tmp_path)] == sorted(SLOW_NEW)


def test_what_a_killed_build_made_and_nobody_wants_any_more_is_removed(tmp_path: Path) -> None:
    build = subprocess.Popen([sys.executable, "-c", KILLED, str(tmp_path), "1"], stdout=subprocess.PIPE, text=True)
    assert build.stdout is not None
    while int(build.stdout.readline()) < 2:
        pass
    build.kill()
    build.communicate()
    part_of(tmp_path, "web/left.html").write_text("half", encoding="utf-8")
    save([text_job("a", "a")], tmp_path)
    assert content(tmp_path) == {"a": "a"}
    assert not (tmp_path / "web").exists()
