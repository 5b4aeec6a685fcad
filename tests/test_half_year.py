"""Half a year of the demo shop, played through with a seed: every number at the end is that of the play's own books.

The play keeps its books by itself: it reads the sheet with `csv` and the sets with `tomllib`, and counts pieces in a
dictionary. listkit is told of everything as an owner would tell it: exports of two places, tallies of two markets on
the sheets it printed, what was made, a jar that burst, orders of three shops, a count that differs, a slip taken back.
"""

import csv
import datetime
import json
import random
import shutil
import tomllib
from collections import Counter
from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import pytest

from listkit.actions.stock_orders import OrderedGoods, move_order
from listkit.cli import main
from listkit.pipeline import list_shop
from tests.shops import DEMO, without_allotment

START: Final = datetime.date(2026, 11, 1)
BOXES: Final = 300
HOLD_BACK: Final = 2
IN_SEASON: Final = ("OHS-1", "OHS-6", "OHS-7")  # on 20 April


class Books:
    """The play's own books: pieces on hand, what is reserved, and what moved by kind."""

    def __init__(self, shop: Path) -> None:
        with (shop / "items.csv").open(encoding="utf-8", newline="") as file:
            self.have = {row["code"]: int(row["on hand"]) for row in csv.DictReader(file)}
        self.have |= {f"box {code}": BOXES for code in "PSML"}
        self.reserved: Counter[str] = Counter()
        self.moved: dict[str, Counter[str]] = {code: Counter() for code in self.have}
        self.sets = dict(_variants(shop))
        self.went: Counter[tuple[str, str]] = Counter()  # of sets, by place

    def parts(self, code: str) -> dict[str, int]:
        """What one of a code takes: a variant's pieces and box, or a piece alone."""
        return self.sets.get(code, {code: 1})

    def free(self, code: str) -> int:
        """How many of a code could still go."""
        return min((self.have[piece] - self.reserved[piece]) // each for piece, each in self.parts(code).items())

    def move(self, kind: str, code: str, number: int, place: str = "") -> None:
        """Write down that so many of a code were sold, made, broken ..."""
        if place and code in self.sets:
            self.went[code, place] += number
        sign = {"made": 1, "came back": 1, "ordered": 0}.get(kind, -1)
        for piece, each in self.parts(code).items():
            self.have[piece] += sign * each * number
            self.moved[piece][kind] += each * number
            self.reserved[piece] += {"ordered": 1, "sent": -1}.get(kind, 0) * each * number


def _variants(shop: Path) -> Iterator[tuple[str, dict[str, int]]]:
    for path in sorted(shop.glob("sets/*/set.toml")):
        gift = tomllib.loads(path.read_text(encoding="utf-8"))
        if gift["box"] not in ("P", "S", "M", "L", "none"):
            continue  # whose box the play would have to work out: of the draft alone
        chosen: list[tuple[str, Counter[str]]] = [(gift["code"], Counter())]
        for entry in gift["contents"]:
            options = entry.get("choose") or [entry["item"]]
            plain = [option if isinstance(option, str) else option["item"] for option in options]
            parts = ["" if "item" in entry else f"-{code.rpartition('-')[2]}" for code in plain]
            stated = [option.get("part", "") if not isinstance(option, str) else "" for option in options]
            parts = [f"-{part}" if part else usual for part, usual in zip(stated, parts, strict=True)]
            number = entry.get("quantity", 1)
            chosen = [
                (code + part, pieces + Counter({item: number}))
                for code, pieces in chosen
                for item, part in zip(plain, parts, strict=True)
            ]
        apart = [set(codes) for codes in gift.get("not_together", [])]
        for code, pieces in chosen:
            if any(len(codes & pieces.keys()) > 1 for codes in apart):
                continue
            yield code, dict(pieces) | ({f"box {gift['box']}": 1} if gift["box"] != "none" else {})


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    """The demo shop without its photos, with boxes that are counted."""
    folder = tmp_path / "shop"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("out", "photos"))
    for file in folder.glob("sets/*/set.toml"):
        whole = file.read_text(encoding="utf-8")
        file.write_text(whole.partition("[[photos]]")[0], encoding="utf-8")
    with (folder / "shop.toml").open("a", encoding="utf-8") as settings:
        settings.write('\n[checks]\nshot-missing = "off"\n')
    packaging = (folder / "packaging.toml").read_text(encoding="utf-8")
    for code in "PSML":
        packaging = packaging.replace(f'code = "{code}"\n', f'code = "{code}"\non_hand = {BOXES}\n')
    (folder / "packaging.toml").write_text(packaging, encoding="utf-8")
    return folder


class Play:
    """The half-year: what happens, written into the books and told to listkit."""

    def __init__(self, shop: Path, seed: int) -> None:
        self.shop, self.chance, self.books = shop, random.Random(seed), Books(shop)
        self.files = 0

    def stock(self, *words: str, today: datetime.date) -> None:
        assert main(["stock", *words, "--shop", str(self.shop), "--today", f"{today}"]) == 0

    def add(self, rows: list[list[object]], *words: str, today: datetime.date) -> None:
        self.files += 1
        path = self.shop.parent / f"{self.files}.csv"
        with path.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(rows)
        self.stock("add", str(path), *words, today=today)

    def sales(self, place: str, month: int, headings: list[object]) -> None:
        """A month of a place, week by week, as its export has it; now and then something comes back."""
        rows = [headings]
        for week in range(4):
            day = START + datetime.timedelta(28 * month + 7 * week + self.chance.randrange(7))
            for code in self.chance.sample(sorted([*self.books.sets, "OH-B01", "OH-L01", "OH-T01", "OH-X01"]), 4):
                number = min(self.chance.randrange(1, 4), self.books.free(code))
                if number > 0:
                    self.books.move("sold", code, number, place)
                    rows.append([f"{day:%d/%m/%Y}", f"order {len(rows)}", "Somebody", code, number])
            if week == 2 and place == "web_shop":
                self.books.move("came back", "OH-L01", 1)
                rows.append([f"{day:%d/%m/%Y}", f"order {len(rows)}", "Somebody", "OH-L01", -1])
        self.add(rows, "--place", place, today=START + datetime.timedelta(28 * (month + 1)))

    def made(self, month: int) -> None:
        rows: list[list[object]] = [["code", "made"]]
        for code in self.chance.sample(sorted(code for code in self.books.have if code.startswith("OH-")), 6):
            number = self.chance.randrange(5, 25)
            self.books.move("made", code, number)
            rows.append([code, number])
        day = START + datetime.timedelta(28 * month + 3)
        self.add(rows, "--day", f"{day}", today=day)

    def market(self, day: datetime.date) -> None:
        """A market: the page printed, its sheet filled in as the day went, and added in the evening."""
        words = ("print", "market", "--place", "stall", "--day", f"{day}", "--shop", str(self.shop))
        assert main(list(words)) == 0
        sheet = self.shop / f"out/print/asked/market-stall-{day}.csv"
        with sheet.open(encoding="utf-8-sig", newline="") as file:
            headings, *rows = csv.reader(file)
        for row in rows:
            code, along = row[2], int(row[5])
            sold = self.chance.randrange(along + 1)
            self.books.move("sold", code, sold, "stall")
            row[6], row[7] = f"{sold}", f"{along - sold}"
        self.add([list(row) for row in (headings, *rows)], today=day)

    def order(self, name: str, lines: dict[str, int], steps: list[tuple[str, int]]) -> None:
        goods = OrderedGoods(name, tuple(lines.items()))
        for step, days in steps:
            move_order(self.shop, goods, step, START + datetime.timedelta(days))  # type: ignore[arg-type]
            for code, number in lines.items():
                if step == "cancelled":
                    self.books.move("ordered", code, -number)
                else:
                    self.books.move(step, code, number, "wholesale" if step == "sent" else "")

    def half_year(self) -> None:
        self.stock("start", "--day", f"{START - datetime.timedelta(1)}", today=START)
        web: list[object] = ["Paid on", "Order", "Buyer", "Item number", "Pieces"]
        fair: list[object] = ["Date", "Order", "Buyer", "SKU", "Qty"]
        for month in range(6):
            self.made(month)
            self.sales("web_shop", month, web)
            self.sales("hedgerow_fair", month, fair)
            if month in (1, 2):
                saturdays = (START + datetime.timedelta(28 * month + days) for days in range(7))
                self.market(next(day for day in saturdays if day.weekday() == 5))
            if month == 2:
                self.order("order 1", {"OHS-1-U01": 2, "OH-B01": 6}, [("ordered", 60), ("sent", 75)])
                self.order("order 2", {"OH-B02": 12}, [("ordered", 62), ("cancelled", 70)])
                self.order("order 3", {"OHS-2-S01": 1, "OH-L01": 6}, [("ordered", 64)])
        last = START + datetime.timedelta(168)
        self.add([["code", "broken", "note"], ["OH-S01", 1, "burst on the shelf"]], today=last)
        self.books.move("broken", "OH-S01", 1)
        self.add([["code", "sold"], ["OH-D01", 9]], today=last)
        self.stock("undo", today=last)
        self.add([["code", "made"], ["OH-T01", 5]], today=last)
        self.books.move("made", "OH-T01", 5)
        counted = self.books.have["OH-T01"] - 2
        self.add([["code", "counted"], ["OH-T01", counted]], "--day", f"{last}", today=last)
        self.books.have["OH-T01"] = counted
        self.add([["code", "given"], ["OH-T01", 1]], today=last + datetime.timedelta(1))
        self.books.move("given", "OH-T01", 1)


def as_json(shop: Path, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    capsys.readouterr()
    assert main(["stock", "--shop", str(shop), "--json"]) == 0
    answer: dict[str, Any] = json.loads(capsys.readouterr().out)
    return answer


@pytest.mark.parametrize("seed", [1])
def test_every_number_at_the_end_is_that_of_the_play(shop: Path, seed: int, capsys: pytest.CaptureFixture[str]) -> None:
    play = Play(shop, seed)
    play.half_year()
    books, answer = play.books, as_json(shop, capsys)
    figures = {figure["code"]: figure for figure in answer["stock"]}
    assert {code: figure["on_hand"] for code, figure in figures.items()} == books.have
    assert {code: figure["reserved"] for code, figure in figures.items()} == {
        code: books.reserved[code] for code in books.have
    }
    assert {code: figure["moved"] for code, figure in figures.items()} == {
        code: {kind: number for kind, number in moved.items() if number} for code, moved in books.moved.items()
    }
    assert answer["counts"] == [
        {"code": "OH-T01", "day": f"{START + datetime.timedelta(168)}", "book": books.have["OH-T01"] + 3,
         "counted": books.have["OH-T01"] + 1}
    ]  # fmt: skip
    assert all(batch["whole"] for batch in answer["batches"])
    makes = {
        variant.code: variant.can_make
        for facts in list_shop(shop, START + datetime.timedelta(170)).catalog.sets
        for variant in facts.variants
    }
    assert makes == {code: max(0, books.free(code)) for code in books.sets}
    listed = list_shop(shop, START + datetime.timedelta(170))
    offers = (offer for listing in listed.listings_of("web_shop") for offer in listing.offers)
    shown = {offer.variant.code: offer.stock for offer in offers if offer.variant.code.startswith(IN_SEASON)}
    assert {code[:5] for code in shown} == set(IN_SEASON)
    assert shown == {code: max(0, books.free(code) - HOLD_BACK) for code in shown}
    assert_the_season_is_that_of_the_play(play, capsys)


FEES: Final = {  # of the demo's places, as their files state them: a share of the price, and a fixed fee
    "stall": (Decimal("0.012"), Decimal(0)),
    "web_shop": (Decimal("0.023"), Decimal("0.15")),
    "hedgerow_fair": (Decimal("0.11"), Decimal("0.25")),
}


class WinterBooks:
    """The play's own sums of its winter set: what went by variant and place, what it brought and left, what is left."""

    def __init__(self, play: Play) -> None:
        self.books = play.books
        with (play.shop / "items.csv").open(encoding="utf-8", newline="") as file:
            sheet = {row["code"]: row for row in csv.DictReader(file)}
        shop = tomllib.loads((play.shop / "shop.toml").read_text(encoding="utf-8"))
        packaging = tomllib.loads((play.shop / "packaging.toml").read_text(encoding="utf-8"))
        boxes, wage = {f"box {box['code']}": box for box in packaging["box"]}, Decimal(shop["prices"]["wage"])
        self.costs = {code: Decimal(row["cost"]) for code, row in sheet.items()}
        self.costs |= {code: Decimal(box["cost"]) for code, box in boxes.items()}
        self.rows: list[tuple[str, str, int, Decimal, Decimal]] = []  # variant, place, went, takings, kept
        for (code, place), number in self.books.went.items():
            if not code.startswith("OHS-5-") or not number:
                continue
            pieces = self.books.sets[code]
            box = boxes[next(piece for piece in pieces if piece.startswith("box "))]
            items = [(sheet[piece], each) for piece, each in pieces.items() if piece in sheet]
            price = sum((Decimal(row["retail"]) * each for row, each in items), Decimal(shop["prices"]["uplift"]))
            cost = sum((Decimal(row["cost"]) * each for row, each in items), Decimal(packaging["card"]["cost"]))
            cost += Decimal(box["cost"]) + Decimal(box["fill"]["cost"]) + box["minutes"] * wage / 60
            share, fixed = FEES[place]
            left = price - pence(price * share + fixed) - pence(cost)
            self.rows.append((code, place, number, number * price, number * left))
        self.pieces = {
            piece for code, pieces in self.books.sets.items() if code.startswith("OHS-5-") for piece in pieces
        }
        self.left = {code: self.books.free(code) for code in self.pieces if self.books.free(code) > 0}

    def of_place(self, place: str) -> tuple[int, Decimal, Decimal]:
        """Return how many went at a place, what they brought and what they left."""
        return self.sums([row for row in self.rows if row[1] == place])

    @staticmethod
    def sums(rows: list[tuple[str, str, int, Decimal, Decimal]]) -> tuple[int, Decimal, Decimal]:
        """Return the sums of some rows."""
        zero = Decimal(0)
        return sum(row[2] for row in rows), sum((row[3] for row in rows), zero), sum((row[4] for row in rows), zero)

    def scarce(self) -> str | None:
        """Return that of which least is there against what went, None where more than a tenth is of each."""
        shares = {}
        for code in self.pieces:
            moved = self.books.moved[code]
            if gone := sum(moved[kind] for kind in ("sold", "sent", "broken", "given")) - moved["came back"]:
                shares[code] = Fraction(max(0, self.books.free(code)), gone)
        code = min(shares, key=lambda code: (shares[code], code))
        return code if shares[code] < Fraction(1, 10) else None


def assert_the_season_is_that_of_the_play(play: Play, capsys: pytest.CaptureFixture[str]) -> None:
    """The winter looked back on: every number of it by the play's own sums."""
    capsys.readouterr()
    day = START + datetime.timedelta(170)
    assert main(["season", "winter", "--shop", str(play.shop), "--today", f"{day}", "--json"]) == 0
    answer, books = json.loads(capsys.readouterr().out), WinterBooks(play)
    [winter] = answer["sets"]
    assert winter["code"] == "OHS-5"
    assert books.rows
    places = {
        each["place"]: (each["went"], Decimal(each["takings"]), Decimal(each["kept"])) for each in winter["places"]
    }
    assert places == {place: books.of_place(place) for place in {row[1] for row in books.rows}}
    went, takings, kept = books.sums(books.rows)
    assert (winter["went"], Decimal(winter["takings"]), Decimal(winter["kept"])) == (went, takings, kept)
    assert Decimal(winter["minutes"]) == 6 * went  # box L
    assert Decimal(winter["kept_per_hour"]) == pence(kept * 60 / (6 * went))
    [year] = answer["years"]
    assert {**year, "from": "", "until": ""} == {
        "from": "", "until": "", "sets": went, "takings": winter["takings"], "kept": winter["kept"],
        "minutes": winter["minutes"], "kept_per_hour": winter["kept_per_hour"],
    }  # fmt: skip
    scarce = books.scarce()
    rows = [row for row in books.rows if scarce in books.books.sets[row[0]]]
    pieces = sum(row[2] * books.books.sets[row[0]][scarce or ""] for row in rows)
    assert (answer["scarce"], winter["scarce_pieces"]) == (scarce, pieces)
    assert winter["kept_per_scarce"] == (str(pence(books.sums(rows)[2] / pieces)) if pieces else None)
    left = {each["code"]: each for each in answer["left"] if each["code"] in play.books.have}
    assert {code: each["left"] for code, each in left.items()} == books.left
    for code, each in left.items():
        cost = books.costs[code]
        assert (Decimal(each["cost"]), Decimal(each["worth"])) == (cost, cost * books.left[code])


def pence(amount: Decimal) -> Decimal:
    return amount.quantize(Decimal("0.01"), ROUND_HALF_UP)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(2, 12))
def test_every_number_is_that_of_the_play_in_other_half_years(
    shop: Path, seed: int, capsys: pytest.CaptureFixture[str]
) -> None:
    test_every_number_at_the_end_is_that_of_the_play(shop, seed, capsys)


# The same half-year with places that do not know of each other until she adds what they sold.

PLACES: Final = ("hedgerow_fair", "stall", "web_shop")


class Blind(Play):
    """Each place sells from what it was shown at the beginning, whatever the others sell meanwhile.

    `refused` counts what was sold and was not there any more, `sold` what was.
    """

    def __init__(self, shop: Path, seed: int, *, allots: bool) -> None:
        super().__init__(shop, seed)
        self.allots, self.sold, self.refused = allots, 0, 0
        if not allots:
            without_allotment(shop)

    def half_year(self, rounds: int = 6) -> None:
        self.stock("start", "--day", f"{START - datetime.timedelta(1)}", today=START)
        for number in range(rounds):
            day = START + datetime.timedelta(168 * number // rounds)
            if number % (rounds // 6) == 0:
                self.made(number * 6 // rounds)
            if self.allots:
                assert main(["allot", "--shop", str(self.shop), "--today", f"{day}"]) == 0
            if self.books.free("OH-B01") > 4:
                self.order(f"order {number}", {"OH-B01": 2}, [("ordered", 168 * number // rounds)])
            listed = list_shop(self.shop, day)
            shown = {
                key: {offer.variant.code: offer.stock or 0 for each in listed.listings_of(key) for offer in each.offers}
                for key in PLACES
            }
            for key in PLACES:
                self.place(key, shown[key], day + datetime.timedelta(3))

    def place(self, key: str, shown: dict[str, int], day: datetime.date) -> None:
        """What a place sells until she looks again: of half of what it shows up to all there is."""
        rows: list[list[object]] = [["day", "code", "sold"]]
        for code, number in sorted(shown.items()):
            asked = self.chance.randrange(number + 1) if number and self.chance.random() < 0.5 else 0
            there = max(0, min(asked, self.books.free(code)))
            self.refused += asked - there
            self.sold += there
            if there:
                self.books.move("sold", code, there)
                rows.append([f"{day}", code, there])
        if len(rows) > 1:
            self.add(rows, "--place", key, today=day)


def test_places_that_do_not_know_of_each_other_promise_nothing_twice_where_pieces_are_allotted(shop: Path) -> None:
    """Six months, looked at once a month: without allotment 76 were sold that were not there."""
    with_file = shop.parent / "allotted"
    shutil.copytree(shop, with_file)
    plain, allotted = Blind(shop, 1, allots=False), Blind(with_file, 1, allots=True)
    plain.half_year()
    allotted.half_year()
    assert plain.refused == 76
    assert allotted.refused == 0
    assert allotted.sold > plain.sold / 2  # and not because it shows nothing


@pytest.mark.long
@pytest.mark.parametrize("seed", range(2, 5))
def test_week_by_week_nothing_is_promised_twice_either(shop: Path, seed: int) -> None:
    with_file = shop.parent / "allotted"
    shutil.copytree(shop, with_file)
    plain, allotted = Blind(shop, seed, allots=False), Blind(with_file, seed, allots=True)
    plain.half_year(24)
    allotted.half_year(24)
    assert plain.refused > 0
    assert allotted.refused == 0
