"""Long texts are kept once and come back letter for letter."""

import json

from hypothesis import given
from hypothesis import strategies as st

from listkit.ledger.lines import canonical, digest_of, joined, parted
from tests.ledger.rows import TEXT, lines, row

members = st.dictionaries(
    st.text(max_size=8),
    st.one_of(st.text(max_size=400), st.integers(), st.booleans(), st.lists(st.text(max_size=90), max_size=6)),
)


@given(members)
def test_any_line_comes_back_letter_for_letter(facts: dict[str, object]) -> None:
    kept: list[str] = []

    def keep(text: str) -> int:
        kept.append(text)
        return len(kept) - 1

    line = canonical(facts)
    assert joined(parted(line, keep), kept.__getitem__) == line


def test_a_line_in_another_form_is_kept_as_it_is() -> None:
    line = json.dumps({"b": TEXT, "a": 1}, indent=2)
    assert parted(line, lambda text: 0) == line


def test_only_long_members_are_parted() -> None:
    kept: list[str] = []

    def keep(text: str) -> int:
        kept.append(text)
        return len(kept)

    [(_, line)] = lines(row("A"))
    short = json.loads(parted(line, keep))
    assert kept == [canonical(TEXT)]
    assert short["description"] == {"passage": 1}
    assert short["price"] == "29.00"


def test_a_digest_is_sha_256() -> None:
    """FIPS 180-2, appendix B.1: the one-block message "abc"."""
    assert digest_of("abc").hex() == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
