"""Every figure of random shops as the second implementation has it.

The formulas were written a second time, in fractions, from what is promised of them, not from the code. A shop is made
from its seed, so that one that differs can be made again: `python -m tests.oracle 17 /tmp/shop` writes shop 17.
"""

import ast
import re
from collections import Counter
from pathlib import Path

import pytest

from tests.oracle.compared import Comparison, compare_shop
from tests.oracle.shops import write_shop

HERE = Path(__file__).parent
COMPARING = {"compared.py", "test_oracle.py", "test_can_make.py"}
DAILY = (1, 4, 8, 28)
LONG = range(1000, 1100)
KINDS = re.split(
    r",\s+",
    """box, can make, status, taken, codes, compare, cost, display, feed.csv, feed.json, feed.jsonl, feed.xlsx,
    fill, fits, kept, layout, options, order, order form, overview, postage, price, price list, price steps,
    record, record availability, record canMake, record chargeableWeight, record pricePerMeasure, record figuresOf,
    record fillShare, record fullCost, record highestPrice, record includedTax, record inventoryLevel, record kept,
    record lowestPrice, record parcelWeight, record price, record suggestedRetail, record volumetricWeight,
    record weight, record wholesalePrice, sending, stock, sums, weights, wholesale, wholesale record""",
)
"""What must have been compared, each at least once."""


def compared(seeds: tuple[int, ...] | range, folder: Path) -> Counter[str]:
    """Compare the shops of these seeds, say how many figures agree, and return how many of each kind."""
    counted: Counter[str] = Counter()
    for seed in seeds:
        comparison: Comparison = compare_shop(write_shop(folder / f"shop-{seed}", seed))
        assert not comparison.differ, f"shop {seed}, in {folder}: " + "\n".join(comparison.differ[:20])
        counted += comparison.counted
    print(f"{counted.total()} figures of {len(seeds)} shops agree: {dict(counted.most_common())}")  # noqa: T201 - figures are to be seen
    return counted


def test_the_second_implementation_shares_no_code_with_the_first() -> None:
    for path in sorted(HERE.glob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        named = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
        named |= {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}
        called = {ast.unparse(node.func) for node in ast.walk(tree) if isinstance(node, ast.Call)}
        ours = {name for name in named if name.partition(".")[0] in ("listkit", "tests", "importlib")}
        if path.name in COMPARING:
            continue
        assert {name for name in ours if not name.startswith("tests.oracle.")} == set(), path.name
        assert not {f"tests.oracle.{Path(name).stem}" for name in COMPARING} & ours, path.name
        assert not called & {"__import__", "exec", "eval"}, path.name


def test_every_figure_of_a_few_shops_is_the_second_implementations(tmp_path: Path) -> None:
    counted = compared(DAILY, tmp_path)
    assert [kind for kind in KINDS if counted[kind] == 0] == []
    assert counted.total() > 4_000


@pytest.mark.long
def test_a_hundred_thousand_figures_are_the_second_implementations(tmp_path: Path) -> None:
    counted = compared(LONG, tmp_path)
    assert [kind for kind in KINDS if counted[kind] == 0] == []
    assert counted.total() > 100_000
