"""The ink of documents: the owner's accent where it is read on white paper, in colour and in grey."""

import pytest

from listkit.write.print import DARK, ink_of


@pytest.mark.parametrize(
    ("accent", "ink"),
    [("#767676", "#767676"), ("#777777", DARK), ("#000000", "#000000"), ("#ffffff", DARK), ("#ffe600", DARK)],
)
def test_an_accent_below_the_contrast_of_wcag_is_not_printed_with(accent: str, ink: str) -> None:
    """WCAG 2: #767676 on white has 4.542 to 1 and passes 4.5, #777777 has 4.478 and does not; yellow is no ink."""
    assert ink_of(accent) == ink
