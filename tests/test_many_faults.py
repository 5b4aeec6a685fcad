"""Several faults at once: one hides no other in the texts and photos of a set, and none brings up what is not so."""

import datetime
from pathlib import Path

import pytest

from listkit import bounds, pipeline
from listkit.problem import Level
from tests.checked import problems_of
from tests.many_faults import CASES, codes, faulty_shops, is_there, told_in, wanted
from tests.shops import PROBLEMS, broken_shop, clean_shop, demo_without_pictures, lines

TODAY = datetime.date(2027, 3, 1)
ITS_OWN = (
    *("alt-twice", "gtin-wrong", "keyword-long", "keyword-twins", "photo-dark", "photo-shows-another", "photo-twice"),
    *("photos-many", "season-word", "title-loud", "unwritten", "claim-medicine"),
)


@pytest.mark.parametrize("seed", range(12))
def test_each_of_several_faults_is_told_and_nothing_that_none_of_them_alone_is_told_for(
    seed: int, tmp_path: Path
) -> None:
    """Twelve shops of two to six faults, 33 in all."""
    for shop in faulty_shops(tmp_path, seed, 1):
        told = set(map(told_in, lines(problems_of(shop.root, TODAY))))
        assert {code for code, _ in told} <= codes(shop.cases), [case.name for case in shop.cases]
        assert [case.name for case in shop.cases if is_there(case, shop.cases) and not wanted(case) <= told] == []


@pytest.mark.long
def test_of_two_hundred_shops_every_fault_is_told_at_once(tmp_path: Path) -> None:
    """606 faults; what is a figure of a value that another fault makes unreadable goes by a usual value."""
    there = untold = 0
    for shop in faulty_shops(tmp_path, 7, 200):
        told = set(map(told_in, lines(problems_of(shop.root, TODAY))))
        faults = [case for case in shop.cases if is_there(case, shop.cases)]
        there += len(faults)
        untold += len([case for case in faults if not wanted(case) <= told])
    assert untold == 0, (untold, there)


@pytest.mark.parametrize("hidden", ITS_OWN)
@pytest.mark.parametrize("by", ["unknown-code+box", "unknown-key"])
def test_a_set_that_is_left_out_is_still_looked_at(hidden: str, by: str, tmp_path: Path) -> None:
    """A box that is not there, or a key in set.toml that is none, leaves the set out."""
    alone = next(case for case in CASES if case.name == hidden)
    root = broken_shop(tmp_path, alone)
    file = root / "sets" / "dawn" / "set.toml"
    text = file.read_text(encoding="utf-8")
    unknown = text.replace('box = "S"', 'box = "Z"') if by == "unknown-code+box" else f'sesan = "spring"\n{text}'
    assert unknown != text
    file.write_text(unknown, encoding="utf-8")
    told = set(map(told_in, lines(problems_of(root, TODAY))))
    assert wanted(PROBLEMS / hidden) <= told


@pytest.mark.parametrize(
    ("figure", "many"),
    [
        ("ITEMS_MENDED", "there are 4 items; with more than 3, "),
        ("LISTS_MENDED", "there are 9 letters in lists of ingredients; with more than 8, "),
    ],
)
def test_nor_behind_one_fault_in_a_shop_beyond_all_measure(
    figure: str, many: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Each look reads and checks all items again; of a sound shop nothing is said."""
    shop, most = clean_shop(tmp_path), {"ITEMS_MENDED": 3, "LISTS_MENDED": 8}[figure]
    sheet = (shop / "items.csv").read_text(encoding="utf-8").splitlines()
    text = "\n".join((f"{sheet[0]},ingredients", f"{sheet[1]},Aqua Mica", *sheet[2:]))
    (shop / "items.csv").write_text(text.replace("Aqua Mica", '"Aqua, Mel"') + "\n", encoding="utf-8")
    monkeypatch.setattr(bounds, figure, most)
    assert "not-looked-for" not in {problem.code for problem in problems_of(shop, TODAY)}
    file = shop / "sets" / "dawn" / "set.toml"
    file.write_text(file.read_text(encoding="utf-8").replace("RR-B1", "RR-B9"), encoding="utf-8")
    said = [problem.message for problem in problems_of(shop, TODAY) if problem.code == "not-looked-for"]
    assert said == [f"{many}what the things to fix hide is not looked for."]


@pytest.mark.parametrize("more", [0, 1])
def test_behind_thousands_of_faults_none_are_looked_for(
    more: int, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Each look behind them reads and checks the whole shop again; 10,000 rows of rubbish took 18 s."""
    shop, looks = demo_without_pictures(tmp_path / "shop"), list[object]()
    rows = "".join(f"ZZ-{at},Bar,rubbish,1.00,50 g,50 x 50 x 20 mm\n" for at in range(40))
    (shop / "items.csv").write_text("code,name,retail,cost,weight,size\n" + rows, encoding="utf-8")
    problems = problems_of(shop, TODAY)
    monkeypatch.setattr(bounds, "FAULTS_MENDED", 40 if more else len(problems))

    def look(*asked: object) -> tuple[tuple[()], tuple[()]]:
        looks.append(asked)
        return (), ()

    monkeypatch.setattr(pipeline._Reading, "as_mended", look)
    told = problems_of(shop, TODAY)
    assert bool(looks) is not bool(more)
    said = [str(problem) for problem in told if problem.code == "not-looked-for"]
    faults = sum(problem.level is Level.MUST_FIX for problem in problems)
    assert said == [
        f"Look at · items.csv: there are {faults} things to fix; with more than 40, what the things to fix hide is not "
        "looked for. Mend these first, then check again."
    ] * bool(more)
    assert sum(problem.code == "bad-value" and "rubbish" in problem.message for problem in told) == 40
