"""The process in which a layout is run: told by JSON, bounded, on its own."""

import json
import subprocess
import sys
from pathlib import Path

import pytest

from listkit.limited import Ended, Limits, run_limited
from listkit.write import print_worker
from tests.real_builds import ROOT

resource = pytest.importorskip("resource", reason="this system bounds no process by itself")
WORKER = Path(print_worker.__file__)
GOOD = '#set document(title: "A page")\n#set text(lang: "en")\n= A page'


def run(folder: Path, text: str, *, ask: str = "", memory: int = 3_000_000_000, seconds: int = 20) -> Ended:
    (folder / "page.typ").write_text(text, encoding="utf-8")
    order = {"root": str(folder), "layout": "page.typ", "out": str(folder / "out.pdf"), "time": 0,
             "ppi": 0, "ask": ask}  # fmt: skip
    return run_limited(WORKER, order, Limits(memory, seconds, patience=60))


def test_a_good_layout_leaves_a_pdf_and_says_nothing(tmp_path: Path) -> None:
    ended = run(tmp_path, GOOD)
    assert (ended.status, ended.answer) == (0, b"")
    assert (tmp_path / "out.pdf").read_bytes().startswith(b"%PDF-1.7")


def test_what_a_layout_says_at_a_label_is_told_where_it_is_asked_for(tmp_path: Path) -> None:
    ended = run(tmp_path, f"{GOOD}\n#metadata((7, 8)) <sizes>", ask="sizes")
    assert json.loads(ended.answer) == {"said": [[7, 8]]}


def test_a_fault_is_told_as_json_and_leaves_none(tmp_path: Path) -> None:
    told = json.loads(run(tmp_path, "#nobody").answer)
    assert told["message"] == "unknown variable: nobody"
    assert not (tmp_path / "out.pdf").exists()


def test_memory_beyond_what_it_may_have_ends_it(tmp_path: Path) -> None:
    ended = run(tmp_path, '#let a = "x"\n#for i in range(40) { a = a + a }', memory=1_500_000_000)
    assert ended.status != 0
    assert not (tmp_path / "out.pdf").exists()


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="only Linux says how much a process held at most")
def test_what_it_holds_is_bounded_however_many_addresses_it_has(tmp_path: Path) -> None:
    """Addresses alone were bounded before, three times as many: what was held came to 2.4 GB."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    ended = run(tmp_path, "#for i in range(4000000) [ #i pages #pagebreak() ]", memory=400_000_000)
    assert ended.took_too_much
    held = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    assert held <= max(before, 500_000), held  # in kB; code that is mapped counts beside what is held


def test_time_beyond_what_it_may_have_ends_it(tmp_path: Path) -> None:
    ended = run(tmp_path, "#let n = 0\n#for a in range(99999) { for b in range(99999) { n += 1 } }", seconds=1)
    assert ended.status < 0


def test_a_process_that_may_have_less_than_a_page_may_take_lacks_memory_and_the_layout_is_not_to_blame(
    tmp_path: Path,
) -> None:
    (tmp_path / "page.typ").write_text('#let a = "x"\n#for i in range(40) { a = a + a }', encoding="utf-8")
    order = {"root": str(tmp_path), "layout": "page.typ", "out": str(tmp_path / "out.pdf"), "time": 0,
             "ppi": 0, "ask": ""}  # fmt: skip
    script = f"""
import resource
resource.setrlimit(resource.RLIMIT_AS, (500_000_000, 500_000_000))
from pathlib import Path
from listkit.limited import Limits, run_limited
try:
    run_limited(Path({str(WORKER)!r}), {order!r}, Limits(3_000_000_000, 20, patience=60))
except MemoryError:
    print("lacks memory")
"""
    ended = subprocess.run([sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=False)
    assert (ended.stdout, ended.stderr) == ("lacks memory\n", "")
