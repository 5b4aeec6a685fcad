"""Every file of a shop folder, and what others hand over, mutated in seeded cases: no case may break a promise.

The promises: no traceback; no longer than 10 s and no more than 1 GB; nothing outside the output folder written or
removed; no link followed; nothing told that could steer a terminal; after a build that ended well a true manifest.
A case that broke one is run again alone by `python -m tests.fuzz NUMBER NUMBER+1`; what it found stands as a small
example beside the tests of what was mended.
"""

import pytest

from tests.fuzz.pool import Summary, run_cases


def told(summary: Summary) -> str:
    """Return the figures and every fault."""
    faults = (f"case {one.number}: {one.what}\n  {one.words}\n  {one.fault}" for one in summary.faults)
    return "\n".join((str(summary), *faults))


@pytest.mark.parametrize("step", [2, pytest.param(1, marks=pytest.mark.long)])  # a case takes a third of a second
def test_fifty_cases_keep_every_promise(step: int) -> None:
    summary = run_cases(range(0, 50, step), workers=1)
    sound = step * sum(one.status == 0 for one in summary.outcomes)
    assert not summary.faults, told(summary)
    assert 10 < sound < 40, "cases should be neither harmless nor hopeless"


@pytest.mark.long
def test_twenty_thousand_cases_keep_every_promise(capsys: pytest.CaptureFixture[str]) -> None:
    summary = run_cases(range(20_000))
    with capsys.disabled():
        print(f"\n{summary}")  # noqa: T201 - figures are to be seen
    assert not summary.faults, told(summary)
