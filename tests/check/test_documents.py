"""The accent of documents is read.

The contrast is WCAG 2.2, 1.4.3 (4.5:1).
"""

import pytest

from listkit.model.shop import Shop
from tests.check.found import told
from tests.small_shop import gift_set, item, settings, shop


def coloured(accent: str, **checks: str) -> Shop:
    """A small shop with this accent."""
    rules = {"checks": {code.replace("_", "-"): figure for code, figure in checks.items()}}
    return shop([item("A")], [gift_set([{"item": "A"}], box="none")], settings=settings(accent=accent, **rules))


@pytest.mark.parametrize("accent", ["#000000", "#767676", "#7a5c1e"])
def test_a_dark_accent_gives_nothing(accent: str) -> None:
    """WCAG 2.2: #767676 on white has 4.54 to 1, the lightest grey that passes."""
    assert told("accent-faint", coloured(accent)) == []


def test_a_faint_accent_is_told_with_its_contrast() -> None:
    """WCAG 2.2: #777777 on white has 4.48 to 1 and fails."""
    assert told("accent-faint", coloured("#777777")) == [
        "Look at · shop.toml: the accent #777777 has a contrast of 4.5 to 1 on white. "
        "Take a darker one: from 4.5 to 1 on it is read well."
    ]


def test_pure_red_is_read_better_in_grey_than_in_colour() -> None:
    """Red has 4.0 to 1 on white (WCAG 2.2); printed in grey it is #4c4c4c, which has 8.6."""
    [line] = told("accent-faint", coloured("#ff0000"))
    assert "a contrast of 4.0 to 1 on white" in line


def test_the_owner_may_ask_for_less() -> None:
    assert told("accent-faint", coloured("#949494", accent_faint="3")) == []
