"""Wishes that ask more than the solver takes seconds for are told with the figure. Our own rule: no source."""

import datetime
from pathlib import Path

import pytest

from listkit import bounds
from listkit.actions.allot import allot
from tests.shops import clean_shop

TODAY = datetime.date(2027, 3, 1)


@pytest.mark.parametrize(("wishes", "refused"), [(3, False), (150, True)])
def test_wishes_are_counted_for_each_code_at_each_place(wishes: int, refused: bool, tmp_path: Path) -> None:
    shop = clean_shop(tmp_path / "shop")
    row = "Z-{0},Thing {0},bar soap,100 g,6.50,1.40,104,80 x 55 x 25,40,external-use;avoid-eyes,,no\n"
    with (shop / "items.csv").open("a", encoding="utf-8") as stream:
        stream.writelines(row.format(at) for at in range(30))
    (shop / "channels/fair.toml").write_text('name = "Fair"\nmake = ["price list"]\n[singles]\n', encoding="utf-8")
    with (shop / "shop.toml").open("a", encoding="utf-8") as stream:
        stream.write("\n[allotment]\n" + "[[allotment.wish]]\nleast = 900\n" * wishes)
    run = allot(shop, TODAY)
    told = [each.message for each in run.problems if f"at most {bounds.CLAIMS:,} are shared out" in each.message]
    asked = f"{wishes * 36:,} codes"  # the set and its four items, thirty more, and the set at the stall
    assert [asked in message for message in told] == [True] * refused
    assert (run.shared is None) is refused
