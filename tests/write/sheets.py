"""Shops whose line sheets are hard to set: the longest name, no photo, forty lines of one set, a missing GTIN."""

from typing import Any

from listkit.compute.build import build_catalog
from listkit.listing.listings import Listings
from listkit.model.shop import Shop, Templates
from listkit.read.templates import own_templates
from listkit.units.identifiers import gtin_check_digit
from tests.small_shop import gift_set, item, settings, shop, wholesale

LONG = (
    "The Long Afternoon in the Walled Garden behind the Old Rectory, with Everything that Grows There and Something "
    "for the Bees"
)
TEMPLATES = Templates(own_templates())
SCENTS = ["Rosemary", "Lavender", "Gorse", "Quince", "Clover", "Linden", "Juniper", "Fennel"]
FORMS = ("bar soap", "body butter", "sugar scrub", "hand balm", "bath salts")


def gtin(number: int) -> str:
    """A number with the GS1 prefix for examples."""
    body = f"952{number:09}"
    return body + gtin_check_digit(body)


def hard_shop(dear: str = "123456.50", **says: Any) -> Shop:
    """Forty choices of one set, none pictured, one with a GTIN; a name without end; a `dear` bar without a GTIN."""
    jars = [
        item(f"J-{at:02}", name=f"{scent} & Rind", form=form, retail="9.00", shelf_life="18 months")
        for at, (form, scent) in enumerate((form, scent) for form in FORMS for scent in SCENTS)
    ]
    bars = [
        item("B-1", name=LONG, gtin=gtin(1), shelf_life="12 months"),
        item("B-2", name="Plain", retail=dear, cost="20000"),
    ]
    choose = {"slot": "Jar", "choose": [one.code for one in jars]}
    note = {"options": {"Jar": "J-00"}, "gtin": gtin(2)}
    forty = gift_set([{"item": "B-1"}, choose], name=LONG, theme=f"{LONG}, in one box.", variant=[note])
    terms = {"issued": "2027-01-15", "opening": "200", "tier": [{"from": 24, "wholesale": "47 %"}], **says}
    own = settings(language="en-GB", email="hello@small.example", name="Small Shop")
    made = wholesale("SET-1", "B-1", "B-2", **terms)
    return shop([*bars, *jars], [forty], settings=own, wholesale=made, templates=TEMPLATES)


def hard(**says: Any) -> Listings:
    """The same, computed."""
    return Listings(build_catalog(hard_shop(**says)), ())
