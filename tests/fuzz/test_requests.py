"""Requests to the desk in seeded cases: forms of its own pages sent otherwise, and any route with anything.

The promises: no answer is a mistake of ours (500); none takes longer than 10 s of the processor or 1 GB; nothing but
the shop folder is written; and once all changes are taken back, newest first, the owner's files are as they were, or
the past has what they were. By hand: `python -m tests.fuzz desk NUMBER NUMBER+1`.
"""

import pytest

from tests.fuzz.pool import DESK, run_cases
from tests.fuzz.test_fuzz import told


@pytest.mark.parametrize("step", [2, pytest.param(1, marks=pytest.mark.long)])  # a case takes a third of a second
def test_fifty_cases_keep_every_promise(step: int) -> None:
    summary = run_cases(range(0, 50, step), workers=1, module=DESK)
    sound = step * sum(one.status == 0 for one in summary.outcomes)
    assert not summary.faults, told(summary)
    assert 10 < sound < 48, "changes should be neither harmless nor hopeless"


@pytest.mark.long
def test_five_thousand_cases_keep_every_promise(capsys: pytest.CaptureFixture[str]) -> None:
    summary = run_cases(range(5_000), module=DESK)
    with capsys.disabled():
        print(f"\n{summary}")  # noqa: T201 - figures are to be seen
    assert not summary.faults, told(summary)
