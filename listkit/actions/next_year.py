"""A season's sets over to another year: drafts with codes of their own, days moved, pictures marked as last year's.

The old sets stay as they are. So their codes cannot be old codes of the new ones yet; each new set.toml says in a
comment what to write once the old folder is gone.
"""

import datetime
import hashlib
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import partial
from pathlib import Path
from typing import Any, Final

from listkit.actions.new_set import other_codes, toml_of
from listkit.actions.season import season_called
from listkit.compute.build import build_catalog
from listkit.compute.catalog import SetFacts, Variant
from listkit.compute.season_end import years_later
from listkit.compute.seasons import base_name
from listkit.edit.new_set import NewSet, begun_with, folder_name, make_set, next_set_code
from listkit.edit.table import replace_files
from listkit.edit.toml import value_at, with_entry, with_value
from listkit.ledger.history import RETAIL, PricePoint, price_history
from listkit.ledger.store import LEDGER
from listkit.listing.photos import unlike
from listkit.model.fields import SetStatus
from listkit.model.photo import FocusBox
from listkit.model.settings import Season
from listkit.model.shop import Photo, SetFolder, Shop
from listkit.picture.open import BYTE_LIMIT
from listkit.pipeline import WHOLESALE, open_shop
from listkit.problem import FieldError, Problem, in_our_time, year_meant
from listkit.read.folder import SET, SHOP
from listkit.read.source import TOML_LIMIT, read_bytes
from listkit.shipped import shipped_templates
from listkit.units.money import Money
from listkit.units.spoken import Spoken

LAST_YEARS: Final = "last-years-"
"""Begins the name of a picture that was carried over."""


@dataclass(frozen=True, slots=True)
class PriceMoved:
    """A variant's price of today beside the last on record of the one it comes from, None where none is.

    `why` names what moved: items with their prices then and now, and what else there is.
    """

    code: str
    before: Money | None
    now: Money
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class AgainSet:
    """A set that was made of last year's, with the names of the pictures that came along."""

    new: NewSet
    source: SetFolder
    photos: tuple[str, ...]
    prices: tuple[PriceMoved, ...] = ()


@dataclass(frozen=True, slots=True)
class NextYear:
    """What was made: the season, whether it is new in shop.toml, the sets; `there` are folders that are left alone."""

    season: Season
    fresh: bool
    made: tuple[AgainSet, ...]
    there: tuple[str, ...]
    spoken: Spoken


def over_to(folder: Path, name: str, year: int) -> NextYear:
    """Make the sets of a season anew for the year in which it begins then; what was made before is left as it is.

    Raises:
        FieldError: there is no such season, the year is not a later one that can be meant, or no set is in it.
        BlockedError: the shop folder cannot be written to.
    """
    shop = open_shop(folder, measure_at_most=0).shop
    season = season_called(shop, name)
    years = year_meant(year) - season.on_sale.year
    if years < 1:
        message = f"{season.name} begins on {shop.settings.spoken.day(season.on_sale)}, which is not before {year}."
        raise FieldError(message, f"Name a later year: --again {season.on_sale.year + 1}.")
    finished = [each for each in build_catalog(shop).sets if each.source.gift_set.status is not SetStatus.DRAFT]
    sources = [each for each in finished if each.season == season]
    if not sources:
        raise FieldError(f'no finished set is in the season "{season.name}".', "There is nothing to make again.")
    later, fresh = _season_of(shop, season, years)
    planned = tuple(_plans(shop, sources, later, years))
    if fresh:
        _write_season(folder, later)
    made, there = [], []
    for again, photos in planned:
        if (folder / "sets" / again.new.folder).exists():
            there.append(again.new.folder)
            continue
        make_set(shipped_templates(), folder, again.new, photos)
        made.append(again)
    today = {each.code: each for each in build_catalog(open_shop(folder, measure_at_most=0).shop).sets}
    old = {each.code: each for each in sources}
    ledger = folder / LEDGER
    priced = tuple(
        replace(
            each,
            prices=tuple(
                _moved(old[each.source.gift_set.code], today.get(each.new.code), ledger, shop.settings.spoken)
            ),
        )
        for each in made
    )
    return NextYear(later, fresh, priced, tuple(there), shop.settings.spoken)


def _season_of(shop: Shop, season: Season, years: int) -> tuple[Season, bool]:
    """Return the season of the later year, and whether shop.toml has yet to say it."""
    on_sale, off_sale = (in_our_time(years_later(day, years)) for day in (season.on_sale, season.off_sale))
    later = Season(name=f"{base_name(season.name)} {on_sale.year}", on_sale=on_sale, off_sale=off_sale)
    there = next((each for each in shop.settings.seasons if each.name.casefold() == later.name.casefold()), None)
    return (there, False) if there is not None else (later, True)


def _write_season(folder: Path, later: Season) -> None:
    content = read_bytes(folder, SHOP, limit=TOML_LIMIT)
    if isinstance(content, Problem):
        raise FieldError(f"{content.place}: {content.message}", content.hint)
    seasons = value_at(content, ("season",))
    at = len(seasons) if isinstance(seasons, list) else 0
    entry: dict[str, str | datetime.date] = {"name": later.name, "on_sale": later.on_sale, "off_sale": later.off_sale}
    changed = with_entry(content, ("season",), at, entry)
    replace_files([(folder / SHOP, changed, hashlib.sha256(content).hexdigest())])


_Photos = Mapping[str, Callable[[], bytes]]


def _plans(shop: Shop, sources: list[SetFacts], season: Season, years: int) -> Iterator[tuple[AgainSet, _Photos]]:
    """Yield each set to be made, with its pictures."""
    codes = [each.gift_set.code for each in shop.sets]
    others = tuple(other_codes(shop))
    names = [f"{base_name(facts.source.gift_set.name)} {season.on_sale.year}" for facts in sources]
    for facts, name, folder in zip(sources, names, unlike(map(folder_name, names)), strict=True):
        source, gift_set = facts.source, facts.source.gift_set
        code = next_set_code(codes, others)
        if not (shop.root / "sets" / folder).exists():
            codes.append(code)
        photos = {f"{LAST_YEARS}{photo.name}": photo for photo in source.photos}
        text = begun_with(toml_of(source, shop), code, name, season.name)
        content = _with_days(text.encode(), toml_of(source, shop).encode(), years)
        if photos:
            content = with_value(content, ("photos",), [_entry(new, photo) for new, photo in photos.items()])
        new = NewSet(
            folder=folder,
            code=code,
            name=name,
            season=season.name,
            keywords=gift_set.keywords,
            proposal=None,
            shots=shop.settings.shots.required,
            boxed=gift_set.boxed,
            copied={
                SET: _noted(content.decode(), gift_set.code),
                **{Path(story.file).name: story.text for story in source.stories},
            },
        )
        reading = {new: partial(_photo, shop.root, photo.file) for new, photo in photos.items()}
        yield AgainSet(new, source, tuple(photos)), reading


def _entry(name: str, photo: Photo) -> dict[str, Any]:
    """Return what set.toml says of a picture that was carried over."""
    entry: dict[str, Any] = {"file": name, "shot": photo.shot}
    entry |= {"focus": _sides(photo.focus)} if photo.focus else {}
    entry |= {"alt": photo.alt} if photo.alt else {}
    entry |= {"shows": list(photo.shows)} if photo.shows else {}
    pieces = {code: _sides(box) for code, box in photo.pieces}
    return entry | ({"pieces": pieces} if pieces else {})


def _sides(box: FocusBox) -> list[Decimal]:
    return [box.left, box.top, box.right, box.bottom]


def _photo(root: Path, file: str) -> bytes:
    content = read_bytes(root, file, limit=BYTE_LIMIT)
    if isinstance(content, Problem):
        raise FieldError(f"{file}: {content.message}", content.hint)
    return content


def _with_days(content: bytes, before: bytes, years: int) -> bytes:
    """Return set.toml with the old one's reductions, their days moved."""
    reductions = value_at(before, ("reduction",))
    if not isinstance(reductions, list) or not reductions:
        return content
    moved = [
        {key: _later(value, years) for key, value in each.items()} for each in reductions if isinstance(each, dict)
    ]
    return with_value(content, ("reduction",), moved)


def _later(value: Any, years: int) -> Any:  # noqa: ANN401 - a value of TOML
    return years_later(value, years) if isinstance(value, datetime.date) else value


def _noted(text: str, old: str) -> str:
    note = (
        f"# Begun with {old} of the year before. Pictures called {LAST_YEARS}... are last year's: take new ones.\n"
        f'# When the folder of {old} is gone, this keeps its links, prices and sales: old_codes = ["{old}"]\n'
    )
    return f"{note}{text}"


# Prices of today beside those on record


def _moved(old: SetFacts, new: SetFacts | None, ledger: Path, spoken: Spoken) -> Iterator[PriceMoved]:
    """Yield for each variant of the new set its price beside the last on record of last year's."""
    if new is None:
        return
    before = {variant.code.removeprefix(old.code): variant for variant in old.variants}
    for variant in new.variants:
        was = before.get(variant.code.removeprefix(new.code))
        history = price_history(ledger, was.code, variant.wholesale.currency) if was and ledger.exists() else ()
        public = (each for each in reversed(history) if each.channel not in {WHOLESALE, RETAIL})
        point = next((each for each in public if each.price is not None), None)
        if point is None or point.price is None:
            yield PriceMoved(variant.code, None, variant.usual_price, ("no price of it is on record.",))
            continue
        recorded = Money(point.price, variant.wholesale.currency)
        yield PriceMoved(variant.code, recorded, variant.usual_price, tuple(_why(variant, point, ledger, spoken)))


def _why(variant: Variant, point: PricePoint, ledger: Path, spoken: Spoken) -> Iterator[str]:
    """Yield what moved a price since it was recorded: items first, then what is left over."""
    rest = variant.usual_price.amount - (point.price or Decimal(0))
    for piece in variant.pieces:
        history = price_history(ledger, piece.item.code, piece.item.retail.currency)
        then = next((each for each in reversed(history) if each.channel == RETAIL and each.day <= point.day), None)
        if then is not None and then.price is not None and then.price != piece.item.retail.amount:
            yield f"{piece.item.code} {spoken.money(then.price)} → {spoken.money(piece.item.retail)}" + (
                f", {piece.quantity} of it" if piece.quantity > 1 else ""
            )
            rest -= (piece.item.retail.amount - then.price) * piece.quantity
    if rest:
        yield f"{'+' if rest > 0 else '-'}{spoken.money(abs(rest))} of uplift, ending or a reduction that was in force"
