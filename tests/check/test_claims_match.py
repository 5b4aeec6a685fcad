"""Claims found in running text: each family by a sentence of its own, nothing in what only looks like one.

The rule behind each family, with its source, stands in templates/claims/; the sentences are invented.
"""

from functools import partial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from listkit.check.claims_match import find_claims, search
from listkit.check.claims_table import ClaimTable, parse_claims
from listkit.read.templates import own_templates
from tests.check.claim_sentences import FRIENDS, LEVELS, SENTENCES
from tests.steps import calls

EN = parse_claims(dict(own_templates())["claims/en.toml"])


def numbers(text: str, table: ClaimTable = EN, where: str = "eu") -> list[int]:
    return [find.family.number for find in find_claims(text, table, where=where)]


@pytest.mark.parametrize("number", SENTENCES)
def test_each_of_the_48_families_is_hit_by_its_own_sentence_exactly_once(number: int) -> None:
    assert numbers(SENTENCES[number]) == [number]


@pytest.mark.parametrize("number", SENTENCES)
def test_each_family_has_the_level_that_its_rule_asks_for(number: int) -> None:
    """Two families are of two levels: "medicated" and "clinical"; approved by an office, recommended by a person."""
    codes = {family.code for family in EN.families if family.number == number}
    asked = {code for code, of in LEVELS.items() if number in of}
    assert codes == asked | ({"claim-evidence"} if number in {26, 27} else set())


@pytest.mark.parametrize("text", FRIENDS)
def test_what_only_looks_like_a_claim_is_left_alone(text: str) -> None:
    assert numbers(text) == []


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("Headaches do not come back once you own this roller.", 7),  # "come back" is no part of the body elsewhere
        ("Wash without the chemistry set.", 36),  # "chemistry set" is a toy elsewhere
    ],
)
def test_a_denial_that_is_the_promise_is_not_hidden_by_what_lies_within_it(text: str, number: int) -> None:
    assert numbers(text) == [number]


def test_a_sense_that_begins_before_a_denial_hides_it() -> None:
    assert numbers("The jar contains nut oils and is therefore not free from allergens.") == []


def test_a_question_is_answered_by_a_warning_and_not_by_what_stands_before_one() -> None:
    asked = "Does it help with eczema?"
    assert numbers(f"{asked} Stop if a rash appears.") == []
    assert numbers(f"{asked} Yes. Stop if a rash appears.") == numbers(f"{asked} Yes.") != []


def test_a_past_that_no_rule_makes_is_a_form_of_its_verb() -> None:
    assert numbers("It drew the splinter out.") == numbers("It draws the splinter out.") != []


@pytest.mark.parametrize(
    "text",
    [
        "Do not use the clary sage bar when pregnant.",
        "Please don't burn it near anyone with asthma.",
        "Never apply the rub to eczema.",
        "Not for anybody with epilepsy, nor for babies.",
        "Keep the jar away from children with eczema.",
        "Warning: heals slowly where it burns you.",
    ],
)
def test_a_prohibition_and_what_is_headed_as_a_warning_promise_nothing(text: str) -> None:
    assert numbers(text) == []


@pytest.mark.parametrize(
    "text",
    [
        "Do not worry, it heals eczema.",
        "Do not suffer any longer: it heals eczema.",
        "A warning from my aunt: she laughs. It heals eczema.",
    ],
)
def test_a_comfort_is_no_prohibition(text: str) -> None:
    assert numbers(text) == [1]


WORLD = "In the barn behind the village the hens watch my uncle, the rain drums on the roof, and"


def test_what_claims_whatever_stands_around_it_is_told_among_words_of_the_world() -> None:
    assert numbers(f"{WORLD} the soap is non-toxic.") == [37]
    assert numbers(f"{WORLD} the bar is hypoallergenic.") == [30]
    assert numbers(f"{WORLD} the bar is not hypoallergenic.") == []
    assert numbers(f"{WORLD} there is a scar.") == []


def test_a_text_full_of_claims_tells_each_family_once() -> None:
    text = "\n\n".join([*SENTENCES.values()] * 3)
    found = list(find_claims(text, EN, where="eu"))
    assert [find.family.number for find in found] == list(range(1, 49))
    assert {find.times for find in found} == {3}


@pytest.mark.parametrize(
    "text",
    [
        "HEALS ECZEMA",
        "heals\neczema",
        "Healed my eczema",
        "healing of eczema",
        "heals — at last! — nothing",
        "ecze\u00adma healing, heals ecze\u00adma",
        "héals eczéma",
        "This is not intended to treat any disease.",
        "helps with psoriasis, they say",
        "eczema-relief",
    ],
)
def test_case_accents_hyphens_line_ends_and_forms_do_not_matter(text: str) -> None:
    assert numbers(text) == ([] if "nothing" in text else [1])


def test_a_disclaimer_does_not_undo_a_claim() -> None:
    assert numbers("Not intended to treat or cure any disease") == [1]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Stop using it if a rash appears.", []),
        ("Please ask your doctor first if you have a skin disease.", []),
        ("Nobody has to see a doctor now, it heals eczema.", [1]),
        ("Stop if a rash appears. It heals eczema.", [1]),
        ("The candle repels no midges.", []),
        ("No midges near this candle.", [25]),
    ],
)
def test_a_sentence_that_warns_and_a_verb_that_does_it_to_none_promise_nothing(text: str, expected: list[int]) -> None:
    assert numbers(text) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("No moth comes near the wardrobe.", [25]),
        ("Moths won't touch your jumpers.", [25]),
        ("The candle does not keep moths away.", []),
        ("Spots? Not any more.", [2]),
        ("Does it clear spots? Not at all.", []),
        ("Nobody is allergic to it.", [30]),
        ("We cannot say that it is hypoallergenic.", []),
    ],
)
def test_a_denial_that_is_itself_the_promise_is_told_and_a_plain_one_is_not(text: str, expected: list[int]) -> None:
    assert numbers(text) == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Will it help my acne? We honestly do not know.", []),
        ("Will it help my acne? It will.", [2]),
        ("Does your back ache? Don't wait.", [7]),
        ("Pregnant? Ask your midwife first.", []),
        ("Pregnant? You will love it.", [48]),
        ("Eczema on both arms all winter long. Ask your doctor.", [1]),
    ],
)
def test_a_question_is_as_good_as_its_answer_and_a_heading_as_the_warning_below(text: str, expected: list[int]) -> None:
    assert numbers(text) == expected


def test_what_denies_behind_the_find_denies_it_in_its_clause_alone() -> None:
    german = parse_claims(dict(own_templates())["claims/de.toml"])
    assert numbers("Gegen Mücken hilft die Kerze nicht.", german) == []
    assert numbers("Hilft gegen Mücken, aber nicht gegen Bienen.", german) == [25]


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", "Nothing in this hamper of twelve good things protects you from the sun."),
        ("en", "None of this heals eczema."),
        ("en", "No salve on this shelf treats arthritis."),
        ("en", "No jar of ours gets rid of wrinkles."),
        ("en", "I never promise younger skin."),
        ("en", "We make no promise of healing."),
        ("en", "Younger skin? We never promise that."),
        ("fr", "Rien de ce que nous vendons dans ce coffret ne protège du soleil."),
        ("fr", "Aucun de nos baumes ne guérit l’eczéma."),
        ("fr", "Je ne promets jamais une peau plus jeune."),
        ("fr", "Une peau plus jeune, nous ne la promettons pas."),
        ("de", "Nichts in diesem großen Korb voller Seifen schützt vor der Sonne."),
        ("de", "Keine unserer Seifen heilt Ekzeme."),
        ("de", "Leider heilt unser Balsam keine Ekzeme."),
        ("de", "Jüngere Haut? Versprechen wir nicht."),
        ("de", "Gegen Sonnenbrand hilft unser Balsam nicht, nehmen Sie Sonnencreme."),
        ("de", "Enthält Mandelöl, also Vorsicht bei Nussallergie."),
        ("es", "Nada de lo que vendemos alivia la artritis."),
        ("es", "Ninguna vela de aquí ahuyenta los mosquitos."),
        ("es", "Nunca prometo una piel más joven."),
        ("es", "Una piel más joven no la prometemos."),
    ],
)
def test_a_subject_that_denies_denies_its_clause_and_who_promises_nothing_claims_nothing(
    language: str, text: str
) -> None:
    assert numbers(text, parse_claims(dict(own_templates())[f"claims/{language}.toml"])) == []


@pytest.mark.parametrize(
    ("language", "text", "number"),
    [
        ("en", "Nothing works better against eczema.", 1),
        ("en", "Nothing in my cupboard relieves eczema like this balm.", 1),
        ("en", "Nothing beats this balm for eczema.", 1),
        ("en", "Nothing helped my eczema until I found this bar.", 1),
        ("fr", "Rien ne soulage mieux l’eczéma.", 1),
        ("de", "Nichts lindert Ekzeme so schnell.", 1),
        ("es", "Nada alivia mejor el eccema.", 1),
    ],
)
def test_nothing_that_works_better_is_a_promise(language: str, text: str, number: int) -> None:
    assert number in numbers(text, parse_claims(dict(own_templates())[f"claims/{language}.toml"]))


@pytest.mark.parametrize(
    ("language", "text", "told"),
    [
        ("en", "People ask me whether the balm treats acne: no.", False),
        ("en", "People ask me whether the balm treats acne: yes.", True),
        ("en", "Will it lift depression? Sadly, no.", False),
        ("en", "Is it vegan? All but the lip balm, which has beeswax.", False),
        ("en", "Is it vegan? All of it.", True),
        ("fr", "On me demande si le baume soigne l’acné : non.", False),
        ("fr", "On me demande si le baume soigne l’acné : oui.", True),
        ("fr", "Est-ce vegan ? Tout, sauf le baume à lèvres.", False),
        ("de", "Viele fragen, ob der Balsam gegen Akne hilft: nein.", False),
        ("de", "Viele fragen, ob der Balsam gegen Akne hilft: ja.", True),
        ("de", "Hilft das gegen Migräne? Leider nein.", False),
        ("de", "Ist das vegan? Alles außer dem Lippenbalsam.", False),
        ("es", "Me preguntan si el bálsamo cura el acné: no.", False),
        ("es", "¿Esto quita la migraña? Pues no.", False),
        ("es", "¿Es vegano? Todo menos el bálsamo labial.", False),
    ],
)
def test_a_question_reported_or_answered_in_part_promises_only_with_a_yes(language: str, text: str, told: bool) -> None:
    assert bool(numbers(text, parse_claims(dict(own_templates())[f"claims/{language}.toml"]))) == told


def test_a_condition_that_denies_ends_at_its_comma() -> None:
    assert numbers("If you can't sleep, this candle helps you sleep better.") == [9]
    assert numbers("It does not help you sleep better.") == []
    spanish = parse_claims(dict(own_templates())["claims/es.toml"])
    assert numbers("Si no duermes, esta vela te ayuda a dormir mejor.", spanish) == [9]


def test_what_is_denied_behind_a_comma_leaves_what_is_promised_before_it() -> None:
    assert numbers("Treats eczema, not acne.") == [1]
    assert numbers("If you have acne, it does not clear acne.") == []
    spanish = parse_claims(dict(own_templates())["claims/es.toml"])
    assert numbers("Protege del sol todo el día, no necesitas otra crema.", spanish) == [22]


def test_a_word_for_nobody_behind_the_find_denies_it_in_german() -> None:
    german = parse_claims(dict(own_templates())["claims/de.toml"])
    assert numbers("Jünger macht sie niemanden.", german) == []
    assert numbers("Jünger macht sie jeden.", german) == [15]


@pytest.mark.parametrize(
    ("language", "plain", "run_down"),
    [
        ("en", "Made without palm oil, honey or nuts.", "Made without parabens."),
        ("fr", "Sans huile de palme, sans miel, sans noix.", "Sans silicones."),
        ("de", "Ohne Palmöl, ohne Honig, ohne Nüsse.", "Ohne Parabene."),
        ("es", "Sin aceite de palma, sin miel, sin nueces.", "Sin siliconas."),
    ],
)
def test_lawful_ingredients_are_run_down_and_foods_left_out_are_plain(language: str, plain: str, run_down: str) -> None:
    """After the EU technical document on cosmetic claims (2017), annex III, from memory: who avoids it may be told."""
    table = parse_claims(dict(own_templates())[f"claims/{language}.toml"])
    assert numbers(plain, table) == []
    assert numbers(run_down, table) == [33]


@pytest.mark.parametrize(
    "text",
    [
        "Keep away from children.",
        "Do not use when pregnant.",
        "If irritation occurs, rinse and stop using it.",
        "Consult a doctor if the rash stays.",
        "People with asthma should air the room.",
        "Proceeds go to a charity for people with dementia.",
    ],
)
def test_warnings_and_good_causes_promise_nothing(text: str) -> None:
    assert numbers(text) == []


def test_words_around_a_find_are_weighed_up_to_the_full_stop() -> None:
    """Beyond a colon they still say what is spoken of; beyond a full stop they do not."""
    assert numbers("A remedy: brown paper, string, rain on the barn roof and a sleeping cat.") == []
    assert numbers("A remedy of 1.5 kinds: brown paper, string, rain on the barn roof and a sleeping cat.") == []
    assert numbers("Clears acne. Brown paper, string, rain on the barn roof and a sleeping cat.") == [2]


def test_a_sentence_of_the_shop_and_its_weather_claims_nothing_and_one_of_skin_does() -> None:
    assert numbers("A remedy shelf, brown paper, string, rain on the barn roof and a sleeping cat.") == []
    assert numbers("A remedy that clears your skin overnight.")


@pytest.mark.parametrize(
    ("claim", "sound"),
    [
        ("Healing balm for wounds.", "Old wounds, lost letters and rain."),
        ("Stress? Breathe in.", "The stress is on the second word."),
        ("A scar of the knee fades.", "A scar of gold mica runs through the bar."),
        ("Regeneration of the skin overnight.", "Regeneration of the old docks brought us a shop."),
        ("Kind to the planet.", "Our planet series: Mars, Venus and Saturn in clay."),
        ("A vegan balm.", "The vegan café on the corner keeps a box for us."),
    ],
)
def test_a_word_of_two_senses_is_told_in_the_company_of_one_of_them(claim: str, sound: str) -> None:
    assert numbers(claim)
    assert numbers(sound) == []


def test_the_words_found_are_told_from_where_they_stand() -> None:
    text = "Grandmother’s bar, a moisturising bar of soap."
    (find,) = find_claims(text, EN)
    assert text[find.start : find.end] == "moisturising bar"


def test_what_is_only_a_matter_of_european_rules_is_not_told_elsewhere() -> None:
    assert numbers("paraben-free", where="") == []


@given(st.text(max_size=150), st.text(max_size=150))
def test_any_text_is_looked_through_and_finds_stand_within_it(before: str, behind: str) -> None:
    text = f"{before}\n\nIt heals eczema.\n\n{behind}"
    finds = list(find_claims(text, EN, where="eu"))
    assert any("eczema" in text[find.start : find.end] for find in finds)
    assert all(0 <= find.start < find.end <= len(text) for find in finds)


@pytest.mark.parametrize("word", ["heals ", "helps help reduces ", "free from no ", "my "])
def test_the_work_grows_with_the_length_of_the_text(word: str) -> None:
    """Four times the text takes about four times the steps, counted in calls: nothing depends on the clock."""

    def steps(repeats: int) -> int:
        text = word * repeats
        return calls(lambda: list(find_claims(text, EN, where="eu")))

    steps(1)  # what is made ready once
    assert steps(400) < 4.25 * steps(100)


def test_a_word_that_begins_many_phrases_is_walked_in_few_steps_however_often_it_stands_there() -> None:
    """From each word a few phrases are walked: those that end with a word nearby, not all that begin here."""
    find_claims("healing skin", EN, where="eu")
    assert calls(lambda: search("healing " * 200, EN, "eu")) < 200 * 2_000


def test_a_text_without_points_is_taken_for_several_sentences() -> None:
    assert numbers("oblong " * 400 + "heals eczema " + "oblong " * 400) == numbers("heals eczema")
    many, more = (calls(partial(find_claims, "cures eczema " * times, EN, where="eu")) for times in (400, 1600))
    assert more < 4.25 * many


def test_what_would_be_walked_without_end_is_cut_and_that_is_said() -> None:
    found = search("healing soothing " * 60_000, EN, "eu")
    assert found.cut
    assert not found.finds
    assert not search("healing soothing " * 1_000, EN, "eu").cut
