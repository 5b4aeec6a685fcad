"""A size of labels that holds no text is told as soon as it is chosen, with the sets and a size that would do."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from listkit.desk.page import Desk
from listkit.listing.label_fit import tight_of
from listkit.model.labels import Labels
from tests.desk.desks import form, opened, text
from tests.shops import clean_shop

SHEET = {"kind": "labels", "sheet": "A4", "columns": "2", "rows": "4", "left": "10", "right": "100", "top": "10",
         "bottom": "60", "next_left": "105", "next_top": "65"}  # fmt: skip
TOLD = re.compile(r"A label of (.+?) cannot hold the text of (.+?) in the smallest type allowed\. "
                  r"One of (\d+) × (\d+) mm would hold all of them\.")  # fmt: skip


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[tuple[TestClient, Desk]]:
    with opened(clean_shop(tmp_path / "shop")) as (client, desk):
        yield client, desk


def shown_in(page: str) -> dict[str, str]:
    return dict(re.findall(r'name="(shown/[^"]*)" value="([^"]*)"', page))


def test_a_sheet_that_is_measured_says_at_once_which_sets_do_not_fit_and_what_size_would(
    desk: tuple[TestClient, Desk],
) -> None:
    client, of = desk
    page = client.get("/print/measure?kind=labels").text
    kept = client.post("/print/measure", data={**form(of), **shown_in(page), **SHEET})
    told = TOLD.search(text(kept.text))
    assert told, text(kept.text)[:900]
    assert told.group(1, 2) == ("90 × 50 mm", "Dawn on the Weir")
    catalog = of.shop_state.look().catalog
    larger = Labels.model_validate({"size": f"{told[3]} x {told[4]} mm"})
    assert tight_of(catalog, larger) is None, "the size that is named does hold all"
    printed = client.get("/print?kind=labels").text
    assert TOLD.search(text(printed.partition("</main>")[0])), (
        "and it is said where labels are printed, in the same words"
    )
    client.headers["accept-language"] = "fr"
    assert "Une étiquette de 90 × 50 mm ne peut contenir le texte de Dawn on the Weir" in text(
        client.get("/print?kind=labels").text
    )


def test_a_size_that_is_typed_into_your_shop_is_judged_as_it_is_saved(desk: tuple[TestClient, Desk]) -> None:
    client, of = desk
    client.post("/shop", data={**form(of), **shown_in(client.get("/shop").text), "do": "begin labels"})
    page = client.get("/shop").text
    saved = client.post("/shop", data={**form(of), **shown_in(page), "labels/size": "60 x 40 mm", "at": "labels"})
    assert TOLD.search(text(saved.text)), text(saved.text)[:600]
    page = client.get("/shop").text
    saved = client.post("/shop", data={**form(of), **shown_in(page), "labels/size": "200 x 280 mm", "at": "labels"})
    assert "cannot hold the text" not in text(saved.text)
