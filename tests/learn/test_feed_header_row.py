"""Which row of a sample names its columns."""

import pytest

from listkit.learn.header import header_row
from listkit.problem import FieldError
from tests.learn.feed_samples import SAMPLES, FeedSample


@pytest.mark.parametrize("sample", SAMPLES, ids=lambda sample: sample.name)
def test_a_header_is_found_at_the_top_and_below_a_title(sample: FeedSample) -> None:
    assert header_row(sample.rows) == 0
    title = ("Sample for new sellers", *[""] * (len(sample.rows[0]) - 1))
    assert header_row((title, *sample.rows)) == 1


@pytest.mark.parametrize("sample", [one for one in SAMPLES if len(one.rows) > 1], ids=lambda sample: sample.name)
def test_rows_without_a_header_are_told(sample: FeedSample) -> None:
    with pytest.raises(FieldError, match="no row names the columns"):
        header_row(sample.rows[1:])


def test_a_header_of_unknown_words_is_known_by_what_stands_below() -> None:
    assert header_row([("Artikelkood", "Hind", "Kirjeldus"), ("12-A", "7.50", "Mesi")]) == 0
    assert header_row([("Artikelkood", "Hind", "Kirjeldus")]) == 0


@pytest.mark.parametrize(
    "rows", [[("12-A", "7.50", "https://a.example/b.jpg")], [("oat",)], [("oat", "fig"), ("lime", "mint")]]
)
def test_cells_that_could_be_anything_are_no_header(rows: list[tuple[str, ...]]) -> None:
    with pytest.raises(FieldError) as fault:
        header_row(rows)
    assert "[[column]]s by hand" in fault.value.hint
