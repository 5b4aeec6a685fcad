"""packaging.toml is read whole or in part: one broken box does not take the others with it."""

from pathlib import Path

from listkit.read.parts import PackagingRead, read_packaging
from tests.shops import CLEAN, clean_shop, lines

TEXT = (CLEAN / "packaging.toml").read_text(encoding="utf-8")
BOX = '[[box]]\ncode = "M"\ninside = "20 x 15 x 8 cm"\nweight = "80 g"\ncost = "{}"\n'


def read(root: Path, text: str) -> tuple[PackagingRead, list[str]]:
    clean_shop(root, {"packaging.toml": text})
    packaging, problems = read_packaging(root, "packaging.toml", "GBP")
    return packaging, lines(problems)


def test_boxes_and_card_are_read(tmp_path: Path) -> None:
    packaging, told = read(tmp_path, TEXT + BOX.format("1.20"))
    assert (told, packaging.broken, packaging.unread) == ([], {}, None)
    assert [box.code for box in packaging.packaging.boxes] == ["S", "M"]


def test_a_broken_box_is_left_out_by_its_code(tmp_path: Path) -> None:
    packaging, told = read(tmp_path, TEXT + BOX.format("1,20"))
    assert told == [
        'Must fix · packaging.toml, line 17: cost: "1,20" has a comma. Write "1.20" with a point.  bad-value'
    ]
    assert [box.code for box in packaging.packaging.boxes] == ["S"]
    assert lines(list(packaging.broken.values())) == told
    assert (list(packaging.broken), packaging.unread) == (["M"], None)


def test_a_box_without_code_or_a_broken_file_hides_which_boxes_there_are(tmp_path: Path) -> None:
    for text in (TEXT.replace('code = "S"\n', ""), "[[box]\n", 'box = "S"', "box = [1]"):
        packaging, told = read(tmp_path, text)
        assert packaging.unread is not None, text
        assert lines([packaging.unread]) == told[:1]


def test_without_a_file_there_are_no_boxes(tmp_path: Path) -> None:
    packaging, problems = read_packaging(tmp_path, "", "GBP")
    assert (packaging.packaging.boxes, packaging.unread, problems) == ((), None, [])
