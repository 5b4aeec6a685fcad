"""The commands that cases run, by what was changed before them, and where each may write."""

import os
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from random import Random
from typing import Final

from tests.fuzz.rich_shop import STALL_SHEET, TODAY

Words = tuple[str, ...]
ON_SHOP: Final[Sequence[Words]] = (
    *[("check",)] * 10, ("check", "--explain", "photo-small"),
    ("build",), ("build",), ("build", "--accept-large-changes"),
    ("show", "--all"), ("show", "OHS-1"), ("changes",), ("record", "web_shop"), ("history", "OHS-1"),
    ("add", "New Moon"), ("compare", "web_shop", "{given}/web_shop-feed.csv"),
)  # fmt: skip
ON_BOOKS: Final[Sequence[Words]] = (
    ("stock", "show"), ("stock", "show", "OH-B01"), ("stock", "start"), ("stock", "undo"),
    ("stock", "add", "{given}/moved.csv", "--again"), ("stock", "add", "{given}/sales.csv", "--place", "web_shop"),
    ("plan",), ("plan", "--json"), ("plan", "--propose", "120 %"), ("plan", "--calendar"),
    ("season", "spring"), ("season", "spring", "--csv"), ("season", "spring", "--page", "{build}/season.html"),
    ("season", "spring", "--again", "2028"), ("season", "all year", "--json"),
    ("allot",), ("allot", "--look"), ("allot", "--look", "--json"),
    ("print", "labels"), ("print", "price-cards"), ("print", "packing"), ("print", "inserts"),
    ("print", "market", "--place", "stall", "--day", "2026-12-05"), ("print", "post", "{given}/post.csv"),
    ("order", "{given}/filled-order.xlsx"), ("order", "{given}/filled-order.xlsx", "--sent"),
    ("order", "{given}/filled-order.xlsx", "--cancel"), ("orders",), ("orders", "--json"),
    ("pack", "web_shop", "{build}/web-shop.zip"), ("rename", "OH-B01", "OH-B91", "--apply"),
    ("check",), ("build",), ("changes",), ("show", "--all"), ("record", "web_shop"), ("history", "OH-B01"),
)  # fmt: skip
"""What goes by movements, plans and orders."""
ON_MEMORY: Final[Sequence[Words]] = (
    ("build",), ("build",), ("changes",), ("history", "OHS-1"), ("record", "web_shop"), ("check",), ("orders",),
    ("order", "{given}/filled-order.xlsx"), ("order", "{given}/filled-order.xlsx", "--sent"),
    ("print", "labels"), ("plan", "--calendar"), ("pack", "web_shop", "{build}/web-shop.zip"), ("season", "spring"),
    ("compare", "web_shop", "{given}/web_shop-feed.csv"),
)  # fmt: skip
ON_GIVEN: Final[Sequence[Words]] = (
    ("compare", "web_shop", "{file}"), ("compare", "hedgerow_fair", "{file}"), ("compare", "stall", "{file}"),
    ("learn", "{file}", "--name", "Fair on the Green"), ("new", "{build}/new", "--items", "{file}"),
    ("order", "{file}"), ("order", "{file}", "--anyway"), ("stock", "add", "{file}"),
    ("stock", "add", "{file}", "--place", "stall", "--look"), ("print", "labels", "--counts", "{file}"),
    ("print", "messages", "--orders", "{file}"), ("print", "post", "{file}"),
)  # fmt: skip
FITTING: Final[Mapping[str, Sequence[Words]]] = {
    "order": (
        ("order", "{file}"), ("order", "{file}", "--anyway"), ("order", "{file}", "--anyway", "--stockist", "ST-01"),
        ("print", "labels", "--counts", "{file}"),
    ),
    "moved": (("stock", "add", "{file}"), ("stock", "add", "{file}", "--place", "stall", "--day", "2026-11-21")),
    "sales": (("stock", "add", "{file}", "--place", "web_shop"), ("print", "post", "{file}")),
    STALL_SHEET: (("stock", "add", "{file}", "--place", "stall", "--day", "2026-12-05"),),
    "messages": (("print", "messages", "--orders", "{file}"),),
    "post": (("print", "post", "{file}"),),
}  # fmt: skip
"""What is usually done with a given file, by a part of its name."""
_UNDATED: Final = frozenset({"add", "learn", "new", "rename", "history", "show", "changes", "record", "compare"})
_WITH_OUT: Final = frozenset({"build", "changes", "record", "compare", "order", "print", "pack"})
# What a command may write in the shop folder, besides its output folder.
_IN_SHOP: Final[Mapping[str, Words]] = {
    "add": ("sets",), "learn": ("channels",), "record": ("ledger",), "changes": ("ledger",), "history": ("ledger",),
    "build": ("ledger",), "order": ("ledger", "movements.csv", ".listkit"),
    "stock": ("movements.csv", ".listkit", "channels"),
    "allot": ("allotment.csv", ".listkit", ".part-"), "rename": ("",), "season": ("",),
}  # fmt: skip


def usual_for(chance: Random, file: Path) -> Words:
    """Return a command for a given file: mostly one that its name asks for."""
    fitting = next((words for part, words in FITTING.items() if part in file.name), ON_GIVEN)
    return chance.choice(fitting if chance.random() < 0.8 else ON_GIVEN)


def command(words: Words, place: Path, file: Path = Path()) -> Words:
    """Return the words of a command as it is typed for the shop of this place."""
    folders = {"given": str(place / "given"), "build": str(place / "build"), "file": str(file)}
    words = tuple(word.format_map(folders) for word in words)
    if words[0] == "new":
        return words
    dated = () if words[0] in _UNDATED else ("--today", TODAY)
    to = ("--out", str(place / "build")) if words[0] in _WITH_OUT or "--calendar" in words else ()
    return (*words, "--shop", str(place / "shop"), *dated, *to)


def may_write(words: Words, place: Path) -> tuple[str, ...]:
    """Return where a command may write: the output folder, its own scratch folders, and what it is told to edit."""
    scratch = tuple(os.path.join(tempfile.gettempdir(), name) for name in ("listkit-", "tmp"))
    own = tuple(str(place / "shop" / name) for name in _IN_SHOP.get(words[0], ()))
    return (str(place / "build"), *scratch, *own)
