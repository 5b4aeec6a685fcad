"""How many faults are told of shops with two to six at once, in figures; `python -m tests.bench.bench_faults`."""

import datetime
import tempfile
from collections import Counter
from pathlib import Path

from tests.checked import problems_of
from tests.many_faults import codes, faulty_shops, is_there, told_in, wanted
from tests.shops import lines

TODAY = datetime.date(2027, 3, 1)


def show_figures(number: int, seed: int) -> None:
    """Print which faults are not told beside others, and what is told that none of the folders is told for."""
    missing, untold, strange = Counter[str](), 0, Counter[str]()
    faults = gone = 0
    with tempfile.TemporaryDirectory() as folder:
        for shop in faulty_shops(Path(folder), seed, number):
            told = lines(problems_of(shop.root, TODAY))
            places = set(map(told_in, told))
            there = [case for case in shop.cases if is_there(case, shop.cases)]
            faults, gone = faults + len(there), gone + len(shop.cases) - len(there)
            lacking = [case.name for case in there if not wanted(case) <= places]
            missing.update(lacking)
            untold += bool(lacking)
            strange.update(line for line in told if told_in(line)[0] not in codes(shop.cases))
    share = (faults - missing.total()) / faults
    print(
        print(
            f"{number} shops, {faults} faults, and {gone} that another takes away: {share:.1%} told; "
            f"{number - untold} shops with all of theirs"
        )
    )
    print("not told beside others:", dict(missing.most_common()))
    print("told of no folder alone:", dict(strange.most_common()) or "nothing")


if __name__ == "__main__":
    show_figures(200, 7)
