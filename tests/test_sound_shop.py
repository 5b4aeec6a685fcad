"""A sound shop of twelve sets has few remarks, none to be fixed, and each of them has a cause in its files."""

import datetime
from pathlib import Path

import pytest

from listkit.problem import Level
from tests.checked import problems_of
from tests.sound_shop import TODAY, sound_shop

MOST_REMARKS = 8


@pytest.mark.parametrize("customary", [False, True], ids=["metric", "customary"])
def test_a_sound_shop_of_twelve_sets_has_few_remarks(customary: bool, tmp_path: Path) -> None:
    """Pieces that sets share, one thin wholesale price, a season that is not yet: four remarks, by hand.

    In the United States a fifth: what boxes of many pieces declare does not go into the lowest 30 % of a side.
    """
    root = sound_shop(tmp_path, customary=customary)
    assert len(list((root / "sets").iterdir())) == 12
    remarks = problems_of(root, datetime.date.fromisoformat(TODAY))
    assert len(remarks) <= MOST_REMARKS
    assert all(remark.level is Level.LOOK_AT for remark in remarks)
    assert {remark.code for remark in remarks} == {
        "season-not-yet", "stock-promised-twice", "stock-shared", "wholesale-thin",
        *(("net-high",) if customary else ()),
    }  # fmt: skip
