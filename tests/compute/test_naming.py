"""What an item is called.

Our own wording: no source.
"""

import pytest

from listkit.compute.variants import full_name


@pytest.mark.parametrize(
    ("name", "form", "called"),
    [
        ("Rosemary & Rind", "bar soap", "Rosemary & Rind bar soap"),
        ("Lip balm Beeswax", "lip balm", "Lip balm Beeswax"),
        ("Beeswax Lip Balm", "lip balm", "Beeswax Lip Balm"),
        ("Sea Salt", "salt scrub", "Sea Salt scrub"),
        ("Oat bar", "bar soap", "Oat bar soap"),
        ("Baume à lèvres Menthe", "baume à lèvres", "Baume à lèvres Menthe"),
        ("Crème", "creme", "Crème"),
        ("Soapwort", "soap", "Soapwort soap"),
        ("Balm of Gilead", "lip balm", "Balm of Gilead lip balm"),
        ("Mini Clover", "mini butter", "Mini Clover butter"),
        ("Mini Tomato Leaf", "mini sugar scrub", "Mini Tomato Leaf sugar scrub"),
        ("Bar of Oats", "bar soap", "Bar of Oats soap"),
        ("Boar Bristle Brush", "nail brush", "Boar Bristle Brush"),
        ("Lavender soap", "bar soap", "Lavender soap"),
        ("Plain", "", "Plain"),
    ],
)
def test_no_word_of_name_and_form_is_said_twice(name: str, form: str, called: str) -> None:
    assert full_name(name, form) == called
