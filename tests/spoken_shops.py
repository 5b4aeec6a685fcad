"""The demo shop in another language, as its owner would keep it there: her own names and terms, no English left.

Her words stand in spoken/<language>.toml, the French ones in the demo itself. What stays is what no language changes:
the shop's own name and address, codes, ingredients, figures.
"""

import csv
import shutil
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import tomlkit

from tests.shops import DEMO, without_allotment

SPOKEN: Final = Path(__file__).parent / "spoken"
COUNTRIES: Final = {"en-GB": "GB", "fr": "FR", "de": "DE", "es": "ES"}
JOINED: Final = {"en-GB": "and", "fr": "et", "de": "und", "es": "y"}
# A story for every set: its contents, a price, a date and a season within a sentence.
STORIES: Final = {
    "de": "{{ set.name }} enthält {{ items }}, jedes Stück in Papier gebettet.\n\nHier zu haben für "
    "{{ cheapest | in_currency }}, bis zum {{ season.off_sale | date }}.\n",
    "es": "{{ set.name }} contiene {{ items }}, cada pieza envuelta en papel.\n\nAquí lo encontrará por "
    "{{ cheapest | in_currency }} hasta el {{ season.off_sale | date }}.\n",
}
# Terms for other shops, the display's name and the groups' titles.
TERMS: Final[dict[str, dict[str, Any]]] = {
    "fr": {
        "lead": "10 jours ouvrés",
        "payment": "la première commande d'avance, puis à 30 jours",
        "carriage": "offert à partir de 350, sinon au prix coûtant",
        "damages": "nous écrire sous 5 jours ouvrés, photo à l'appui",
        "testers": "un par parfum et par commande, à moitié prix",
        "exclusivity": "aucune",
        "online_resale": "sur votre propre site",
        "groups": ("Coffrets de printemps", "Coffrets d'été et d'automne", "Toute l'année", "À la pièce"),
        "shelf": "Petite étagère",
        "holds": "un coffret, factices",
    },
    "de": {
        "lead": "10 Werktage",
        "payment": "die erste Bestellung im Voraus, danach 30 Tage",
        "carriage": "ab 350 frei, sonst zum Selbstkostenpreis",
        "damages": "innerhalb von 5 Werktagen melden, mit Bild",
        "testers": "einer je Duft und Bestellung, zum halben Preis",
        "exclusivity": "keiner",
        "online_resale": "auf der eigenen Website",
        "groups": ("Sets im Frühling", "Sets im Spätsommer und Herbst", "Ganzjährig", "Einzelstücke"),
        "shelf": "Thekenregal",
        "holds": "ein Set, Leerpackungen",
    },
    "es": {
        "lead": "10 días laborables",
        "payment": "primer pedido por adelantado, después a 30 días",
        "carriage": "gratis desde 350; si no, a precio de coste",
        "damages": "avisar en 5 días laborables, con una foto",
        "testers": "uno de cada aroma por pedido, a mitad de precio",
        "exclusivity": "ninguna",
        "online_resale": "en su propia web",
        "groups": ("Estuches de primavera", "Estuches de verano y otoño", "Todo el año", "Piezas sueltas"),
        "shelf": "Estante de mostrador",
        "holds": "un estuche, envases vacíos",
    },
}


def words_of(language: str) -> dict[str, Any]:
    """Return what the goods are called in a language, as languages/<language>.toml has it."""
    file = DEMO / "languages/fr.toml" if language == "fr" else SPOKEN / f"{language}.toml"
    return tomllib.loads(file.read_text(encoding="utf-8"))


def demo_in(folder: Path, language: str) -> Path:
    """Copy the demo to `folder`, without pictures, with all that the owner writes in `language`."""
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("out", "photos", "plan.csv", "web_shop_fr.toml"))
    without_allotment(folder)
    words = words_of(language) if language in TERMS else None
    for file in folder.glob("sets/*/set.toml"):
        whole = file.read_text(encoding="utf-8").partition("[[photos]]")[0]
        file.write_text(tomlkit.dumps(_set(tomlkit.parse(whole), words)), encoding="utf-8")
        story = file.with_name(f"story.{language}.md")
        if language in STORIES:
            file.with_name("story.md").write_text(STORIES[language], encoding="utf-8")
        elif story.exists():
            story.replace(file.with_name("story.md"))
        for other in file.parent.glob("story.*.md"):
            other.unlink()
    _rewrite(folder / "shop.toml", lambda document: _settings(document, words, language))
    _rewrite(
        folder / "channels/hedgerow_fair.toml", lambda document: document["replace"].update({"&": JOINED[language]})
    )
    if words:
        _rewrite(folder / "channels/stall.toml", _till)
        _items(folder / "items.csv", words)
        _rewrite(folder / "wholesale.toml", lambda document: _wholesale(document, words, language))
    shutil.rmtree(folder / "languages")
    return folder


def _rewrite(file: Path, change: Callable[[Any], None]) -> None:
    document = tomlkit.parse(file.read_text(encoding="utf-8"))
    change(document)
    file.write_text(tomlkit.dumps(document), encoding="utf-8")


def _till(document: Any) -> None:
    """Give the till's columns headings that are no words of a language, but for where it counts them."""
    for column in document["column"]:
        column["heading"] = "#" + column["heading"].rpartition(" ")[2][:3]


def _name(entry: str | dict[str, str]) -> str:
    return entry if isinstance(entry, str) else entry["name"]


def _settings(document: Any, words: dict[str, Any] | None, language: str) -> None:
    document["language"], document["country"] = language, COUNTRIES[language]
    document["checks"] = {"shot-missing": "off"}
    document["labels"].pop("languages", None)
    if words is None:
        return
    for making in document["making"]:
        making["form"] = _name(words["forms"][making["form"]])
    for season in document["season"]:
        season["name"] = words["seasons"][season["name"]]
    document.pop("accepted")


def _set(document: Any, words: dict[str, Any] | None) -> Any:
    """Return a set in the language; a draft, which nothing shows, stays as it is but for its season."""
    if words is None:
        return document
    document["season"] = words["seasons"][document["season"]]
    told = words["sets"].get(document["code"])
    if told is None:
        return document
    document |= {name: told[name] for name in ("name", "theme", "keywords")}
    document.pop("title", None)
    for entry in document["contents"]:
        if "slot" not in entry:
            continue
        slot = entry["slot"]
        entry["slot"] = told["slots"][slot]
        for option in entry["choose"]:
            if not isinstance(option, str) and "says" in option:
                option["says"] = told["options"][option["item"]]
        for variant in document.get("variant", ()):
            if slot in variant["options"]:
                variant["options"][told["slots"][slot]] = variant["options"].pop(slot)
    return document


def _items(file: Path, words: dict[str, Any]) -> None:
    with file.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream))
    for row in rows:
        row["name"] = words["items"][row["code"]]
        for heading, table in (("form", "forms"), ("scent", "scents"), ("container", "containers")):
            row[heading] = _name(words[table].get(row[heading], row[heading]))
        row["cautions"] = ";".join(words["cautions"].get(part, part) for part in row["cautions"].split(";"))
    with file.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.DictWriter(stream, rows[0].keys())
        writer.writeheader()
        writer.writerows(rows)


def _wholesale(document: Any, words: dict[str, Any], language: str) -> None:
    told = TERMS[language]
    document["season"] = words["seasons"][document["season"]]
    document |= {key: text for key, text in told.items() if key not in ("groups", "shelf", "holds")}
    for group, title in zip(document["group"], told["groups"], strict=True):
        group["title"] = title
    document["display_set"][0]["name"], document["display"]["holds"] = told["shelf"], told["holds"]
