"""What a piece is called: its name with what it is, in the order of a language, no word twice.

English says the name first, "Rosemary & Rind bar soap", French, German and Spanish what it is, "jabón «Romero y
corteza»". Order and quotes are a language's own and stand in its words, [titles] alone; so does which word of a form
says what it is.
"""

import re
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

from listkit.model.item import Item

_WORD: Final = re.compile(r"[\w'’]+")
_PLACE: Final = re.compile(r"\{name\}|\{form\}")
_HYPHENED: Final = re.compile(r"[\w'’]+(?:-[\w'’]+)*")
_JOINING: Final = frozenset({"of", "de", "du", "a", "en"})
"""Words that join those of a form, as in a bar of soap; without accents, as they are compared."""
_LEAST_JOINED: Final = 4
"""Letters of a word that may be the end of a longer one, as in "Rosmarinseife"."""


@dataclass(frozen=True, slots=True)
class Naming:
    """How a language calls a piece: `pattern` has places for name and form; `shared` is which word says what it is.

    The default is the order of English, for a shop whose language has no words, which is told where texts are made.
    """

    pattern: str = "{name} {form}"
    shared: str = "last"

    @property
    def form_first(self) -> bool:
        """Whether what it is stands before its name."""
        name, form = self.pattern.find("{name}"), self.pattern.find("{form}")
        return -1 < form < name

    def within(self, item: Item) -> str:
        """Return what an item is called within a sentence."""
        return full_name(item.name, item.form, self)

    def of(self, item: Item) -> str:
        """Return what an item is called where it stands alone, with a capital if its form begins it."""
        return self.alone(item.name, item.form)

    def alone(self, name: str, form: str) -> str:
        """Return what something of a name and a form is called where it stands alone."""
        called = full_name(name, form, self)
        return called[:1].upper() + called[1:] if self.form_first and called != name else called


NAME_FIRST: Final = Naming()


@lru_cache(maxsize=65_536)
def full_name(name: str, form: str, naming: Naming) -> str:
    """Return name and form, no word twice; a name that says what it is stays as it is.

    >>> full_name("Rosemary & Rind", "bar soap", Naming())
    'Rosemary & Rind bar soap'
    >>> full_name("Lip Balm Beeswax", "lip balm", Naming()), full_name("Boar bristle brush", "nail brush", Naming())
    ('Lip Balm Beeswax', 'Boar bristle brush')
    >>> full_name("Sea Salt", "salt scrub", Naming()), full_name("Mini Clover", "mini butter", Naming())
    ('Sea Salt scrub', 'Mini Clover butter')
    >>> full_name("Nettle Soap bar", "bar soap", Naming()), full_name("Soap bar", "bar of soap", Naming())
    ('Nettle Soap bar', 'Soap bar')
    >>> full_name("Romero", "jabón", Naming("{form} «{name}»", "first"))
    'jabón «Romero»'
    """
    of_name, of_form = _words(name), _words(form)
    if not of_form:
        return f"{name} {form}".strip()
    joins = naming.form_first or len(of_form) == 1  # "Starlight" does not say that it is a tea light
    if _says_what_it_is(of_name, of_form, joins=joins) or (naming.form_first and _begins_with_it(name, form, naming)):
        return name
    form = form if naming.form_first else _more_than_said(form, of_name, of_form)
    places = {"{name}": name, "{form}": form}
    return _PLACE.sub(lambda place: places[place[0]], naming.pattern) if form else name


def _more_than_said(form: str, of_name: list[str], of_form: list[str]) -> str:
    """Return a form behind a name without the words at its beginning that are in the name."""
    shared = next((count for count in range(len(of_form) - 1, 0, -1) if of_name[-count:] == of_form[:count]), 0)
    shared = shared or next(count for count, word in enumerate((*of_form[:-1], "")) if word not in of_name)
    if not shared:
        return form
    form = unicodedata.normalize("NFC", form)  # as its words were found
    ends = [match.end() for match in _WORD.finditer(form)]
    return form[ends[shared - 1] :].lstrip(" -–")


def _says_what_it_is(of_name: list[str], of_form: list[str], *, joins: bool) -> bool:
    """Whether a name has all words of a form in it, or ends as it does: as a word, or as the end of one if `joins`."""
    parts, head = {*of_form} - _JOINING, of_form[-1]
    return (
        of_name[-1:] == of_form[-1:]
        or (joins and len(head) >= _LEAST_JOINED and of_name[-1:] != [] and of_name[-1].endswith(head))
        or {*of_name[-len(parts) :]} == parts
        or any(of_name[at : at + len(of_form)] == of_form for at in range(len(of_name)))
    )


def _begins_with_it(name: str, form: str, naming: Naming) -> bool:
    """Whether a name begins with the word that says what the form is: "Jabón de romero", "Rosmarinseife mit Honig"."""
    of_name, of_form = _words(name, _HYPHENED), _words(form, _HYPHENED)
    if naming.shared == "first":
        return of_name[:1] == of_form[:1]
    return len(of_form[-1]) >= _LEAST_JOINED and of_name[:1] != [] and of_name[0].endswith(of_form[-1])


def _words(text: str, word: re.Pattern[str] = _WORD) -> list[str]:
    """Return the words of a text as they are compared; parted first, since one sign may stand for several words."""
    return [_compared(found) for found in word.findall(unicodedata.normalize("NFC", text))]


def _compared(word: str) -> str:
    decomposed = unicodedata.normalize("NFKD", word.casefold())
    return "".join(sign for sign in decomposed if not unicodedata.combining(sign))
