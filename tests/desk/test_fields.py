"""Every key of the owner's files is a field in her words, and what is typed into one reads back as it is meant."""

import re
import tomllib
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any, get_args

import pytest
from pydantic import BaseModel

from listkit.desk.changes import Came, apply, see
from listkit.desk.edits import Add, Edit, Put, Role, Target, edited, look, new_problems, problems_of
from listkit.desk.field_values import Input
from listkit.desk.fields import PICKS, Form, FormField, added, edits_of, form, value_of
from listkit.edit.toml import value_at, with_entry
from listkit.edit.toml_text import TomlValue
from listkit.model.channel import Channel
from listkit.model.gift_set import GiftSet
from listkit.model.item import Item
from listkit.model.packaging import Packaging
from listkit.model.settings import Settings
from listkit.model.wholesale import Wholesale
from listkit.read.faults import known_keys
from listkit.shipped import shipped_templates
from tests.desk.test_changes import HOW
from tests.shops import DEMO, clean_shop

MODELS: dict[Role, type[BaseModel]] = {
    Role.SET: GiftSet, Role.PACKAGING: Packaging, Role.CHANNEL: Channel, Role.SHOP: Settings,
    Role.WHOLESALE: Wholesale,
}  # fmt: skip
WORDS = tomllib.loads((shipped_templates() / "desk/words/fields.en.toml").read_text(encoding="utf-8"))
SPEAKS_OF_FILES = re.compile(r"\[\[|\]\]|\[[a-z.]+\]|\btrue\b|\bfalse\b|\.toml|\.csv|when left out")
OTHER_TABLES = {"help", "choice", "section"}


def reached(kind: Any) -> Iterator[type[BaseModel]]:
    """Yield a model and all models within it."""
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        yield kind
        for info in kind.model_fields.values():
            yield from reached(info.annotation)
    for part in get_args(kind):
        yield from reached(part)


def blank(field: FormField) -> Iterator[FormField]:
    """Yield a field, those within it, and those of entries that may be added."""
    yield field
    for inner in field.fields:
        yield from blank(inner)
    for entry in field.blanks:
        for inner in entry.fields:
            yield from blank(inner)


@pytest.mark.parametrize("model", MODELS.values())
def test_every_key_of_a_file_is_a_field_with_a_label_and_words_of_help(model: type[BaseModel]) -> None:
    fields = [each for section in form(model, {}).sections for field in section.fields for each in blank(field)]
    there = {tuple(part for part in field.key if isinstance(part, str)) for field in fields}

    def keys(of: type[BaseModel], way: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
        for key, info in zip(known_keys(of), [i for i in of.model_fields.values() if not given(i)], strict=True):
            yield (*way, key)
            for inner in direct(info.annotation):
                yield from keys(inner, (*way, key))

    assert there == set(keys(model))
    for field in fields:
        assert field.label[:1].isupper(), field.key
        assert field.help.endswith((".", "...")), (field.key, field.help)
        assert not SPEAKS_OF_FILES.search(field.help), (field.key, field.help)


def given(info: Any) -> bool:
    return isinstance(info.json_schema_extra, dict) and bool(info.json_schema_extra.get("given"))


def direct(kind: Any) -> Iterator[type[BaseModel]]:
    """Yield the models of a field itself."""
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        yield kind
    else:
        for part in get_args(kind):
            yield from direct(part)


def test_no_word_is_of_a_key_that_is_not_there_and_each_key_stands_on_one_page_once() -> None:
    models = {model.__name__: model for root in MODELS.values() for model in reached(root)}
    assert set(WORDS) - OTHER_TABLES == set(models)
    for name, model in models.items():
        assert list(WORDS[name]) == list(known_keys(model)), name
    assert set(WORDS["help"]) <= {*models, "Item"}
    assert all(set(table) <= set(WORDS.get(name, Item.model_fields)) for name, table in WORDS["help"].items())
    for root in MODELS.values():
        placed = [key for section in WORDS["section"][root.__name__] for key in section["keys"]]
        assert sorted(placed) == sorted(known_keys(root))
    assert {place for place in PICKS if place.partition(".")[2] not in WORDS[place.partition(".")[0]]} == set()


# What is typed reads back.

TYPED = {
    "currency": "EUR", "country": "IE", "region": "GB-NIR", "origin": "IE", "language": "fr", "languages": "fr",
    "cas": "78-70-6", "email": "a@b.example", "website": "https://b.example", "photo_address": "https://b.example/photos/",
    "listing_address": "https://b.example/sets/", "window": "any time",
    "case_gtin": "19520000010017", "logo": "logo.png", "items.file": "items.csv", "checks": "band-missed = off",
    "size": "90 x 60 mm", "sheet": "letter", "oldest": "9 months", "divisor": "4000", "ratio": "4:5", "ending": ".95",
    "wholesale": "40 %", "set_wholesale": "sum of items", "barcodes": "90 %", "replace": "& = and", "blocks": "story",
    "file.name": "sizes", "sales.columns": "Item number = code",
    "sales.codes": "1001 = OH-B01", "holds": "OH-B01 = 3", "old_codes": "OH-1\nOH-2", "if_long": "care",
    "cure": "6 weeks", "ready_after": "2 days", "days": "Tuesday\nFriday", "closed": "2026-12-25\n2026-12-28",
    "pieces": "OH-B01 = 0.1, 0.2, 0.4, 0.5",
    "price": "20.00", "sort": "-price\nsku", "outside": "9 x 8 x 7 cm", "inside": "9 x 8 x 7 cm",
}  # fmt: skip
BY_KIND = {
    Input.TEXT: "A few words", Input.LONG_TEXT: 'Two "lines"\nof words', Input.CODE: "OH-B01", Input.NUMBER: "3",
    Input.MONEY: "4.50", Input.SHARE: "12.5", Input.COLOUR: "#123456", Input.DAY: "2027-03-01",
    Input.FOCUS: "0.1, 0.2, 0.8, 0.9", Input.GROUPS: "OH-B01, OH-B02\nOH-B03, OH-B04", Input.PAIRS: "Jar = OH-B01",
}  # fmt: skip


def typed(field: FormField) -> Iterator[str]:
    """Yield what may be typed into a field."""
    names = [str(part) for part in field.key if isinstance(part, str)]
    key = next((name for name in (".".join(names[-2:]), names[-1]) if name in TYPED), "")
    if field.kind is Input.CHOICE:
        yield from (value for value, _ in field.choices)
    elif field.kind is Input.YES_NO:
        yield from ("yes", "no")
    elif key:
        yield TYPED[key]
    elif field.kind is Input.LIST and field.choices:
        yield "\n".join(value for value, _ in field.choices[:2])
    elif field.kind is Input.LIST:
        yield {Input.CODE: "OH-B01\nOH-B02", Input.MONEY: "4.50\n9.50"}.get(field.of, "one\nanother one")
    elif field.kind is Input.MEASURE:
        yield "5 mm" if field.example.endswith("mm") and " x " not in field.example else "90 g"
    else:
        yield BY_KIND[field.kind]


def filled(content: bytes, model: type[BaseModel]) -> bytes:
    """Return a file with an entry of each kind in every list of tables, so that each field is there."""
    while True:
        shown = form(model, tomllib.loads(content.decode(), parse_float=Decimal))
        lists = [field for field in shown.every() if field.kind is Input.TABLES and len(field.key) < 6]
        lacking = next(
            ((field, entry) for field in lists for entry in field.blanks if not has(field, entry.fields)), None
        )
        if lacking is None:
            return content
        field, entry = lacking
        table = {str(inner.key[-1]): first_value(inner) for inner in entry.fields if inner.required}
        content = with_entry(content, field.key, len(field.entries), table)


def first_value(field: FormField) -> TomlValue:
    """Return what a field that must be filled in is filled in with."""
    value = [{"item": "OH-B01"}] if field.kind is Input.TABLES else value_of(field, [next(typed(field))])
    assert value is not None
    return value


def has(field: FormField, fields: tuple[FormField, ...]) -> bool:
    keys = [inner.key[-1] for inner in fields]
    return any([inner.key[-1] for inner in entry] == keys for entry in field.entries)


def cases() -> Iterator[Any]:
    targets = {
        Target(Role.SET, "OHS-1"): "sets/first-nectar/set.toml", Target(Role.PACKAGING): "packaging.toml",
        Target(Role.CHANNEL, "web_shop"): "channels/web_shop.toml", Target(Role.SHOP): "shop.toml",
        Target(Role.WHOLESALE): "wholesale.toml",
    }  # fmt: skip
    for target, file in targets.items():
        path = DEMO / file
        yield pytest.param(target, file, path.read_bytes() if path.exists() else b"", id=target.role.value)


@pytest.mark.parametrize(("target", "file", "content"), list(cases()))
def test_what_is_typed_into_a_field_reads_back_as_it_is_meant(target: Target, file: str, content: bytes) -> None:
    files, model = look(DEMO), MODELS[target.role]
    content = filled(content, model)
    olds = problems_of(files, target, file, content)
    shown = form(model, tomllib.loads(content.decode(), parse_float=Decimal))
    count = 0
    for field in (field for field in shown.every() if field.kind not in (Input.TABLE, Input.TABLES)):
        for text in typed(field):
            changed = content
            edits = edits_of(target, shown, {field.name: [text.replace("\n", "\r\n")]})
            for edit in edits:
                if isinstance(edit.action, Put) and edit.key == ("code",) and target.role is Role.SET:
                    continue  # given another by renaming
                changed, _ = edited(files, edit, file, changed)
            news = problems_of(files, target, file, changed)
            about = [problem.message for _, problem in new_problems(edits, olds, news)] if edits else []
            alone = len(field.key) > 1 and value_at(content, field.key[:-1]) is None
            assert not about or (alone and all("is missing" in each for each in about)), (field.key, text, about)
            again = form(model, tomllib.loads(changed.decode(), parse_float=Decimal))
            read = next(each for each in again.every() if each.key == field.key)
            wanted = f"{text} %" if field.kind is Input.SHARE and "%" not in text else text
            held = read.value or read.usual
            assert held == wanted or (target.role is Role.SET and field.key == ("code",)), (field.key, text, held)
            count += 1
    assert count >= len([field for field in shown.every() if field.kind not in (Input.TABLE, Input.TABLES)])


def sent_back(shown: Form) -> dict[str, list[str]]:
    """Return what a page sends that nobody typed into: selects have what is usual chosen."""
    return {
        field.name: [field.value or (field.usual if field.kind in (Input.CHOICE, Input.YES_NO) else "")]
        for field in shown.every()
        if field.kind not in (Input.TABLE, Input.TABLES)
    }


@pytest.mark.parametrize(("target", "file", "content"), list(cases()))
def test_a_page_that_nobody_typed_into_changes_nothing(target: Target, file: str, content: bytes) -> None:
    for text in (content, filled(content, MODELS[target.role])):
        shown = form(MODELS[target.role], tomllib.loads(text.decode(), parse_float=Decimal))
        assert edits_of(target, shown, sent_back(shown)) == []


def edits(text: str, sent: dict[str, str], model: type[BaseModel] = GiftSet) -> list[tuple[Any, Any]]:
    shown = form(model, tomllib.loads(text, parse_float=Decimal))
    made = edits_of(Target(Role.SET, "x"), shown, {name: [value] for name, value in sent.items()})
    return [(edit.key, edit.action.value) for edit in made if isinstance(edit.action, Put)]


def test_what_is_emptied_is_taken_out_and_a_table_with_it() -> None:
    text = 'theme = "x"\nmessage_card = { characters = 5 }\ncarton = { outside = "1 m", weight = "2 g" }'
    assert edits(text, {"theme": ""}) == [(("theme",), None)]
    assert edits(text, {"message_card/characters": " "}) == [(("message_card",), None)]
    assert edits(text, {"carton/outside": ""}) == [(("carton", "outside"), None)]
    assert edits(text, {"carton/outside": "", "carton/weight": ""}) == [(("carton",), None)]


def test_an_option_that_is_a_bare_code_becomes_a_table_only_where_more_is_said_of_it() -> None:
    text = '[[contents]]\nslot = "Jar"\nchoose = ["A", "B"]'
    first, says = "contents/0/choose/0/item", "contents/0/choose/1/says"
    assert edits(text, {first: "C"}) == [(("contents", 0, "choose", 0), "C")]
    assert edits(text, {says: "Big"}) == [(("contents", 0, "choose", 1), {"item": "B", "says": "Big"})]
    assert edits(text, {says: ""}) == []


def test_a_number_keeps_the_quotes_that_the_file_has() -> None:
    assert edits('price = "24.50"', {"price": "25"}) == [(("price",), "25")]
    assert edits("price = 24.50", {"price": "25.5"}) == [(("price",), Decimal("25.5"))]
    assert edits("", {"price": "25,5"}) == [(("price",), "25,5")]
    assert edits('[[reduction]]\nby = "5 %"', {"reduction/0/by": "10"}) == [(("reduction", 0, "by"), "10 %")]
    assert edits("", {"labels/faces": "2"}, Settings) == [(("labels", "faces"), 2)]


def test_a_blank_that_is_filled_in_becomes_an_entry(tmp_path: Path) -> None:
    shop, target = clean_shop(tmp_path / "shop"), Target(Role.SET, "RRS-1")
    seen = see(shop, target)
    shown = form(GiftSet, tomllib.loads(seen.content.decode(), parse_float=Decimal))
    contents = next(field for field in shown.every() if field.key == ("contents",))
    sent = {"contents/2/slot": ["Balm"], "contents/2/choose": ["RR-M1\r\nRR-J1\r\n"], "contents/2/quantity": ["2"]}
    edit = added(target, contents, "slot", sent)
    assert edit.action == Add(("contents",), {"slot": "Balm", "choose": ["RR-M1", "RR-J1"], "quantity": 2})
    assert apply(shop, [edit], {target: seen.digest}, HOW).came is Came.DONE
    lacking = apply(shop, [added(target, contents, "item", {})], {target: see(shop, target).digest}, HOW)
    assert [(each.key, each.message) for each in lacking.wrong] == [(("contents", 3, "item"), '"item" is missing.')]
    boxes = form(Packaging, {}).sections[0].fields[0]
    filled_in = {"box/0/code": ["L"], "box/0/fill/weight": ["9 g"], "box/0/fill/cost": ["0.20"]}
    assert added(Target(Role.PACKAGING), boxes, "", filled_in).action == Add(
        ("box",), {"code": "L", "fill": {"weight": "9 g", "cost": Decimal("0.20")}}
    )


def test_names_that_no_field_has_lead_nowhere() -> None:
    sent = {"shade": "x", "contents/0/item": "x", "../name": "x", "contents": "x", "": "x", "name/0": "x"}
    assert edits("", sent) == []


def test_a_file_that_is_not_sound_is_shown_as_far_as_it_goes() -> None:
    document = {
        "name": 7,
        "contents": "x",
        "photos": [1, {"file": "a"}],
        "carton": [1],
        "shade": "deep",
        "keywords": "a",
    }
    shown = form(GiftSet, document)
    fields = {field.name: field.value for field in shown.every()}
    assert (fields["name"], fields["photos/1/file"], fields["keywords"]) == ("7", "a", "a")
    assert shown.strange == (("shade", "deep"),)


def test_a_form_goes_through_the_desks_changes(tmp_path: Path) -> None:
    shop, target = clean_shop(tmp_path / "shop"), Target(Role.SET, "RRS-1")
    seen = see(shop, target)
    shown = form(GiftSet, tomllib.loads(seen.content.decode(), parse_float=Decimal))
    sent = sent_back(shown) | {"name": ["Dusk"], "keywords": ["river\r\nmint"], "card": ["no"], "price": ["20.00"]}
    outcome = apply(shop, edits_of(target, shown, sent), {target: seen.digest}, HOW)
    assert outcome.came is Came.DONE
    text = (shop / "sets/dawn/set.toml").read_text(encoding="utf-8")
    lines = ('name = "Dusk"', 'keywords = ["river", "mint"]', "card = false", "price = 20.00")
    assert [line for line in lines if line not in text] == []
    digest = see(shop, target).digest
    wrong = apply(shop, edits_of(target, shown, {"price": ["20,00"]}), {target: digest}, HOW)
    assert [each.key for each in wrong.wrong] == [("price",)]


def pairs_of(text: str, there: dict[str, str]) -> Any:
    """Return what replaced signs are after a text was typed where some are there."""
    target = Target(Role.CHANNEL, "web_shop")
    (edit,) = edits_of(target, form(Channel, {"replace": there}), {"replace": [text]})
    assert isinstance(edit.action, Put)
    return edit.action.value


def test_a_pair_that_was_not_touched_stays_as_the_file_has_it() -> None:
    """A "=" in its key parted it elsewhere, and one of two lines became two, once a neighbour was edited."""
    odd = {"A = B": "x", "Two\nlines": "y", "&": "and"}
    assert pairs_of("A = B = x\nTwo\nlines = y\n& = et", odd) == {**odd, "&": "et"}
    assert pairs_of("& = and\n+ = plus", {"&": "and"}) == {"&": "and", "+": "plus"}


def test_of_two_pairs_of_one_key_none_is_dropped() -> None:
    """Both stay, so that the file's own reader refuses them."""
    two = pairs_of("& = and\n& = et\n+ = plus", {"&": "and"})
    assert two == {"&": ["and", "et"], "+": "plus"}
    assert pairs_of("& = and\n& = and\n+ = plus", {"&": "and"}) == {"&": "and", "+": "plus"}
    file = "channels/web_shop.toml"
    target, content = Target(Role.CHANNEL, "web_shop"), (DEMO / file).read_bytes()
    edit = Edit(target, Put(("replace",), two))
    changed, _ = edited(look(DEMO), edit, file, content)
    olds, news = (problems_of(look(DEMO), target, file, each) for each in (content, changed))
    assert [problem.place.key for _, problem in new_problems([edit], olds, news)] == [("replace", "&")]


def test_an_entry_of_a_list_that_was_not_touched_stays_as_the_file_has_it() -> None:
    field = next(each for each in form(Channel, {}).every() if each.kind is Input.LIST and each.of is Input.TEXT)
    raw = ["one", "of two\nlines", "of two"]
    kept = replace(field, raw=raw, value="one\nof two\nlines\nof two")
    assert value_of(kept, ["one more\nof two\nlines\nof two"]) == ["one more", "of two\nlines", "of two"]
