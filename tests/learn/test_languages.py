"""The language files: all alike, held against CLDR, and a new one is a file and nothing else."""

import csv
import json
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

import pytest
from babel import Locale

import listkit
from listkit.learn.cell_shapes import is_day
from listkit.learn.folding import words_of
from listkit.learn.languages import listed_words
from listkit.learn.words import MEANINGS
from listkit.shipped import shipped_templates

FOLDER = shipped_templates() / "headings"
LANGUAGES = ("de", "en", "es", "fr", "it")
MEANT = ("both", "sheet", "sample")
MADE = "zz"


def language(name: str) -> dict[str, dict[str, str]]:
    content: dict[str, dict[str, str]] = tomllib.loads((FOLDER / f"{name}.toml").read_text(encoding="utf-8"))
    return content


def keys(content: dict[str, dict[str, str]]) -> dict[str, set[str]]:
    """Return the keys of each section, of the three of meanings together."""
    found = {section: set(words) for section, words in content.items() if section not in MEANT}
    return {**found, "meanings": {key for section in MEANT for key in content[section]}}


def test_there_are_five_languages() -> None:
    assert sorted(path.stem for path in FOLDER.iterdir()) == list(LANGUAGES)


@pytest.mark.parametrize("name", LANGUAGES)
def test_a_language_leaves_nothing_out(name: str) -> None:
    assert keys(language(name)) == keys(language("en"))
    assert keys(language(name))["meanings"] == set(MEANINGS)
    for section, words in language(name).items():
        for key, text in words.items():
            assert all(map(words_of, listed_words(text))) or section == "cells", (section, key)


@pytest.mark.parametrize("name", LANGUAGES)
def test_yes_and_no_stand_in_pairs(name: str) -> None:
    cells = language(name)["cells"]
    assert len(listed_words(cells["yes"])) == len(listed_words(cells["no"]))


@pytest.mark.parametrize("name", LANGUAGES)
def test_five_words_count(name: str) -> None:
    assert len(listed_words(language(name)["small"]["first"])) == 5


@pytest.mark.parametrize("name", LANGUAGES)
def test_the_months_are_those_of_cldr(name: str) -> None:
    """Unicode CLDR, wide month names, as Babel carries them."""
    wide = Locale.parse(name).months["format"]["wide"]
    assert listed_words(language(name)["cells"]["months"]) == tuple(wide[at] for at in range(1, 13))
    assert all(is_day(f"3 {wide[at]} 2027") for at in range(1, 13))
    short = Locale.parse(name).months["format"]["abbreviated"]
    assert all(is_day(f"3 {short[at]} 2027") for at in range(1, 13))
    assert not is_day("3 hats 2027")


# A language of its own, made from the English file: every word is another, and no word of it is known to us.


def made_word(word: str) -> str:
    """Return a word of the language made: "code" is "zuedoc"."""
    ends = "?" if word.endswith("?") else ""
    return " ".join(f"zu{part[::-1].lower()}o" for part in word.removesuffix("?").split()) + ends


def made_language() -> dict[str, dict[str, str]]:
    return {
        section: {key: ", ".join(map(made_word, listed_words(text))) for key, text in words.items()}
        for section, words in language("en").items()
    }


def first(content: dict[str, dict[str, str]], key: str) -> str:
    """Return the first word of a meaning in samples that is sure."""
    said = [word for section in ("both", "sample") for word in listed_words(content[section].get(key, ""))]
    return next(word for word in said if not word.endswith("?"))


def learnt(package: Path, sample: Path, shop: Path) -> list[dict[str, Any]]:
    """What `listkit learn` of the package in a folder understands of a sample."""
    command = [
        sys.executable,
        "-m",
        "listkit",
        "learn",
        str(sample),
        "--name",
        sample.stem,
        "--shop",
        str(shop),
        "--json",
    ]
    done = subprocess.run(command, cwd=package, env={"PYTHONPATH": str(package)}, capture_output=True, check=True)
    columns: list[dict[str, Any]] = json.loads(done.stdout)["columns"]
    return columns


def test_a_language_is_one_file(tmp_path: Path) -> None:
    ours = Path(listkit.__file__).parent
    shutil.copytree(ours, tmp_path / "listkit", ignore=shutil.ignore_patterns("__pycache__", "_templates"))
    shutil.copytree(shipped_templates(), tmp_path / "templates")
    shutil.copytree(ours.parent / "demo_shop", tmp_path / "shop")
    content = made_language()
    part = {role: listed_words(text)[0] for role, text in content["parts"].items()}
    wanted = {"code": "sku", "group": "inProductGroupWithID", "description": "description", "keywords": "keywords",
              "retail": "price", "gtin": "gtin", "on hand": "inventoryLevel", "ingredients": "ingredients",
              "parcel weight": "parcelWeight", "cautions": "cautions", "brand": "brand"}  # fmt: skip
    headings = {first(content, meaning): field for meaning, field in wanted.items()}
    headings |= {f"{part['option']} {part['name']} 1": "slot_1", f"{part['option']} {part['value']} 1": "choice_1"}
    headings |= {f"{part['parcel']} {part['length']}": "parcelLength"}
    sample = tmp_path / "sample.csv"
    with sample.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerow(headings)
    assert {column["field"] for column in learnt(tmp_path, sample, tmp_path / "shop")} == {None}
    text = "\n".join(
        f"[{section}]\n" + "\n".join(f"{json.dumps(key)} = {json.dumps(said)}" for key, said in words.items())
        for section, words in content.items()
    )
    (tmp_path / "templates" / "headings" / f"{MADE}.toml").write_text(text, encoding="utf-8")
    columns = learnt(tmp_path, sample.rename(tmp_path / "again.csv"), tmp_path / "shop")
    assert [column["field"] for column in columns] == list(headings.values())
    assert all(column["confidence"] >= 0.9 for column in columns)
