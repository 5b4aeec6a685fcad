"""Shares with their per cent sign."""

from decimal import Decimal

import pytest

from listkit.problem import FieldError
from listkit.units.share import parse_share


@pytest.mark.parametrize(
    ("text", "share"), [("12.5 %", "0.125"), ("0 %", "0"), ("50%", "0.5"), ("6.25\u00a0%", "0.0625")]
)
def test_a_share_is_exact(text: str, share: str) -> None:
    assert parse_share(text) == Decimal(share)


@pytest.mark.parametrize("text", ["0.5", "2,9 %", "-3 %", "%", "1e2 %"])
def test_a_share_without_its_sign_or_unreadable_is_told(text: str) -> None:
    with pytest.raises(FieldError):
        parse_share(text)
