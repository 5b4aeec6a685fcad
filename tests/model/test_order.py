"""An order as it was sent."""

from listkit.model.wholesale import OrderForm


def test_what_a_buyer_left_out_is_empty() -> None:
    form = OrderForm("form.xlsx", "CN69X", (("shop", "The Sluice Shop"),), ())
    assert (form.says("shop"), form.says("notes")) == ("The Sluice Shop", "")
