"""What a build leaves out and holds back, a line each."""

from collections.abc import Iterator, Mapping, Sequence

from listkit.actions.held import Held
from listkit.check.scope import PRINT
from listkit.model.shop import FolderRead
from listkit.pipeline import Checked
from listkit.read.wording import listed


def aside_lines(checked: Checked, held: Mapping[str, Held]) -> Iterator[str]:
    """Yield what is left out (drafts, sets as asked for, sets never published) and what is held back on which places.

    Places that hold back the same are one line.
    """
    aside = checked.aside
    if drafts := tuple(each for each in aside.drafts if each.parsed):
        yield f"Left out: {_titles(drafts)} {'is a draft' if len(drafts) == 1 else 'are drafts'}."
    if unread := tuple(each for each in aside.drafts if not each.parsed):
        yield f"Left out, as set.toml cannot be read and was never published: {_titles(unread)}."
    if aside.without:
        yield f"Left out, as you asked: {_titles(aside.without)}."
    published = {code for each in held.values() for code in each.codes}
    if new := tuple(each for each in aside.broken if each.code and each.code not in published):
        yield f"Left out until mended: {_titles(new)}, published nowhere so far."
    groups: dict[tuple[str, ...], list[str]] = {}
    shared: dict[tuple[str, ...], list[str]] = {}
    for key, each in held.items():
        if each.whole and each.files in ((f"channels/{key}.toml",), ("wholesale.toml",)):
            yield f"Held back until its own file is mended: {_place(checked, key)}. All its files stay as they are."
        elif each.whole:
            shared.setdefault(each.files, []).append(_place(checked, key))
        else:
            groups.setdefault(each.codes, []).append(checked.name(key))
    for files, places in shared.items():
        mended = f"until {listed(files, 'and')} {'is' if len(files) == 1 else 'are'} mended"
        yield f"Held back {mended}: {listed(places, 'and')}. All files there stay as they are."
    titles = {each.code: each.title for each in aside.broken}
    for codes, places in groups.items():
        sets = listed([titles.get(code, code) for code in codes], "and")
        without = " ".join(f"--without {code}" for code in codes)
        yield (
            f"Held back on {listed(places, 'and')} until mended: {sets}. Feeds, lists and sheets there stay as they "
            f"are; to make them without: listkit build {without}"
        )


def _place(checked: Checked, key: str) -> str:
    """Return what people call a place; labels and cards are none that the shop lists."""
    if key == PRINT:
        return "labels and cards"
    return checked.name(key) if key in checked.places else key


def _titles(sets: Sequence[FolderRead]) -> str:
    return listed([each.title for each in sets], "and")
