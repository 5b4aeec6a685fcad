"""Time grows in step with size: what a file holds ten times of costs no more than some ten times the steps.

Steps are calls where the work is in Python. Of patterns, whose work no call shows, the worst text that a wall lets
through gets a process of its own with a bounded share of the processor: before the walls it took up to minutes.
"""

import datetime
import os
from collections import defaultdict
from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from decimal import Decimal
from functools import partial
from itertools import islice, permutations
from pathlib import Path
from random import Random
from types import SimpleNamespace
from typing import Any, cast

import pytest

from listkit import bounds
from listkit.check import measures
from listkit.check.places import CheckContext
from listkit.check.prices import reduction_apart
from listkit.check.wholesale import season_window
from listkit.compute.allergens import Allergen, candidates, compared_name
from listkit.compute.build import _notes, build_catalog
from listkit.compute.cautions import is_for_the_skin
from listkit.compute.freight import Parcels, postage, weight_facts
from listkit.compute.ingredients import composition, folded_ingredient, out_of_order
from listkit.compute.materials import split_ingredients
from listkit.compute.reductions import rulings_of
from listkit.compute.variants import _together, combinations_of
from listkit.listing.listings import Listings
from listkit.listing.offers import taken
from listkit.listing.papers import papers_of
from listkit.listing.template_rules import one_brace
from listkit.model.item import IngredientRow
from listkit.model.packaging import Carton, Rate
from listkit.model.reduction import Reduction, ShopReduction
from listkit.model.settings import Freight, Packet, Settings
from listkit.model.shop import SetFolder
from listkit.pipeline import check_shop
from listkit.problem import FieldError
from listkit.read.as_mended import text_as_mended
from listkit.read.headings import fold, our_field, without_unit
from listkit.read.references import _unknown_channels
from listkit.read.wording import TOO_MANY, perhaps
from listkit.units.amount import Amount
from listkit.units.length import Length, Size
from listkit.units.money import Money
from listkit.units.net import NetContent
from listkit.units.quantity import parse_share
from listkit.units.weight import Weight
from tests.shops import clean_shop
from tests.small_shop import channel, gift_set, item
from tests.small_shop import shop as shop_of
from tests.steps import calls, python_calls
from tests.test_every_file_in_step import turns

resource = pytest.importorskip("resource", reason="this system has no bounds for processes")
DAY = datetime.date(2026, 11, 30)
FEW, MANY = 150, 600
_RATES = "service,zone,over (g),up to (g),price,packet"
MOST_GROWTH = 6.0  # for four times the size; what is quadratic grows sixteenfold


def grown(tmp_path: Path, change: Callable[[Path, int], None]) -> float:
    """Return how many times the steps of a check grow when a change is four times as large."""
    check_shop(clean_shop(tmp_path / "first"), DAY)  # fills what is made once
    steps = []
    for size in (FEW, MANY):
        shop = clean_shop(tmp_path / str(size))
        base = calls(partial(check_shop, shop, DAY))
        change(shop, size)
        steps.append(calls(partial(check_shop, shop, DAY)) - base)
    return steps[1] / steps[0]


def rows(shop: Path, size: int, cells: Callable[[int], str]) -> None:
    sheet = shop / "items.csv"
    text = sheet.read_text(encoding="utf-8")
    sheet.write_text(text + "\n".join(map(cells, range(size))) + "\n", encoding="utf-8")


@pytest.mark.parametrize(
    "cells",
    [
        lambda at: f"Q{at},n",
        lambda at: f"Q{at},n,soap,oat,1 blub,,p,q,w,1 x x",
        lambda at: f"{at}" + "," * 400,
    ],
    ids=["short rows", "wrong rows", "long rows"],
)
def test_rows_with_faults_cost_in_step_with_their_number(tmp_path: Path, cells: Callable[[int], str]) -> None:
    assert grown(tmp_path, lambda shop, size: rows(shop, size, cells)) < MOST_GROWTH


def test_codes_that_name_nothing_cost_in_step_with_their_number(tmp_path: Path) -> None:
    """Ever more wrong codes beside ever more right ones: compared with each other they would be a square."""

    def change(shop: Path, size: int) -> None:
        rows(
            shop,
            size,
            lambda at: f"Right-{at},Thing {at},bar soap,100 g,6.50,1.40,104,80 x 55 x 25,40,external-use,,no",
        )
        sets = sorted((shop / "sets").iterdir())
        file = sets[0] / "set.toml"
        wrong = "".join(f'\n[[contents]]\nitem = "Wrong-{at}"\n' for at in range(size))
        file.write_text(file.read_text(encoding="utf-8") + wrong, encoding="utf-8")

    assert grown(tmp_path, change) < MOST_GROWTH


def test_silenced_cautions_cost_in_step_with_their_number(tmp_path: Path) -> None:
    """Ever more silences beside ever more pieces: each piece asked of each silence would be a square."""

    def change(shop: Path, size: int) -> None:
        rows(
            shop,
            size,
            lambda at: f"Right-{at},Thing {at},bar soap,100 g,6.50,1.40,104,80 x 55 x 25,40,external-use,,no",
        )
        silences = (
            f'\n[[silenced]]\ncaution = "keep-cool"\nitems = ["Right-{at // 8}"]\nreason = "It stays firm."\n'
            for at in range(8 * size)
        )
        file = shop / "shop.toml"
        file.write_text(file.read_text(encoding="utf-8") + "".join(silences), encoding="utf-8")

    assert grown(tmp_path, change) < MOST_GROWTH


def test_near_misses_are_looked_for_among_a_bounded_number_of_alike_codes() -> None:
    """Of codes that are all made of the same letters nobody could say which is meant, so that none is compared."""
    few, many = (frozenset(map("".join, islice(permutations("abcdefgh"), count))) for count in (200, 1_500))
    wrong = "abcdefgx"
    assert perhaps(wrong, few) == 'Perhaps "abcdefgh" is meant.'
    assert perhaps(wrong, many) == ""
    assert perhaps(wrong, frozenset(map("".join, islice(permutations("abcdefgh"), 20_000)))) == TOO_MANY
    assert calls(lambda: perhaps("bacdefgx", many)) < 100_000  # a comparison alone is some forty calls
    assert perhaps("OH-BO1", frozenset({"OH-B01"})) == 'Perhaps "OH-B01" is meant.'
    assert [perhaps("OH-BO1", frozenset({"OH-B01", "OH-S01"})) for _ in range(5_000)][-1], "however often it is asked"


SPACES = " " * 120_000
MOST_SECONDS = 5  # of the processor; each of these texts needs less than one


def ends_in_bounds(work: Callable[[], object]) -> bool:
    """Whether some work in a process of its own ends, with whatever error, before its share of the processor does."""
    if (child := os.fork()) == 0:
        resource.setrlimit(resource.RLIMIT_CPU, (MOST_SECONDS, MOST_SECONDS))
        with suppress(FieldError):
            work()
        os._exit(0)
    return os.waitpid(child, 0)[1] == 0


@pytest.mark.parametrize(
    "parse",
    [
        Weight.parse, Size.parse, Length.parse, NetContent.parse, Amount.parse, parse_share,
        lambda text: Money.parse(text, "GBP"),
    ],
    ids=["weight", "size", "length", "net", "amount", "share", "money"],
)  # fmt: skip
@pytest.mark.parametrize("text", [f"6{SPACES}6x", "8x" * 60_000, "6" * 120_000, "1 oz / " * 17_000])
def test_values_beyond_any_length_are_refused_before_a_pattern_sees_them(
    parse: Callable[[str], object], text: str
) -> None:
    assert ends_in_bounds(partial(parse, text))
    with pytest.raises(FieldError):
        parse(text)


@pytest.mark.parametrize("parse", [Weight.parse, NetContent.parse], ids=["weight", "net"])
@pytest.mark.parametrize("text", ["11/11 " * 45, "11/11 " * 40 + "oz / " + "11/11 " * 8, "1 / 1" * 50])
def test_fractions_in_a_row_are_read_in_one_way_alone(parse: Callable[[str], object], text: str) -> None:
    """Each could be parted in four ways, and fourteen of them took hours."""
    assert ends_in_bounds(partial(parse, text))
    with pytest.raises(FieldError):
        parse(text)


@pytest.mark.parametrize("text", [f'name = a{SPACES}"', f"name = a{'b' * 120_000} ]", f"name{SPACES}="])
def test_a_line_that_is_no_toml_is_mended_in_one_walk(text: str) -> None:
    assert ends_in_bounds(partial(text_as_mended, text, Settings))


def test_a_set_behind_empty_lines_is_read(tmp_path: Path) -> None:
    shop = clean_shop(tmp_path)
    file = shop / "sets" / "dawn" / "set.toml"
    file.write_text("\n" * 1_900_000 + file.read_text(encoding="utf-8"), encoding="utf-8")
    assert ends_in_bounds(partial(check_shop, shop, DAY))


@pytest.mark.parametrize("text", ["(" * 120_000, "Aqua " + "(" * 60_000 + ")" * 60_000, f"a{SPACES}(b"])
def test_names_of_open_brackets_and_spaces_are_folded(text: str) -> None:
    for fold_name in (compared_name, folded_ingredient, split_ingredients, fold, without_unit):
        assert ends_in_bounds(partial(fold_name, text)), fold_name
    assert ends_in_bounds(partial(our_field, text, ("code", "name")))


@pytest.mark.parametrize("text", ["{#" * 50_000, "{% raw %}" * 11_000, "#}" + "{#" * 49_000])
def test_remarks_that_are_never_closed_are_walked_once(text: str) -> None:
    assert ends_in_bounds(partial(one_brace, text, ("set",)))


def test_notes_on_some_options_are_found_in_step_with_variants_and_notes() -> None:
    """Ever more notes that each fit one variant of ever more: each asked of each would be a square."""
    steps = []
    for size in (FEW, MANY):
        jars = [f"J-{at}" for at in range(size)]
        notes = [{"options": {"Jar": code}, "price": "29.00"} for code in jars]
        slots = [{"slot": "Jar", "choose": jars}, {"slot": "Bar", "choose": ["B-1", "B-2"]}]
        held = gift_set(slots, variant=notes)
        items = {code: item(code) for code in (*jars, "B-1", "B-2")}
        combinations = combinations_of(held, items, lambda _option, item: item.name, defaultdict(Decimal))
        note_of = _notes(held)
        assert [note_of(one).options["Jar"] for one in combinations] == [code for code in jars for _ in range(2)]
        steps.append(calls(lambda: [note_of(one) for one in combinations]))  # noqa: B023 - called at once
    assert steps[1] < MOST_GROWTH * steps[0], steps


def test_reductions_at_many_places_are_compared_in_step_with_these(tmp_path: Path) -> None:
    """Each place's price held against each other place's would be a square."""
    steps = []
    for size in (FEW // 4, MANY // 4):
        shop = clean_shop(tmp_path / str(size))
        for at in range(size):
            place = f'name = "Place {at}"\nmake = ["price list"]\n'
            (shop / "channels" / f"place_{at}.toml").write_text(place, encoding="utf-8")
        with (shop / "sets" / "dawn" / "set.toml").open("a", encoding="utf-8") as file:
            file.write('\n[[reduction]]\nfrom = 2027-02-01\nuntil = 2027-12-31\nby = "5 %"\n')
        listings = check_shop(shop, datetime.date(2027, 3, 1)).listings
        assert len(listings.listings) > size
        assert all(listing.reduction for listing in listings)
        steps.append(calls(lambda: list(reduction_apart(listings, cast("CheckContext", None)))))  # noqa: B023 - at once
    assert steps[1] < MOST_GROWTH * steps[0], steps


def test_listings_are_parted_by_channel_in_step_with_both() -> None:
    """Each channel is asked for its key a few times, however many listings there are."""
    asked = []

    class Place:
        @property
        def key(self) -> str:
            asked.append(self)
            return str(id(self))

    places = [Place() for _ in range(FEW)]
    catalog = SimpleNamespace(shop=SimpleNamespace(channels=places))
    made = tuple(SimpleNamespace(channel=place) for place in places)
    parted = list(Listings(cast("Any", catalog), cast("Any", made)).by_channel())
    assert [len(of_place) for _, of_place in parted] == [1] * FEW
    assert len(asked) <= 4 * FEW


def test_wrong_names_of_places_are_compared_with_a_bounded_number_of_names() -> None:
    """Ever more names of places beside ever more places: each held against each would be a square."""
    steps = []
    for size in (FEW, MANY):
        context = {"currency": "GBP"}
        raw = {"from": "2027-03-01", "until": "2027-03-09", "by": "5 %"}
        lower = Reduction.model_validate(raw | {"channels": [f"plaza_{at}" for at in range(size)]}, context=context)
        keys = tuple(f"place_{at}" for at in range(size))
        told = list(_unknown_channels([lower], keys, "shop.toml"))
        assert len(told) == size
        assert told[0].hint == 'Write "place_0".'
        assert size == FEW or told[-1].hint == TOO_MANY
        steps.append(calls(lambda: list(_unknown_channels([lower], keys, "shop.toml"))))  # noqa: B023 - at once
    assert steps[1] < MOST_GROWTH * steps[0], steps


def test_a_list_in_its_order_is_held_against_percentages_in_step_with_its_length() -> None:
    """Each ingredient held against all before it would be a square."""
    steps = []
    for size in (FEW, MANY):
        names = [f"Oil {at}" for at in range(size)]
        rows = tuple(
            IngredientRow.model_validate({"item": "A-1", "ingredient": name, "percent": "2 %"}) for name in names
        )
        work = partial(out_of_order, item("A-1", ingredients=", ".join(names)), composition(rows), "GB")
        assert work() is None
        steps.append(turns(work))
    assert steps[1] < MOST_GROWTH * steps[0], steps


def test_what_lies_in_a_set_is_held_against_what_never_does_in_step_with_both() -> None:
    """Each two pieces of a variant held against each other would be a square."""
    steps = []
    for size in (FEW, MANY):
        groups = tuple((f"A-{at}", f"N-{at}") for at in range(size))
        held = frozenset(f"A-{at}" for at in range(size))
        together = _together(groups)
        steps.append(calls(lambda: together(held)))  # noqa: B023 - called at once
        assert together(held)
        assert not together(held | {f"N-{size - 1}"})
        assert together(held - {"A-0"} | {"N-0"})
    assert steps[1] < MOST_GROWTH * max(steps[0], 10), steps


def test_the_rates_to_each_zone_are_found_in_step_with_the_rates() -> None:
    """All rates gone through for each zone would be a square."""
    steps = []
    for size in (FEW, MANY):
        rows = ({"service": "Post", "zone": f"zone {at}", "up_to": "2 kg", "price": "3.00"} for at in range(size))
        rates = tuple(Rate.model_validate(row, context={"currency": "GBP"}) for row in rows)
        of = replace(shop_of([item("A-1")], []), rates=rates)
        found = [of.rates_to(rate.zone) for rate in rates]
        assert found == [(rate,) for rate in rates]
        assert of.rates_to("elsewhere") == ()
        steps.append(turns(lambda: [of.rates_to(rate.zone) for rate in rates]))  # noqa: B023 - called at once
    assert steps[1] < MOST_GROWTH * steps[0], steps


def test_groups_of_a_line_sheet_with_days_cost_in_step_with_their_number(tmp_path: Path) -> None:
    """Each group looked for by its title among all would be a square."""
    steps = []
    for size in (FEW, MANY):
        shop = clean_shop(tmp_path / str(size))
        group = '[[group]]\ntitle = "g{0}"\nlines = ["Z-{0}"]\nwindow = {{ ships_from = 2027-03-01 }}\n'
        rows(shop, size, lambda at: f"Z-{at},Thing {at},bar soap,100 g,6.50,1.40,104,80 x 55 x 25,40,external-use,,no")
        with (shop / "wholesale.toml").open("a", encoding="utf-8") as file:
            file.write("\n" + "".join(group.format(at) for at in range(size)))
        listings = check_shop(shop, DAY).listings
        context = cast("CheckContext", SimpleNamespace(figures={"season-window": 30}))
        papers_of(listings)
        steps.append(turns(lambda: list(season_window(listings, context))))  # noqa: B023 - called at once
    assert steps[0] > FEW
    assert steps[1] < MOST_GROWTH * steps[0], steps


def test_parcels_are_held_against_the_rates_to_all_zones_in_step_with_zones_and_parcels() -> None:
    """Each parcel held against each zone would be a product of the two, also where all weigh differently."""
    steps, box = [], Carton.model_validate({"outside": "20 x 15 x 10 cm", "weight": "50 g"})
    for size in (FEW, MANY):
        parcels = Parcels(
            [(weight_facts(Weight(Decimal(at + 1)), box, Freight()), box) for at in range(size)], Packet()
        )
        row = {"service": "Post", "up_to": "2 kg", "price": "3.00"}
        zones = [(Rate.model_validate(row | {"zone": f"z{at}"}, context={"currency": "GBP"}),) for at in range(size)]
        steps.append(python_calls(lambda: [list(parcels.left_by(rates)) for rates in zones]))  # noqa: B023
        assert not any(list(parcels.left_by(rates)) for rates in zones)
    assert steps[1] < MOST_GROWTH * steps[0], steps


def test_zones_that_nothing_goes_to_are_told_until_it_is_enough(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """Thousands of zones that thousands of variants do not go to are left with one sentence."""
    monkeypatch.setattr(bounds, "UNTAKEN", FEW)
    zones = "".join(f"Post,zone {at},0,1,3.00,no\n" for at in range(FEW))
    shop = clean_shop(tmp_path / "shop", {"rates.csv": f"{_RATES}\n{zones}"})
    told = list(measures.rate_missing(check_shop(shop, DAY).listings, cast("CheckContext", None)))
    assert 1 < len(told) < FEW
    left = FEW - len(told) + 1
    assert told[-1].message == f"what else no service takes is not looked for, with {left} zones left."
    assert {each.message.split(" takes ")[1] for each in told[:-1]} == {told[0].message.split(" takes ")[1]}


def test_a_parcel_that_no_service_takes_is_found_as_postage_finds_none() -> None:
    """Held against postage, parcel by parcel: random rates of small packets and others, parcels large and small."""
    drawn = Random(7)
    boxes = [
        Carton.model_validate({"outside": side, "weight": "50 g"}) for side in ("20 x 15 x 10 cm", "70 x 50 x 40 cm")
    ]
    for _ in range(60):
        parcels = [
            (weight_facts(Weight(Decimal(drawn.randrange(1, 3000))), box, Freight()), box)
            for box in boxes
            for _ in range(20)
        ]
        rows = [
            {"service": f"S{at}", "over": f"{over} g", "up_to": f"{over + drawn.randrange(1, 2500)} g", "price": "3"}
            | {"packet": drawn.choice(("yes", "no"))}
            for at in range(drawn.randrange(4))
            for over in (drawn.randrange(1500),)
        ]
        rates = tuple(Rate.model_validate(row, context={"currency": "GBP"}) for row in rows)
        left = Parcels(parcels, Packet()).left_by(rates)
        assert set(left) == {at for at, parcel in enumerate(parcels) if not postage(*parcel, rates, Packet())}


def test_reductions_are_parted_by_their_sets_in_step_with_both() -> None:
    """Each reduction asked of each set whether it is for it would be a product of the two."""
    steps = []
    for size in (FEW, MANY):
        row = {"from": DAY, "until": DAY, "by": "5 %"}
        reductions = tuple(ShopReduction.model_validate(row | {"sets": [f"S-{at}"]}) for at in range(size))
        settings = cast("Settings", SimpleNamespace(reductions=reductions))
        sets = [SetFolder(f"s{at}", gift_set([{"item": "A-1"}], code=f"S-{at}")) for at in range(size)]
        found = [rulings_of(each, settings) for each in sets]
        assert [[one.at for one in each] for each in found] == [[at] for at in range(size)]
        again = SimpleNamespace(reductions=(*reductions,))
        steps.append(python_calls(lambda: [rulings_of(each, cast("Settings", again)) for each in sets]))  # noqa: B023
    assert steps[1] < MOST_GROWTH * steps[0], steps


def test_pieces_of_many_options_are_put_together_in_step_with_the_options() -> None:
    """A combination made anew for each fixed piece would be a product of the pieces and the options."""
    steps = []
    for size in (FEW, MANY):
        codes = [f"J-{at}" for at in range(size)]
        held = gift_set([{"slot": "Jar", "choose": codes}, *({"item": f"J-{at}"} for at in range(size // 4))])
        items = {code: item(code) for code in codes}
        made = combinations_of(held, items, lambda _option, item: item.name, defaultdict(Decimal))
        assert [one.choices[0].item.code for one in made] == codes
        assert [piece.item.code for piece in made[0].pieces] == ["J-0", *codes[: size // 4]]
        whole = sum(items[piece.item.code].weight.grams for piece in made[-1].pieces)
        assert made[-1].sums.grams == whole
        says = lambda _option, item: item.name  # noqa: E731
        steps.append(calls(lambda: combinations_of(held, items, says, defaultdict(Decimal))))  # noqa: B023 - at once
    assert steps[1] < MOST_GROWTH * steps[0], steps


def test_what_places_leave_out_is_asked_of_a_sets_pieces_once() -> None:
    """Each piece of each variant looked for at each place would be a product of three lists."""
    steps = []
    for size in (FEW // 4, MANY // 4):
        codes = [f"J-{at}" for at in range(size)]
        held = gift_set([{"slot": "Jar", "choose": codes}, *({"item": f"J-{at}"} for at in range(size))])
        [facts] = build_catalog(shop_of([item(code) for code in codes], [held])).sets
        stocked = tuple((variant, 9) for variant in facts.variants)
        place = channel(leave_out=["J-X", f"SET-1-{facts.variants[1].choices[0].part}"])
        assert len(taken(place, facts, stocked)) == size - 1
        assert not taken(channel(leave_out=["J-3"]), facts, stocked)
        steps.append(calls(lambda: taken(place, facts, stocked)))  # noqa: B023 - called at once
    assert steps[1] < MOST_GROWTH * steps[0], steps


def test_ingredients_are_looked_up_among_known_allergens() -> None:
    """Each ingredient held against each allergen, of which an owner may add hundreds, would be a product of the two."""
    steps = []
    for size in (FEW, MANY):
        known = tuple(Allergen(f"Kind {at}", (f"{at}-00-1",), stems=(f"plant {at} ",)) for at in range(size))
        names = [f"Kind {at}" for at in range(size)]
        assert [candidates(name, "", known) for name in names] == [(each,) for each in known]
        assert candidates("Plant 7 oil", "", known) == (known[7],)
        steps.append(calls(lambda: [candidates(name, "", known) for name in names]))  # noqa: B023 - called at once
    assert steps[1] < MOST_GROWTH * steps[0], steps


def test_a_piece_is_asked_once_whether_it_is_for_the_skin() -> None:
    """A piece lies in many sets, and several rules ask; the patterns search its words the first time only."""
    piece = item("J-SKIN", name="Oat soap that nobody asked about")
    first = calls(lambda: is_for_the_skin(piece))
    assert calls(lambda: [is_for_the_skin(piece) for _ in range(MANY)]) < MANY * first / 2
