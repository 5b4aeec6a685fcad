"""Each code of a problem has a shop that shows it: the clean shop with one edit, and the exact words it must give.

tests/problems/<code>/ holds the changed files alone, expected.txt with the lines that are told, and where files are
taken away remove.txt with their paths, where a folder is called otherwise rename.txt. A second case of a code is
called <code>+<what>.
"""

import datetime
import itertools
from pathlib import Path

import pytest

from listkit.check.rules import CHECKS, CODES
from listkit.compute.build import build_catalog
from listkit.listing.build import build_listings
from listkit.listing.listings import OnDay
from listkit.read.shop import read_shop
from tests.checked import problems_of
from tests.samples import where
from tests.shops import PROBLEMS, broken_shop, clean_shop, lines

TODAY = datetime.date(2027, 3, 1)
CASES = sorted(folder.name for folder in PROBLEMS.iterdir() if folder.is_dir() and folder.name != "clean")
FIRST_CASES = {min(cases) for _, cases in itertools.groupby(CASES, lambda case: case.partition("+")[0])}
READING = {
    "file-missing", "encoding", "syntax", "unknown-key", "missing-key", "bad-value", "unknown-code", "code-twice",
    "unknown-column", "row-aside", "path-outside", "not-a-picture",
}  # fmt: skip


def test_the_clean_shop_has_no_problem_at_all(tmp_path: Path) -> None:
    assert lines(problems_of(clean_shop(tmp_path), TODAY)) == []


@pytest.mark.parametrize("case", CASES)
def test_one_edit_to_the_clean_shop_is_told_in_these_words(case: str, tmp_path: Path) -> None:
    folder = PROBLEMS / case
    told = lines(problems_of(broken_shop(tmp_path, folder), TODAY))
    assert told == (folder / "expected.txt").read_text(encoding="utf-8").splitlines()
    assert any(line.endswith(f"  {case.partition('+')[0]}") for line in told)


def test_every_code_of_reading_has_a_case_and_every_case_a_code() -> None:
    shown = {case.partition("+")[0] for case in CASES}
    assert shown - CODES.keys() == set()
    assert READING - shown == set()


# A level belongs to a code: further cases of one, which the test above reads in their words, are tried by hand.
@pytest.mark.parametrize(
    "case",
    where((case for case in CASES if case.partition("+")[0] not in CHECKS), lambda case: case in FIRST_CASES),
)
def test_what_is_found_while_reading_has_the_level_of_its_row(case: str, tmp_path: Path) -> None:
    """A problem made before any check runs states its own level where it does not stop the build."""
    shop, problems = read_shop(broken_shop(tmp_path, PROBLEMS / case))
    listings = build_listings(build_catalog(shop), OnDay(TODAY))
    made = [*problems, *listings.problems]
    assert {problem.code: problem.level for problem in made} == {
        problem.code: CODES[problem.code].level for problem in made
    }


def test_every_check_has_a_case() -> None:
    """Unlike prices on two channels are nothing that files bring about yet; tests/check/test_parity.py has them."""
    assert CHECKS.keys() - {case.partition("+")[0] for case in CASES} == {"price-parity"}
