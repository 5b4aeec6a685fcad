"""Names in reductions that stand for nothing."""

from pathlib import Path

from listkit.read.references import reduction_names
from listkit.read.shop import read_shop
from tests.shops import CLEAN, clean_shop

SALE = '\n[[reduction]]\nfrom = 2027-02-01\nuntil = 2027-02-14\nby = "10 %"\n'


def told(tmp_path: Path, file: str, more: str, **changes: str) -> list[str]:
    text = (CLEAN / file).read_text(encoding="utf-8") + SALE + more
    return [str(one) for one in read_shop(clean_shop(tmp_path, {file: text, **changes}))[1]]


def test_known_channels_and_sets_are_no_problem(tmp_path: Path) -> None:
    assert told(tmp_path, "shop.toml", 'channels = ["stall"]\nsets = ["RRS-1"]\n') == []


def test_an_unknown_channel_of_a_set_s_own_reduction_is_told_there(tmp_path: Path) -> None:
    [one] = told(tmp_path, "sets/dawn/set.toml", 'channels = ["stall", "booth"]\n')
    assert one == 'Must fix · sets/dawn/set.toml: there is no channel "booth". Channels are stall.'


def test_a_channel_whose_file_is_broken_is_there_all_the_same(tmp_path: Path) -> None:
    more = 'channels = ["stall"]\n'
    problems = told(tmp_path, "shop.toml", more, **{"channels/stall.toml": "name = "})
    assert len(problems) == 1
    assert "channels/stall.toml" in problems[0]


def test_of_sets_nothing_is_said_where_one_could_not_be_read(tmp_path: Path) -> None:
    text = (CLEAN / "shop.toml").read_text(encoding="utf-8") + SALE + 'sets = ["X"]\n'
    shop, _ = read_shop(clean_shop(tmp_path, {"shop.toml": text}))
    assert reduction_names(shop.settings, shop.sets, (), None) == []
