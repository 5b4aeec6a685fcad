"""Gift sets: what is offered, its contents and choices; set.toml."""

import re
from collections.abc import Iterable
from decimal import Decimal
from typing import Annotated, Any, Final, Literal

from pydantic import AfterValidator, BeforeValidator, Discriminator, Field, PlainValidator, Tag, WithJsonSchema

from listkit import bounds
from listkit.model.fields import (
    CODE,
    Code,
    Count,
    EndingField,
    Name,
    OldNames,
    Price,
    SetStatus,
    ShopModel,
    Status,
    WholesaleField,
    Words,
    at_most,
)
from listkit.model.packaging import Carton
from listkit.model.photo import FocusBox
from listkit.model.reduction import MOST, Reduction
from listkit.problem import FieldError, quoted

SMALLEST: Final = "smallest"
SMALLEST_EACH: Final = "smallest each"
NO_BOX: Final = "none"
_MOST_OF_ONE: Final = 200  # of one item in a set; a weight typed as a quantity is mostly more


def _one_or_more(value: object) -> object:
    if value in (0, "0"):
        raise FieldError("a quantity of 0 puts nothing in the box.", "Write 1 or more, or take the entry out.")
    return value


def _so_many(quantity: int) -> int:
    if quantity > _MOST_OF_ONE:
        hint = f"Write how many lie in one set, at most {_MOST_OF_ONE}; a weight is the item's own."
        raise FieldError(f"{quantity:,} pieces of one item are too many.", hint)
    return quantity


Quantity = Annotated[Count, BeforeValidator(_one_or_more), AfterValidator(_so_many)]


class Fixed(ShopModel):
    """An item that lies in every variant."""

    item: Code = Field(description="The item's code.")
    quantity: Quantity = Field(default=1, description="How many of it.")


class Option(ShopModel):
    """One of the items a buyer may choose."""

    item: Code = Field(description="The item's code.")
    says: str = Field(
        default="",
        description="What the buyer reads; the item's name and form when left out.",
        examples=["Linden & Oat body butter"],
    )
    part: str = Field(
        default="",
        description="Its part of the variant's code; the last part of the item's code when left out.",
        examples=["U2"],
    )

    old_codes: OldNames = Field(
        default=(),
        description="Codes of items that could be chosen in its place before: variants had their parts.",
        examples=[["OH-J01"]],
    )

    @property
    def code_part(self) -> str:
        """Its part of the variant's code: the stated one, else the last part of the item's code."""
        return self.part or self.item.rpartition("-")[2]

    def code_parts(self, old_codes: Iterable[str]) -> tuple[str, ...]:
        """Return today's part of the variant's code, then what it was under old codes of the item and its own."""
        parts = (self.code_part, *(code.rpartition("-")[2] for code in (*old_codes, *self.old_codes)))
        return tuple(dict.fromkeys(parts))


def _option(value: object) -> object:
    return {"item": value} if isinstance(value, str) else value


OptionEntry = Annotated[Option, BeforeValidator(_option, json_schema_input_type=str | Option)]


class Slot(ShopModel):
    """A place in the set where the buyer chooses."""

    slot: Name = Field(description='What the buyer chooses: "Jar".', examples=["Jar"])
    choose: tuple[OptionEntry, ...] = Field(min_length=1, description="The options.", examples=[["OH-B01", "OH-B02"]])
    default: Annotated[str, CODE] = Field(default="", description="The option shown first; the first when left out.")
    quantity: Quantity = Field(default=1, description="How many of the chosen one.")


def _kind(value: Any) -> str:  # noqa: ANN401 - whatever the file says
    return (
        "slot"
        if isinstance(value, Slot) or (isinstance(value, dict) and ("slot" in value or "choose" in value))
        else "item"
    )


Entry = Annotated[Annotated[Fixed, Tag("item")] | Annotated[Slot, Tag("slot")], Discriminator(_kind)]


# Codes of variants: the set's code and each chosen option's part, joined by a hyphen.


def variant_code(set_code: str, parts: tuple[str, ...]) -> str:
    """Return the variant's code: variant_code("OHS-1", ("U01",)) is "OHS-1-U01"."""
    return "-".join((set_code, *parts))


class VariantNote(ShopModel):
    """What belongs to one variant alone."""

    options: dict[str, Code] = Field(
        description="Slot name = item code, which picks the variant.", examples=[{"Jar": "OH-B01"}]
    )
    code: Code | None = Field(
        default=None, description="The variant's own code, instead of the made one.", examples=["OHS-1-LINDEN"]
    )
    old_codes: OldNames = Field(default=(), description="Codes that it had before.", examples=[["OHS-1-J01"]])
    gtin: str = Field(default="", description="Its GTIN; never made up.", examples=["9520000010010"])
    price: Price | None = Field(
        default=None, description="A price already in print; only compared.", examples=["29.00"]
    )
    status: Status | None = Field(default=None, description="on sale, last chance or closed, when unlike the set's.")
    photo: str = Field(
        default="", description="The picture that shows it, from the set's photos.", examples=["open-box.jpg"]
    )


_AS_IN: Final = "as in [0.20, 0.15, 0.85, 0.90]"


def _share_of_side(value: object) -> Decimal:
    share = Decimal(value) if isinstance(value, (int, Decimal)) and not isinstance(value, bool) else None
    if share is None or share.is_nan() or not 0 <= share <= 1:
        raise FieldError(
            f"{quoted(str(value))} is not a share of the picture.",
            "Write four numbers from 0 to 1: left, top, right, bottom.",
        )
    return share


def _focus(value: object) -> FocusBox:
    if not isinstance(value, (list, tuple)) or len(value) != 4:
        raise FieldError("a focus box has four sides.", f"Write left, top, right, bottom, {_AS_IN}.")
    left, top, right, bottom = (_share_of_side(side) for side in value)
    if left >= right or top >= bottom:
        raise FieldError("the focus box is turned over or empty.", f"Write left, top, right, bottom, {_AS_IN}.")
    return FocusBox(left, top, right, bottom)


Focus = Annotated[FocusBox, PlainValidator(_focus), WithJsonSchema({"type": "array", "items": {"type": "number"}})]


def _piece(value: object) -> FocusBox:
    """Return where one piece is in a picture; four numbers in one text, "0.1, 0.2, 0.4, 0.5", are read as a list is."""
    parts = [part.strip() for part in value.split(",")] if isinstance(value, str) else []
    return _focus([Decimal(part) if _SHARE.fullmatch(part) else part for part in parts] if parts else value)


_SHARE: Final = re.compile(r"[0-9]{1,3}(\.[0-9]{1,9})?", re.ASCII)
PieceBox = Annotated[FocusBox, PlainValidator(_piece), WithJsonSchema({"type": "array", "items": {"type": "number"}})]


class PhotoNote(ShopModel):
    """What the owner says of one photo."""

    file: str = Field(description="Its file name in the set's photos folder.", examples=["styled.jpg"])
    shot: str = Field(default="", description='What it shows: "open box", "styled", "group" ...')
    focus: Focus | None = Field(
        default=None,
        description="Left, top, right, bottom as shares of the upright picture; never cut.",
        examples=[[0.2, 0.15, 0.85, 0.9]],
    )
    alt: str = Field(default="", description="Words for those who cannot see it; made from the contents when left out.")
    shows: tuple[Code, ...] = Field(default=(), description="Which options are in the picture.")
    pieces: dict[Code, PieceBox] = Field(
        default_factory=dict,
        description="Where single pieces are in it, a focus box each: a close view for those without their own photo.",
        examples=[{"OH-T01": [0.1, 0.2, 0.4, 0.5]}],
    )


class MessageCard(ShopModel):
    """The buyer may add words of her own."""

    characters: Count = Field(description="How many.")


class GiftSet(ShopModel):
    """All of set.toml."""

    code: Code = Field(description="The set's code, once in the shop.", examples=["OHS-1"])
    old_codes: OldNames = Field(
        default=(), description="Codes that it had before; they are understood wherever they are still written."
    )
    name: Name = Field(description="The set's name.", examples=["First Nectar"])
    theme: str = Field(
        default="", description="The set in one sentence.", examples=["The first warm morning at the hives."]
    )
    season: str = Field(default="", description="The name of its season in shop.toml.", examples=["spring"])
    box: Annotated[str, CODE] = Field(
        description='A box\'s code, "smallest" for all variants, "smallest each" for every one, or "none".',
        examples=["S", SMALLEST],
    )
    keywords: Words = Field(default=(), description="What buyers look for.", examples=[["spring gift", "soap set"]])
    category: str = Field(default="", description="What kind of goods it is, for feeds.", examples=["gift sets"])
    status: SetStatus = Field(
        default=SetStatus.ON_SALE, description="on sale, last chance, closed, or draft: not finished, so left out."
    )
    title: str = Field(
        default="",
        description="The title, when it is not to be made from name and contents.",
        examples=["First Nectar: soap & balm gift set"],
    )
    uplift: Price | None = Field(default=None, description="Instead of the shop's.", examples=["2.50"])
    ending: EndingField | None = Field(default=None, description="Instead of the shop's.")
    option_prices: Literal["own", "dearest", "equal"] | None = Field(default=None, description="Instead of the shop's.")
    wholesale: WholesaleField | None = Field(default=None, description="Instead of the shop's.")
    card: bool = Field(default=True, description="false leaves the card out.")
    stacked: bool = Field(default=False, description="true lets pieces lie above each other.")
    price: Price | None = Field(
        default=None, description="A price already in print; only compared.", examples=["29.00"]
    )
    message_card: MessageCard | None = Field(default=None, description="The buyer may add words.")
    not_together: tuple[tuple[Code, ...], ...] = Field(
        default=(), description="Codes that never share a box.", examples=[[["OH-B01", "OH-B02"]]]
    )
    carton: Carton | None = Field(default=None, description="What a set without box is sent in.")
    contents: Annotated[tuple[Entry, ...], at_most(bounds.CONTENTS)] = Field(
        min_length=1, description="What is in it, one [[contents]] each."
    )
    variants: tuple[VariantNote, ...] = Field(default=(), alias="variant", description="What belongs to one variant.")
    photos: tuple[PhotoNote, ...] = Field(default=(), description="What is said of single photos.")
    reductions: Annotated[tuple[Reduction, ...], MOST] = Field(
        default=(), alias="reduction", description="Lower prices for a time, one [[reduction]] each, before the shop's."
    )

    @property
    def sold_as(self) -> Status:
        """Whether its variants may be sold; of a draft as though it were finished."""
        return Status.ON_SALE if self.status is SetStatus.DRAFT else Status(self.status.value)

    @property
    def boxed(self) -> bool:
        """Whether the pieces lie in a gift box."""
        return self.box != NO_BOX

    @property
    def slots(self) -> tuple[Slot, ...]:
        """The slots in the order of the contents."""
        return tuple(entry for entry in self.contents if isinstance(entry, Slot))

    @property
    def item_codes(self) -> tuple[str, ...]:
        """Every item it may hold, fixed ones and options, in order, each once."""
        codes = [
            code for e in self.contents for code in ([o.item for o in e.choose] if isinstance(e, Slot) else [e.item])
        ]
        return tuple(dict.fromkeys(codes))


# The words that stand where an owner has still to write: put there with a new set, looked for by the checks.

TO_WRITE: Final = "WRITE HERE"
"""Begins what is left to write, in a theme or on a line of a story."""
