"""What is needed to write in a language."""

from listkit.listing.translate import read_language, shipped
from listkit.problem import Place
from tests.listing.shops import item, shop

HERE = Place("shop.toml", key=("language",))


def test_our_own_words_and_cautions_come_in_english_and_french() -> None:
    assert shipped(shop()) == ("de", "en", "es", "fr")
    for tag in ("en-GB", "fr", "fr-CA"):
        language, problems = read_language(shop(), tag, HERE)
        assert problems == ()
        assert language is not None
        assert language.tag == tag


def test_cautions_are_chosen_by_the_owner_s_own_words_and_said_in_the_language() -> None:
    language, _ = read_language(shop(), "fr", HERE)
    assert language is not None
    assert "Usage externe uniquement." in language.cautions.of(item())


def test_words_without_cautions_are_not_enough() -> None:
    made = shop(templates={"words/it.toml": ""})
    language, [problem] = read_language(made, "it", HERE)
    assert language is None
    assert problem.hint.startswith("Write one of these, or put words of your own into templates/cautions/it.toml of")
