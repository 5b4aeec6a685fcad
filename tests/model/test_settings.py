"""What holds where shop.toml says nothing: each figure beside where it comes from."""

from decimal import Decimal

import pytest
from pydantic import TypeAdapter, ValidationError

from listkit.model.fields import Months, RatioField
from listkit.model.settings import Settings
from listkit.units.length import Length
from listkit.units.weight import Divisor, Weight
from tests.small_shop import GBP

USUAL = Settings.model_validate({"name": "Small Shop", "currency": "GBP", "country": "GB"}, context=GBP)


@pytest.mark.parametrize(
    ("stated", "usual"),
    [
        (USUAL.prices.tax, Decimal(0)),  # adds nothing
        (USUAL.prices.lowest_margin, Decimal(0)),  # adds nothing
        (USUAL.prices.wholesale, Decimal("0.5")),  # half of retail: common practice of the trade, no source
        (USUAL.packing.clearance, Length(Decimal(3))),  # common practice, no source
        (USUAL.packing.loose_below, Decimal("0.25")),  # common practice, no source
        (USUAL.packing.full_above, Decimal("0.65")),  # common practice, no source
        (USUAL.packing.most_on_fragile, Weight(Decimal(50))),  # common practice, no source
        (USUAL.freight.divisor, Divisor(Decimal(5000))),  # common practice of parcel carriers, no source
        (USUAL.freight.step, Weight(Decimal(1))),  # adds nothing that shows
        (USUAL.freight.packet.together, Length(Decimal(900))),  # Universal Postal Convention, Regulations, from memory
        (USUAL.freight.packet.longest, Length(Decimal(600))),  # likewise
        (USUAL.freight.packet.tolerance, Length(Decimal(2))),  # likewise
        (USUAL.freight.packet.weight, Weight(Decimal(2000))),  # likewise
        (USUAL.announcing.prior_days, 30),  # Directive 98/6/EC, Article 6a(2)
        (USUAL.changes.largest_move, Decimal("0.3")),  # common practice, no source
        (USUAL.changes.most_moves, Decimal("0.5")),  # common practice, no source
    ],
)
def test_what_is_left_out_has_its_usual_figure(stated: object, usual: object) -> None:
    assert stated == usual


def _with_website(typed: str) -> Settings:
    told = {"name": "Small Shop", "currency": "GBP", "country": "GB", "website": typed}
    return Settings.model_validate(told, context=GBP)


@pytest.mark.parametrize(
    ("typed", "kept"),
    [
        ("https://ottermarl.example", "https://ottermarl.example"),
        ("http://ottermarl.example:8080/box?a=1#top", "http://ottermarl.example:8080/box?a=1#top"),
        ("ottermarl.example", "https://ottermarl.example"),
        (" https://ottermarl.example\n", "https://ottermarl.example"),
        ("HTTPS://ottermarl.example", "HTTPS://ottermarl.example"),
        ("https://ottermarl.example/?to=https://mill.example", "https://ottermarl.example/?to=https://mill.example"),
        ("ottermarl.example/?to=https://mill.example", "https://ottermarl.example/?to=https://mill.example"),
        ("www.käse-und-seife.example/laden", "https://www.käse-und-seife.example/laden"),
        ("", ""),
    ],
)
def test_a_website_is_kept_with_the_scheme_that_a_code_to_scan_needs(typed: str, kept: str) -> None:
    assert _with_website(typed).website == kept


@pytest.mark.parametrize(
    "typed",
    [
        *("http://[x", "0 mm", "me@shop.example", "ftp://shop.example", "javascript:alert(1)", "https://", "1.5"),
        *("shop", "a..b", "-a.example", "https://shop.example:999999", "shop.example/a b", f"{64 * 'a'}.example"),
    ],
)
def test_what_is_no_address_on_the_web_is_told(typed: str) -> None:
    """RFC 3986, section 3.2, and RFC 1123, section 2.1: a host's labels have 1 to 63 letters, digits and hyphens."""
    with pytest.raises(ValidationError, match="is no address on the web"):
        _with_website(typed)


@pytest.mark.parametrize("typed", ["18 month\u017f", "18 m\u00f6nths", "\u0661\u0668 months", "18 months\u0307"])
def test_letters_and_digits_that_only_look_like_those_of_a_time_are_told(typed: str) -> None:
    """A long s is matched as an s is where case does not matter (Unicode, CaseFolding.txt)."""
    with pytest.raises(ValidationError):
        TypeAdapter(Months).validate_python(typed)


@pytest.mark.parametrize("typed", ["0:5", "4:0", "\u0660:\u0665", "\uff10:\uff15"])
def test_a_ratio_of_nothing_is_none_in_any_digits(typed: str) -> None:
    with pytest.raises(ValidationError):
        TypeAdapter(RatioField).validate_python(typed)


@pytest.mark.parametrize(
    ("key", "entry", "most"),
    [
        ("making", {"form": "bar"}, 500),
        ("allergen", {"name": "Nerol"}, 500),
        ("season", {"name": "winter", "on_sale": "2026-11-01", "off_sale": "2026-12-24"}, 500),
    ],
)
def test_lists_that_all_items_and_sets_are_held_against_have_an_end(
    key: str, entry: dict[str, object], most: int
) -> None:
    stated = {"name": "Small Shop", "currency": "GBP", "country": "GB"}
    Settings.model_validate({**stated, key: [entry] * most}, context=GBP)
    with pytest.raises(ValidationError, match=f"it has {most + 1} entries"):
        Settings.model_validate({**stated, key: [entry] * (most + 1)}, context=GBP)
