"""Reductions as files state them."""

from typing import Any

import pytest
from pydantic import ValidationError

from listkit.model.gift_set import GiftSet
from listkit.model.reduction import Announcing, Reduction, ShopReduction
from listkit.model.settings import Settings
from listkit.units.spoken import Spoken

SPOKEN = Spoken("en-GB", "GBP")
DAYS = {"from": "2026-12-01", "until": "2026-12-10"}


def test_a_reduction_has_a_name_for_messages() -> None:
    assert ShopReduction.model_validate({**DAYS, "by": "10 %"}).label_in(SPOKEN) == "the reduction from 1 December 2026"
    assert Reduction.model_validate({**DAYS, "name": "Sale", "by": "10 %"}).label_in(SPOKEN) == 'the reduction "Sale"'


@pytest.mark.parametrize(
    ("says", "message"),
    [
        ({"by": "0 %"}, "it lowers nothing"),
        ({"by": "100 %"}, "100 % leaves nothing of the price"),
        ({"by": "120 %"}, "120 % leaves nothing of the price"),
        ({"by": "10"}, "no per cent sign"),
        ({"ending": "keep"}, '"keep" lowers nothing'),
    ],
)
def test_what_lowers_nothing_or_leaves_nothing_is_refused(says: dict[str, Any], message: str) -> None:
    with pytest.raises(ValidationError, match=message):
        Reduction.model_validate({**DAYS, **says}, context={"currency": "GBP"})


def test_a_reduction_is_sound_with_days_in_order_and_one_measure() -> None:
    def sound(**says: Any) -> bool:
        return Reduction.model_validate({**DAYS, **says}, context={"currency": "GBP"}).sound

    assert sound(by="10 %")
    assert sound(ending=".95")
    assert not sound()
    assert not sound(by="10 %", ending=".95")
    assert not sound(by="10 %", until="2026-11-30")


def test_the_defaults_are_the_general_rule_of_the_union() -> None:
    """Directive 98/6/EC, Art. 6a(2): a period not shorter than 30 days; exceptions are each country's choice."""
    usual = Announcing()
    assert (usual.announce, usual.prior_days, usual.known_days, usual.further_cuts) == (True, 30, None, False)
    with pytest.raises(ValidationError, match="0 days cannot be looked back"):
        Announcing.model_validate({"prior_days": 0})


def test_a_shop_has_no_thousands_of_reductions() -> None:
    each = [{**DAYS, "by": "10 %"}] * 501
    shop = {"name": "Mill", "currency": "GBP", "country": "GB"}
    assert len(Settings.model_validate({**shop, "reduction": each[:-1]}).reductions) == 500
    with pytest.raises(ValidationError, match="501 entries"):
        Settings.model_validate({**shop, "reduction": each})


def test_a_set_holds_no_thousands_of_things() -> None:
    made = {"code": "SET-1", "name": "Set", "box": "none"}
    assert GiftSet.model_validate({**made, "contents": [{"item": "A-1"}] * 500}).contents
    with pytest.raises(ValidationError, match="501 entries"):
        GiftSet.model_validate({**made, "contents": [{"item": "A-1"}] * 501})
    with pytest.raises(ValidationError, match="too_short"):
        GiftSet.model_validate({**made, "contents": []})
