"""Every printed page of the demo, looked at by two checkers of PDF/UA-1 (ISO 14289-1) that are not ours.

outloud walks all 31 checkpoints of the Matterhorn Protocol and asks beyond them how a page reads; pdfua has 12
checks of its own. Neither speaks of conformance, nor do we: what they find is nothing, or named here with its reason.
"""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import pikepdf
import pytest

from listkit.cli import main
from tests.shops import without_allotment

try:
    import outloud
    import pdfua
except ImportError:
    outloud = pdfua = None
needs_checkers = pytest.mark.skipif(outloud is None, reason="outloud or pdfua is not installed (extra peers)")
DAY: Final = ("--today", "2027-01-20")
KNOWN: Final = {
    "TAG-002": "running heads and feet are artifacts; what they say stands as content on the first page",
    "PAG-001": "words that every label has are no running heads",
    "ORD-001": "the numbers below drawn barcodes are painted after them, and are read so too",
}
RUNNING: Final = tuple(
    f"Ottermarl Hive & Herb {runs}"
    for runs in ("· hello@ottermarl.example", "Wholesale line sheet ·", "· Barcodes, continued Wholesale line sheet ·")
)


@pytest.fixture(scope="module")
def printed(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, ...]:
    """All PDF files of the demo: a line sheet, a price list, labels, cards, a confirmation and a pick list."""
    shop = tmp_path_factory.mktemp("aloud") / "shop"
    shutil.copytree(demo_folder, shop, ignore=shutil.ignore_patterns("channels", "plan.csv"))
    without_allotment(shop)
    assert main(["build", "--shop", str(shop), *DAY]) == 0
    order = shop.parent / "order.csv"
    order.write_text("code,quantity\nOHS-1-U01,12\nOH-B01,24\n", encoding="utf-8")
    assert main(["order", str(order), "--shop", str(shop), *DAY]) == 0
    found = tuple(sorted((shop / "out").rglob("*.pdf")))
    assert len(found) == 6
    return found


def _unknown(path: Path) -> Iterator[Any]:
    for one in outloud.check(str(path)).findings:
        runs = one.rule != "TAG-002" or all(line.startswith(RUNNING) for line in one.evidence.split("; "))
        if one.severity in {"error", "warning"} and not (one.rule in KNOWN and runs):
            yield path.name, one.rule, one.message, one.evidence


@needs_checkers
def test_a_checker_of_all_checkpoints_finds_nothing_unknown(printed: tuple[Path, ...]) -> None:
    assert [found for path in printed for found in _unknown(path)] == []


@needs_checkers
def test_a_second_checker_finds_nothing(printed: tuple[Path, ...]) -> None:
    assert [(path.name, pdfua.validate(str(path)).findings) for path in printed] == [
        (path.name, ()) for path in printed
    ]


@needs_checkers
def test_the_first_checker_finds_what_is_wrong(tmp_path: Path) -> None:
    """A page without tags, to know that the silence above means something."""
    bare = tmp_path / "bare.pdf"
    with pikepdf.new() as pdf:
        pdf.add_blank_page()
        pdf.save(bare)
    assert any(one.severity == "error" for one in outloud.check(str(bare)).findings)
    assert pdfua.validate(str(bare)).findings
