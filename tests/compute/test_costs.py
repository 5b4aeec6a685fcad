"""Costs that follow from recipes: steps, mixtures, yields, packaging; nothing is given out that lacks a part."""

import time
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit import bounds
from listkit.compute.costs import Recipes, rounded, way_of
from listkit.model.making import RecipeRow, Ways
from listkit.pipeline import Opened, open_shop
from listkit.problem import FieldError
from listkit.units.amount import Amount, amount_text
from listkit.units.table import UnitKind
from tests.shops import CLEAN, clean_shop

ITEMS = (CLEAN / "items.csv").read_text(encoding="utf-8")
EMPTY = ITEMS.replace(",6.50,1.40,", ",6.50,,")
SHOP = (CLEAN / "shop.toml").read_text(encoding="utf-8")
WAYS = '\n[[making]]\nform = "bar soap"\nbatch_size = 20\nyield = "95 %"\ncure = "6 weeks"\nhours_a_batch = "1.5"\n'
MATERIALS = "material,unit,price,density\nolive oil,5 kg,30.00,0.9\nlye,kg,4.00,\npaper band,100 pieces,6.00,\n"
RECIPES = "item,material,amount\nRR-B1,olive oil,1.9 kg\nRR-B1,lye,190 g\n"


def opened(folder: Path, **files: str) -> Opened:
    """The clean shop with a recipe for its soap, and these files over it."""
    names = {"items": "items.csv", "shop": "shop.toml", "materials": "materials.csv", "recipes": "recipes.csv"}
    texts = {"items": EMPTY, "shop": SHOP + WAYS, "materials": MATERIALS, "recipes": RECIPES, **files}
    return open_shop(clean_shop(folder, {names[name]: text for name, text in texts.items()}))


def cost(shop: Opened, code: str = "RR-B1") -> Decimal:
    """What an item of the shop costs."""
    return next(item.cost.amount for item in shop.shop.items if item.code == code)


def test_an_empty_cost_is_materials_and_hours_by_the_good_pieces_of_a_batch(tmp_path: Path) -> None:
    shop = opened(tmp_path)
    made = shop.shop.made
    assert made is not None
    steps = {step.label: (step.amount, step.price, step.cost) for step in made.costs["RR-B1"].steps}
    # 1.9 kg at 6.00 a kg, 190 g at 4.00, 1.5 hours at 12.00, by 20 × 95 % = 19 pieces
    assert steps == {
        "olive oil": ("1.9 kg", "30.00 for 5 kg", Fraction("11.40") / 19),
        "lye": ("190 g", "4.00 a kg", Fraction("0.76") / 19),
        "hours": ("1.5", "12.00 an hour", Fraction(18) / 19),
    }
    assert cost(shop) == Decimal("1.59")  # 30.16 ÷ 19 = 1.5873…
    assert not shop.problems


def test_a_cost_that_is_typed_stands(tmp_path: Path) -> None:
    assert cost(opened(tmp_path, items=ITEMS)) == Decimal("1.40")


def test_what_an_item_comes_in_is_a_material_that_its_recipe_need_not_name(tmp_path: Path) -> None:
    heads, *rows = EMPTY.splitlines()
    with_band = "\n".join([f"{heads},container", *(f"{row},paper band" for row in rows)]) + "\n"
    assert cost(opened(tmp_path / "by-itself", items=with_band)) == Decimal("1.65")
    named = RECIPES + "RR-B1,paper band,20\n"  # the whole batch, the bad pieces too: 20 × 0.06 ÷ 19
    made = opened(tmp_path / "named", items=with_band, recipes=named).shop.made
    assert made is not None
    assert [step.cost for step in made.costs["RR-B1"].steps if step.label == "paper band"] == [Fraction("1.20") / 19]


def test_a_mixture_is_worth_what_goes_into_it_by_weight_and_recipes_hold_recipes(tmp_path: Path) -> None:
    rows = "item,material,amount\nRR-B1,base,2 kg\nbase,oils,900 g\nbase,lye,100 g\noils,olive oil,1 l\n"
    shop = opened(tmp_path, recipes=rows)
    # oils: a litre weighs 900 g and costs 5.40; base: 1 kg for 5.40 + 0.40; twice that and 18.00 by 19 pieces
    assert shop.problems == ()
    assert cost(shop) == rounded((2 * Fraction("5.80") + 18) / 19, "GBP")


def test_an_item_that_another_is_made_with_costs_what_stands_in_its_own_row(tmp_path: Path) -> None:
    shop = opened(tmp_path, recipes=RECIPES + "RR-B1,RR-M1,2\n")
    assert cost(shop) == rounded((Fraction("30.16") + 2 * Fraction("0.95")) / 19, "GBP")


def test_a_cost_that_does_not_come_out_leaves_out_the_item_and_its_sets_and_never_counts_as_nothing(
    tmp_path: Path,
) -> None:
    for name, recipes in (("circle", RECIPES + "RR-B1,RR-B1,1\n"), ("lost", RECIPES.replace("lye", "lyme"))):
        shop = opened(tmp_path / name, recipes=recipes).shop
        assert "RR-B1" not in {item.code for item in shop.items}
        assert shop.sets == ()
        assert "RR-B1" in shop.left_out.items


def test_a_row_of_a_recipe_that_cannot_be_read_gives_no_cost_that_lacks_it(tmp_path: Path) -> None:
    shop = opened(tmp_path, recipes=RECIPES.replace("190 g", "190 grains"))
    assert [problem.place.line for problem in shop.problems] == [3]
    assert "RR-B1" in shop.shop.left_out.items


@pytest.mark.parametrize(
    ("text", "kind", "size"),
    [
        ("340 g", UnitKind.MASS, "340"), ("1 lb", UnitKind.MASS, "453.59237"), ("2 l", UnitKind.VOLUME, "2000"),
        ("4 fl oz", UnitKind.VOLUME, "118.29411825"), ("3 m", UnitKind.LENGTH, "3000"),
        ("100 pieces", UnitKind.COUNT, "100"), ("kg", UnitKind.MASS, "1000"),
    ],
)  # fmt: skip
def test_amounts_are_exact_in_their_base_unit(text: str, kind: UnitKind, size: str) -> None:
    """NIST Handbook 44, Appendix C: the pound is 453.59237 g, the US fluid ounce 29.5735295625 ml, both exact."""
    amount = Amount.parse(text)
    assert (amount.kind, amount.size) == (kind, Decimal(size))


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1.2.3 pieces", "number without unit"), ("1..5 pieces", "is not an amount"),
        ("9999999999 pieces", "more than can be meant"), ("100000 t", "not a unit"),
        ("100000 kg", "more than can be meant"), (f"{'9' * 40} kg", "more than can be meant"),
        ("0.0000001 g", "less than can be meant"), ("1 kg 2 pieces", "two kinds"), ("1,5 pieces", "comma"),
    ],
)  # fmt: skip
def test_an_amount_that_nobody_can_mean_is_told(text: str, words: str) -> None:
    with pytest.raises(FieldError, match=words):
        Amount.parse(text)


def test_pieces_may_be_in_parts() -> None:
    assert Amount.parse("1 1/2 pieces").size == Decimal("1.5")
    assert [Amount.parse(text).size for text in ("½ l", "1½kg", "kg")] == [500, 1500, 1000]


def test_a_cost_that_is_more_than_any_price_is_told(tmp_path: Path) -> None:
    dear = MATERIALS.replace("kg,4.00", "0.000001 g,999999999999999.99")
    shop = opened(tmp_path, materials=dear, recipes=RECIPES.replace("190 g", "90000 kg"))
    assert shop.shop.made is not None
    (fault,) = shop.shop.made.costs["RR-B1"].faults
    assert fault.message == "a piece of RR-B1 comes to more than any price."
    assert (fault.place.file, fault.place.line) == ("recipes.csv", 2)


@pytest.mark.parametrize("amount", [Fraction(10) ** 40, Fraction(10) ** 800 / 7])
def test_any_amount_can_be_shown(amount: Fraction) -> None:
    assert amount_text(UnitKind.MASS, amount).endswith(" kg")


# (quantity, cost a piece) layers, the published average, cost of all
AVERAGES = [
    # documentation of an open package of inventory functions: 2 at 2, 3 at 3, 5 at 5
    ([(2, "2"), (3, "3"), (5, "5")], "3.80", "38"),
    # a public exercise: 40 at 124, 50 at 136, 20 at 142, 90 at 144
    ([(40, "124"), (50, "136"), (20, "142"), (90, "144")], "137.80", "27560"),
    # a public exercise, snowboards: 11 at 100, 46 at 103, 51 at 104, 18 at 105
    ([(11, "100"), (46, "103"), (51, "104"), (18, "105")], "103.43", "13032"),
    # a public exercise: 300 at 5.20, 100 at 5.60, 350 at 6.50, 250 at 8.10
    ([(300, "5.20"), (100, "5.60"), (350, "6.50"), (250, "8.10")], "6.42", "6420"),
]


@pytest.mark.parametrize(("layers", "average", "whole"), AVERAGES)
def test_a_mixture_of_layers_costs_their_weighted_average(
    layers: list[tuple[int, str]], average: str, whole: str, tmp_path: Path
) -> None:
    """Weighted average cost; the sources stand at each row. The simple mean of the layers would be another number."""
    materials = "material,unit,price\n" + "".join(f"layer {at},g,{price}\n" for at, (_, price) in enumerate(layers))
    recipes = "item,material,amount\nRR-B1,all,1 g\n"
    recipes += "".join(f"all,layer {at},{number} g\n" for at, (number, _) in enumerate(layers))
    ways = '\n[making."bar soap"]\nbatch_size = 1\n'
    assert cost(opened(tmp_path, shop=SHOP + ways, materials=materials, recipes=recipes)) == Decimal(average)
    everything = recipes.replace("all,1 g", f"all,{sum(number for number, _ in layers)} g")
    assert cost(opened(tmp_path, shop=SHOP + ways, materials=materials, recipes=everything)) == Decimal(whole)


@given(st.integers(0, 10**6), st.integers(1, 10**4), st.sampled_from(["GBP", "JPY", "KWD"]))
def test_a_cost_is_rounded_once_to_the_nearest_minor_unit(top: int, bottom: int, currency: str) -> None:
    digits = {"GBP": 2, "JPY": 0, "KWD": 3}[currency]
    exact = Fraction(top, bottom)
    assert abs(Fraction(rounded(exact, currency)) - exact) * 2 <= Fraction(1, 10**digits)


def test_what_a_batch_takes_is_parted_down_to_what_is_bought(tmp_path: Path) -> None:
    rows = "item,material,amount\nRR-B1,base,2 kg\nbase,olive oil,900 g\nbase,lye,100 g\n"
    shop = opened(tmp_path, recipes=rows).shop
    taken = {each.name: amount_text(each.kind, each.size) for each in Recipes(shop).leaves("RR-B1", Fraction(3))}
    assert taken == {"olive oil": "5.4 kg", "lye": "600 g"}


@pytest.mark.parametrize("broken", ["soap base,olive oil", "soap base,lye", "RR-B1,soap base"])
@pytest.mark.parametrize("also", ["", "olive oil,5 kgg,30.00,0.9"])
def test_a_mixture_whose_rows_cannot_be_read_gives_no_cost_and_no_fault_of_its_own(
    tmp_path: Path, broken: str, also: str
) -> None:
    recipes = "item,material,amount\nsoap base,olive oil,1.9 kg\nsoap base,lye,190 g\nRR-B1,soap base,2 kg\n"
    materials = "\n".join(also if also and row.startswith("olive") else row for row in MATERIALS.splitlines())
    shop = opened(
        tmp_path,
        recipes="\n".join(f"{broken},much" if row.startswith(broken) else row for row in recipes.splitlines()) + "\n",
        materials=f"{materials}\n",
    )
    assert not any(item.code == "RR-B1" for item in shop.shop.items)
    assert {problem.place.file for problem in shop.problems} <= {"recipes.csv", "materials.csv", "items.csv"}


def test_a_recipe_of_what_no_file_has_any_more_gives_no_cost(tmp_path: Path) -> None:
    """As when the rows of a mixture, and raw materials beside, cannot be read."""
    recipes = "item,material,amount\nRR-B1,soap base,2 kg\n"
    shop = opened(tmp_path, recipes=recipes, materials=MATERIALS.replace("lye,kg", "lye,kgg"))
    assert not any(item.code == "RR-B1" for item in shop.shop.items)
    assert any(problem.place.file == "materials.csv" for problem in shop.problems)


def test_mixtures_that_go_into_each_other_twice_are_each_parted_once(tmp_path: Path) -> None:
    """Forty of them came to 2 ** 40 parts. Half of each is the next, so all is oil in the end."""
    chain = "".join(f"mix {at},mix {at + 1},5 g\nmix {at},mix {at + 1},5 g\n" for at in range(40))
    shop = opened(tmp_path, recipes=f"{RECIPES}RR-B1,mix 0,190 g\n{chain}mix 40,olive oil,10 g\n").shop
    (oil,) = (taken for taken in Recipes(shop).leaves("RR-B1") if taken.name == "olive oil")
    assert oil.size == 1900 + 190


@pytest.mark.parametrize("end", ["olive oil", "mix 0"])
def test_mixtures_in_each_other_deeper_than_owners_mix_are_told(tmp_path: Path, end: str) -> None:
    chain = "".join(f"mix {at},mix {at + 1},5 g\n" for at in range(3_000))
    told = opened(tmp_path, recipes=f"{RECIPES}RR-B1,mix 0,190 g\n{chain}mix 3000,{end},10 g\n").problems
    assert any("more than 50 deep" in problem.message for problem in told)


def test_thousands_of_rows_each_with_its_own_fault_take_no_time(tmp_path: Path) -> None:
    """Each was looked for among all before it: 10,000 rows took minutes."""
    materials = "material,unit,price\n" + "".join(f"m{at},piece,1\n" for at in range(6_000))
    recipes = "item,material,amount\n" + "".join(f"RR-B1,m{at},5 g\n" for at in range(6_000))
    begun = time.process_time()
    made = opened(tmp_path, materials=materials, recipes=recipes).shop.made
    assert time.process_time() - begun < 5
    assert made is not None
    assert len(made.costs["RR-B1"].faults) == 6_000


def test_mixtures_that_all_take_each_other_are_walked_once_each(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Ways through eight of them are 109,600, of eleven a hundred million."""
    names = [f"mix {at}" for at in range(8)]
    pairs = [f"{one},{other},1 g" for one in names for other in names if one != other]
    shop = opened(tmp_path, recipes="\n".join([RECIPES + f"RR-B1,{names[0]},1 g", *pairs]) + "\n").shop
    walked = list[int]()
    own = Recipes._worth

    def counted(self: Recipes, line: int, row: RecipeRow) -> object:
        walked.append(line)
        return own(self, line, row)

    monkeypatch.setattr(Recipes, "_worth", counted)
    recipes = Recipes(shop)
    faults = recipes._mixture(names[0]).faults
    assert {fault.code for fault in faults} == {"recipe-circle"}
    assert len(walked) == len(pairs)


def test_recipes_that_come_to_more_amounts_than_any_shop_has_are_told_and_left_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each item takes all that is in the mixture: what was 9,500 rows came to 12 million amounts."""
    monkeypatch.setattr(bounds, "RECIPE_PARTS", 5)
    shop = opened(tmp_path, recipes=f"{RECIPES}RR-M1,base,1 kg\nbase,olive oil,1 kg\nbase,lye,1 kg\n")
    [problem] = [each for each in shop.problems if "amounts" in each.message]
    assert problem.place.file == "recipes.csv"
    assert problem.message.startswith("from here on recipes come to more than 5 amounts")


def test_the_ways_of_a_form_are_looked_up_however_many_forms_a_shop_has(tmp_path: Path) -> None:
    """Each of thousands of items was held against every form."""
    shop = open_shop(clean_shop(tmp_path)).shop
    item = shop.items[0]
    others = [Ways(form=f"form {number}", cure=1) for number in range(bounds.FORMS - 1)]
    many = shop.settings.model_copy(update={"making": (*others, Ways(form=item.form.upper(), cure=28))})
    none = shop.settings.model_copy(update={"making": ()})
    began = time.process_time()
    assert {way_of(item, many).cure for _ in range(20_000)} == {28}
    assert time.process_time() - began < 0.5
    assert way_of(item, none).cure == 0
    assert way_of(item, many).cure == 28
