"""The first day with an own sheet: it carries its units, has no codes, and is then counted and sold from."""

from pathlib import Path

from listkit.read.shop import read_shop
from tests.desk.desks import form, opened, text

HEAD = "Code,Product,Price,What it costs me,Weighs,How big\n"


def test_sizes_that_carry_their_unit_are_taken_as_the_page_chose_and_others_are_asked_for_it(tmp_path: Path) -> None:
    columns = ("code", "name", "retail", "cost", "weight", "size")
    chosen = {f"column-{at}": says for at, says in enumerate(columns)}
    bare = f"{HEAD}A1,Oat soap,6.50,1.90,100g,80x55x25\nA2,Rye soap,6.50,1.90,110g,80x55x25\n"
    with opened(tmp_path / "new") as (client, desk):
        stated = form(desk, name="Bee", currency="GBP", country="GB", **chosen)
        client.post("/start/sheet", data=form(desk), files={"sheet": ("a.csv", bare.encode(), "text/csv")})
        asked = client.post("/start/columns", data=stated)
        assert asked.status_code == 422
        wanted = 'The numbers of "How big" have no unit. Choose "size (mm)", "size (cm)" or "size (in)"'
        assert wanted.casefold() in text(asked.text).casefold()
        sized = bare.replace("25\n", "25mm\n").encode()
        page = client.post("/start/sheet", data=form(desk), files={"sheet": ("a.csv", sized, "text/csv")})
        assert '<option value="size" selected>' in page.text
        assert client.post("/start/columns", data=stated).url.path == "/today"
    shop, _ = read_shop(tmp_path / "new")
    assert [item.size.length.mm for item in shop.items] == [80, 80]
