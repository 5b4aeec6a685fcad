"""Pages of an order are written whole or not at all, and nowhere else."""

from pathlib import Path

import pytest

from listkit.actions.orders import logo_of, write_pages
from listkit.problem import FieldError
from listkit.write.print import Layout

GOOD = '#set document(title: "A page")\n#set text(lang: "en")\n= A page'


def layout(text: str) -> Layout:
    return Layout((("print/page.typ", text),), "{}")


def test_pages_lie_in_the_folder_of_orders(tmp_path: Path) -> None:
    made = write_pages(tmp_path / "out", tmp_path, [("a.pdf", layout(GOOD)), ("b.pdf", layout(GOOD))], ())
    assert made == ["wholesale/orders/a.pdf", "wholesale/orders/b.pdf"]
    assert all((tmp_path / "out" / path).read_bytes().startswith(b"%PDF") for path in made)


def test_where_one_page_fails_none_is_put_there_and_nothing_is_left_lying(tmp_path: Path) -> None:
    write_pages(tmp_path / "out", tmp_path, [("a.pdf", layout(GOOD))], ())
    before = (tmp_path / "out/wholesale/orders/a.pdf").read_bytes()
    with pytest.raises(FieldError, match="unknown variable"):
        write_pages(tmp_path / "out", tmp_path, [("a.pdf", layout(GOOD + " new")), ("b.pdf", layout("#nobody"))], ())
    assert [path.name for path in (tmp_path / "out/wholesale/orders").iterdir()] == ["a.pdf"]
    assert (tmp_path / "out/wholesale/orders/a.pdf").read_bytes() == before


def test_a_link_that_leads_out_is_not_followed(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out/wholesale").symlink_to(tmp_path)
    with pytest.raises(FieldError):
        write_pages(tmp_path / "out", tmp_path, [("a.pdf", layout(GOOD))], ())
    assert not (tmp_path / "orders").exists()


def test_there_is_a_logo_only_where_a_build_made_one(tmp_path: Path) -> None:
    assert logo_of(tmp_path) == ()
    (tmp_path / "wholesale/pictures").mkdir(parents=True)
    (tmp_path / "wholesale/pictures/logo.png").write_bytes(b"a picture")
    assert [name for name, _ in logo_of(tmp_path)] == ["logo.png"]
