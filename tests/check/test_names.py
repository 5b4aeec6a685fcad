"""Names and scents in a running text.

What is asked for is common practice, no source.
"""

import pytest

from listkit.check.typed import Names
from tests.small_shop import facts, gift_set, item

ITEMS = [
    item("A-1", name="Rosemary & Rind", scent="rosemary"),
    item("A-2", name="Clover & Cream", scent="clover", form="body butter"),
    item("A-3", name="Oat Milk", scent="oat", form="bath sachets"),
    item("A-4", name="Juniper", scent="juniper and pine", form="bath salts"),
    item("A-5", name="Clover & Cream", scent="clover", form="mini butter", larger="A-2"),
]


def strange(text: str, *codes: str) -> list[str]:
    one = facts(ITEMS, gift_set([{"item": code} for code in codes]))
    return [text[start:end] for start, end, _ in Names(ITEMS).strange(text, one)]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Rosemary & Rind and Clover and Cream lie in straw.", ["Clover and Cream"]),
        ("ROSEMARY AND RIND, CLOVER & CREAM", ["CLOVER & CREAM"]),
        ("A cup of oat milk before bed, with clover and cream.", []),
        ("Oat Milk before bed.", ["Oat Milk"]),
        ("The clover soap smells of juniper and pine.", ["clover", "juniper and pine"]),
        ("A rosemary bar, scented with clover.", ["clover"]),
        ("Past the clover, by the juniper, we walk home.", []),
        ("", []),
    ],
)
def test_names_with_their_capitals_and_scents_of_goods_are_found(text: str, expected: list[str]) -> None:
    assert strange(text, "A-1") == expected


def test_a_mini_may_be_called_as_its_full_size_is() -> None:
    assert strange("Clover & Cream in your pocket, a clover jar.", "A-5") == []


def test_what_the_sets_items_are_described_with_may_be_said() -> None:
    assert strange("It smells of oat.", "A-3") == []
    assert strange("It smells of oat.", "A-1") == ["oat"]
