"""`listkit order --out`: where the papers of an order may go, and that nothing is on record where they may not."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from listkit.cli import main
from tests.disks import files_of
from tests.shops import demo_without_pictures

Plant = Callable[[Path], None]
DAY = "2027-01-20"


@pytest.fixture(scope="module")
def whole(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo shop without its photos, built, and its sheet on record."""
    folder = tmp_path_factory.mktemp("order-out") / "shop"
    demo_without_pictures(folder)
    assert main(["build", "--shop", str(folder), "--today", DAY]) == 0
    assert main(["record", "wholesale", "--shop", str(folder), "--today", DAY]) == 0
    return folder


@pytest.fixture
def shop(whole: Path, tmp_path: Path) -> Path:
    shutil.copytree(whole, tmp_path / "shop", symlinks=True)
    (tmp_path / "order.csv").write_text(
        "Shop,The Thistle Drawer\nYour order number,TD-118\ncode,quantity\nOH-B01,36\n", encoding="utf-8"
    )
    return tmp_path / "shop"


def ordered(shop: Path, out: Path, *more: str) -> int:
    words = ["order", str(shop.parent / "order.csv"), "--shop", str(shop), "--today", DAY, "--out", str(out)]
    return main([*words, "--anyway", *more])


def _no_plant(_place: Path) -> None:
    """Nothing lies there beforehand."""


def _page(place: Path) -> None:
    (place / "page").mkdir()
    (place / "page/index.html").write_text("mine", encoding="utf-8")


def _page_with_manifest(place: Path) -> None:
    _page(place)
    (place / "page/manifest.json").write_text('{"name": "A page", "icons": []}', encoding="utf-8")


def _app_alone(place: Path) -> None:
    (place / "page").mkdir()
    (place / "page/manifest.json").write_text('{"name": "A page", "icons": []}', encoding="utf-8")


def _link(place: Path) -> None:
    _page(place)
    (place / "link").symlink_to("page")


def _link_to_nowhere(place: Path) -> None:
    (place / "link").symlink_to("nowhere")


def _link_within(name: str) -> Plant:
    def plant(place: Path) -> None:
        _page(place)
        (place / "out" / name).parent.mkdir(parents=True)
        (place / "out" / name).symlink_to(place / "page", target_is_directory=True)

    return plant


def _file_within(name: str) -> Plant:
    def plant(place: Path) -> None:
        (place / "out" / name).parent.mkdir(parents=True)
        (place / "out" / name).write_text("mine", encoding="utf-8")

    return plant


@pytest.mark.parametrize(
    ("out", "plant"),
    [
        ("shop", _no_plant), ("shop/", _no_plant), (".", _no_plant), ("shop/sets", _no_plant),
        ("shop/sets/dawn", _no_plant), ("shop/channels/new", _no_plant), ("shop/ledger.sqlite3", _no_plant),
        ("shop/.listkit", _no_plant), ("shop/out/../sets", _no_plant), ("page", _page), ("page", _page_with_manifest),
        ("page", _app_alone), ("link", _link), ("link", _link_to_nowhere), ("order.csv", _no_plant),
        ("out", _link_within("wholesale")), ("out", _link_within("wholesale/orders")),
        ("out", _file_within("wholesale")), ("out", _file_within("wholesale/orders")), ("x" * 300, _no_plant),
    ],
)  # fmt: skip
def test_an_order_goes_to_no_folder_that_is_not_for_outputs_and_is_then_not_on_record(
    shop: Path, tmp_path: Path, out: str, plant: Plant, capsys: pytest.CaptureFixture[str]
) -> None:
    plant(tmp_path)
    before = files_of(tmp_path)
    capsys.readouterr()
    assert ordered(shop, tmp_path / out) == 1
    said = capsys.readouterr().err
    assert "Name " in said or "Take the link away" in said or "with --out" in said, said
    assert "Traceback" not in said
    assert files_of(tmp_path) == before
    assert main(["orders", "--shop", str(shop), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["orders"] == []


def test_a_paper_of_the_owners_under_an_orders_name_stays(
    shop: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert ordered(shop, tmp_path / "out") == 0
    paper = next((tmp_path / "out/wholesale/orders").glob("*-pick-list.pdf"))
    paper.write_text("mine", encoding="utf-8")
    before = files_of(tmp_path)
    capsys.readouterr()
    assert ordered(shop, tmp_path / "out") == 1
    assert paper.name in capsys.readouterr().err
    after = files_of(tmp_path)
    assert {path for path in {*before, *after} if before.get(path) != after.get(path)} <= {"out/.asked.json"}


def test_an_order_on_record_gives_its_papers_again_in_another_folder(shop: Path, tmp_path: Path) -> None:
    for out in ("first", "second"):
        assert ordered(shop, tmp_path / out) == 0
    papers = [sorted(path.name for path in (tmp_path / out).rglob("*.pdf")) for out in ("first", "second")]
    assert papers[0] == papers[1]
    assert len(papers[0]) == 2
