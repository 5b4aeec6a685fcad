"""Translations: what the shop calls its goods in another language; languages/<language>.toml, one file a language.

Names stand by code; forms, scents, containers and seasons by the owner's own word for them, so that a word which many
items share is translated once.
"""

from typing import Annotated

from pydantic import BeforeValidator, Field

from listkit.model.fields import Code, Name, ShopModel, Words


class FormWords(ShopModel):
    """A form in the language, and how it goes where the rules of the language do not tell."""

    name: Name = Field(description='The form: "savon".', examples=["savon"])
    one: str = Field(default="", description='One of it with its article: "un savon".', examples=["un savon"])
    many: str = Field(default="", description='Several, without article: "savons".', examples=["savons"])


def _form(value: object) -> object:
    return {"name": value} if isinstance(value, str) else value


FormEntry = Annotated[FormWords, BeforeValidator(_form, json_schema_input_type=str | FormWords)]


class TranslatedSet(ShopModel):
    """What one set says in the language; its story stands beside set.toml, in story.<language>.md."""

    name: Name = Field(description="The set's name.", examples=["Premier nectar"])
    theme: str = Field(
        default="", description="The set in one sentence.", examples=["Le premier matin tiède auprès des ruches."]
    )
    title: str = Field(default="", description="The title, when it is not to be made from name and contents.")
    keywords: Words = Field(default=(), description="What buyers look for.")
    category: str = Field(default="", description="What kind of goods it is, for feeds.")
    slots: dict[str, Name] = Field(
        default_factory=dict, description="Slot name = what the buyer reads.", examples=[{"Jar": "Pot"}]
    )
    options: dict[Code, Name] = Field(
        default_factory=dict,
        description="Item code = what the buyer reads of an option, where set.toml says it.",
        examples=[{"OH-B01": "Savon au miel"}],
    )
    photos: dict[str, Name] = Field(
        default_factory=dict,
        description="File name = words for those who cannot see it; made when left out.",
        examples=[{"styled.jpg": "Un savon sur un linge"}],
    )


class Translation(ShopModel):
    """All of languages/<language>.toml."""

    forms: dict[str, FormEntry] = Field(
        default_factory=dict, description="Your form = the form in this language.", examples=[{"bar soap": "savon"}]
    )
    scents: dict[str, Name] = Field(
        default_factory=dict, description="Your scent = the scent in this language.", examples=[{"clover": "trèfle"}]
    )
    containers: dict[str, FormEntry] = Field(
        default_factory=dict, description="Your container = the container in this language.", examples=[{"jar": "pot"}]
    )
    seasons: dict[str, Name] = Field(
        default_factory=dict,
        description="Your season = the season in this language.",
        examples=[{"spring": "printemps"}],
    )
    cautions: dict[str, Name] = Field(
        default_factory=dict,
        description="A caution in your own words = the same in this language.",
        examples=[{"Keep dry.": "Garder au sec."}],
    )
    items: dict[Code, Name] = Field(
        default_factory=dict,
        description="Item code = its name; a form that the name says already is not said again.",
        examples=[{"OH-B01": "Miel et trèfle"}],
    )
    sets: dict[Code, TranslatedSet] = Field(
        default_factory=dict, description="Set code = its words.", examples=[{"OHS-1": {"name": "Premier nectar"}}]
    )
