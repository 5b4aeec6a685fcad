"""A season begins and ends with no file changed, and changes say that the day did it."""

import datetime
import json
from pathlib import Path
from typing import Any

import pytest

from listkit.cli import main
from tests.shops import CLEAN, clean_shop

TODAY = datetime.datetime.now(datetime.UTC).date()  # a record cannot be of a day to come
EVE = TODAY - datetime.timedelta(1)


def stall(**keys: str) -> str:
    more = "".join(f'{key} = "{value}"\n' for key, value in keys.items())
    return f'name = "Market stall"\nmake = ["feed"]\n{more}'


def shop(folder: Path, first: datetime.date, last: datetime.date, channel: str) -> Path:
    text = (CLEAN / "shop.toml").read_text(encoding="utf-8")
    head, _, _ = text.partition("on_sale")
    dates = f"on_sale = {first}\noff_sale = {last}\n"
    return clean_shop(folder, {"shop.toml": head + dates, "channels/stall.toml": channel})


def told_on_the_day(folder: Path, capsys: pytest.CaptureFixture[str]) -> Any:
    """Build and record the day before, and return what changes tells of the stall on the day."""
    assert main(["build", "--shop", str(folder), "--today", str(EVE)]) == 0
    assert main(["record", "stall", "--shop", str(folder), "--at", f"{EVE}T00:30", "--today", str(EVE)]) == 0
    capsys.readouterr()
    main(["changes", "stall", "--json", "--shop", str(folder), "--today", str(TODAY)])
    return json.loads(capsys.readouterr().out)["stall"]


YEAR = datetime.timedelta(365)
CASES = {
    "begins": (TODAY, TODAY + YEAR, "spring begins"),
    "ends": (TODAY - YEAR, EVE, "spring ends"),
}


@pytest.mark.parametrize("case", CASES)
@pytest.mark.parametrize("keys", [{}, {"before": "leave out", "after": "leave out"}, {"before": "pre-order"}])
def test_the_day_explains_every_change(
    case: str, keys: dict[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first, last, says = CASES[case]
    told = told_on_the_day(shop(tmp_path, first, last, stall(**keys)), capsys)
    assert told["changed"] or told["new"] or told["gone"]
    assert {one["kind"] for one in told["causes"]} == {"season"}
    assert all(one["words"].startswith(says) for one in told["causes"])
    assert bool(told["new"]) == (keys.get("before") == "leave out" and case == "begins")
    assert bool(told["gone"]) == (keys.get("after") == "leave out" and case == "ends")


def test_a_set_that_the_place_no_longer_takes_is_explained_by_its_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = shop(tmp_path, TODAY - YEAR, TODAY + YEAR, stall())
    told_on_the_day(folder, capsys)
    (folder / "channels/stall.toml").write_text(stall() + 'leave_out = ["RRS-1"]\n', encoding="utf-8")
    main(["changes", "stall", "--json", "--shop", str(folder), "--today", str(TODAY)])
    told = json.loads(capsys.readouterr().out)["stall"]
    [cause] = told["causes"]
    assert (cause["kind"], cause["words"]) == ("channel", "channel, leave out – → RRS-1 moves 1 set, 2 variants")
    assert len(told["gone"]) == 2
