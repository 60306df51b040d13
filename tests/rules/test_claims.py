"""Words that make a cosmetic a drug: found in forms nobody listed, and ordinary words let pass.

Our own sentences; the classes are those of warning letters on drug claims for cosmetics (21 U.S.C.
321(g)(1)) and of Regulation (EU) 655/2013.
"""

from typing import Any

import pytest

from tests.rules import claims_met_later, claims_unseen
from workshop.rules.claims.matching import find_words, plain_words
from workshop.rules.ingredients.names.by_market import CATALOGUE
from workshop.rules.markets.laws import law_of
from workshop.rules.markets.phrases import TABLE

US, EU = law_of("US"), law_of("EU")

STOPS = """
Healed my cracked heels overnight
Self-healing balm for the whole family
A cure-all salve
Treats foot fungus
Good for what ails achy knees
ANTI BACTERIAL hand balm
Anti–inflammatory comfrey
Kíll germs on contact
Eradicates athlete's foot
e.c.z.e.m.a cream
For excema-prone babies
Relieving balm for arthritic hands
Eases tonsillitis
Helps with neuralgia
Naturally fungicidal
Ge[r]m fighting soap
H3als wounds
Repairs the skin barrier
Stimulates cell turnover
Boosts circulation in tired legs
Lightens dark spots
Tightens and lifts
Regrows lashes
Sun protection factor 20, UVA and UVB
Repels midges
Pharmaceutical strength
Doctor's own drawing ointment
Calms anxiety before bed
Detoxifying clay
A medicated soap
Soothes burns and bug bites
Prevents nappy rash
Reduces puffiness and swelling
Decongestant chest balm
Balances hormones
Numbing foot balm
Lowers cortisol
Calms hives and rashes
FDA approved
Non-toxic
"""
PASSES = """
Softens rough hands
Cured six weeks on the rack
A slow-cured bar
A little treat for your hands
Treat yourself to a quiet hour
Leaves skin feeling firm and smooth
Reduces the look of wrinkles
Rich in wheat germ oil
Sunflower and calendula hand salve
Oat and lavender bar soap
Unscented barrier balm
Mint foot salve
Cedar beard balm
Rosehip cleansing balm
Healthy-looking shine
Washes away dirt and odour
Hand cut from a loaf
Melts at skin warmth
Keeps its scent for hours
Guards dry hands against wind and cold
A heart-shaped soap
Made with organic olive oil
Smells of a pine wood after rain
Glides on, sinks in
Antioxidant-rich oils
Anti-frizz hair butter
Scarlet rose petals
Our soap is stirred by hand
With beeswax from our own hives
Painted tins, once filled
"""
GERMAN = {
    "stops": "Heilt Ekzeme|Wundheilsalbe|Lindert Gelenkschmerzen|Wirkt gegen Fußpilz|"
    "Antibakteriell|"
    "Hilft bei Neurodermitis|Regeneriert die Zellen|Lichtschutzfaktor 15|Hält Mücken fern|"
    "Fördert die Durchblutung|Schützt vor Infektionen",
    "passes": "Pflegt trockene Haut|Macht die Hände weich|Duftet nach Lavendel|"
    "Schützt vor Wind und "
    "Kälte|Reinigt sanft|Mit Weizenkeimöl|Seife, sechs Wochen gereift|Für raue Fersen",
}
FRENCH = {
    "stops": "Guérit l’eczéma|Soulage les douleurs|Traite les mycoses|Antibactérien|"
    "Apaise les brûlures|"
    "Calme l'eczéma|Contre l’acné|Peau sujette à l'acné|Jusqu'à la guérison|"
    "Régénère les cellules|Éloigne les moustiques|Stimule la circulation|Combat les microbes",
    "passes": "Nourrit les peaux sèches|Adoucit les mains|Parfum léger de lavande|"
    "Protège du froid et "
    "du vent|Nettoie en douceur|Huile de germe de blé|Sans parfum|Baume pour les mains",
}  # fmt: skip


@pytest.mark.parametrize("claim", [one for one in STOPS.splitlines() if one])
def test_drug_word_is_found_in_any_form(claim: str) -> None:
    assert find_words(claim, US), plain_words(claim)


@pytest.mark.parametrize("claim", [one for one in PASSES.splitlines() if one])
def test_ordinary_word_of_a_cosmetic_passes(claim: str) -> None:
    assert find_words(claim, US) == () == find_words(claim, EU)


@pytest.mark.parametrize(("language", "table"), [("de", GERMAN), ("fr", FRENCH)])
def test_words_are_found_in_the_label_s_languages(language: str, table: dict[str, str]) -> None:
    missed = [one for one in table["stops"].split("|") if not find_words(one, EU, (language,))]
    stopped = {
        one: [word.word for word in found]
        for one in table["passes"].split("|")
        if (found := find_words(one, EU, (language,)))
    }

    assert (missed, stopped) == ([], {})


@pytest.mark.parametrize("sentences", [claims_unseen, claims_met_later])
@pytest.mark.parametrize("language", ["en", "de", "fr"])
def test_sentences_the_lists_were_not_made_from_stop_or_pass_as_a_person_would(
    language: str, sentences: Any
) -> None:
    spoken = ("en", language)

    missed = [one for one in sentences.STOP[language] if not find_words(one, EU, spoken)]
    stopped = [one for one in sentences.PASS[language] if find_words(one, EU, spoken)]

    assert (missed, stopped) == ([], [])


def test_no_name_of_a_material_and_no_word_of_the_tables_stops_a_label() -> None:
    # 21 CFR 701.3(c) and Decision (EU) 2025/1175 name them so; the words are those we print.
    headings = {"Allergens", "Allergene", "Allergènes"}
    named = [name for one in CATALOGUE for name in (one.glossary, one.dictionary, one.common)]
    printed = {"en": named, "de": [*named], "fr": [*named]}
    for words in TABLE:
        for language, said in zip(printed, words, strict=True):
            printed[language].append(said)

    stopped = {
        (language, said)
        for language, texts in printed.items()
        for said in {*texts} - headings
        if find_words(said, EU, (language,))
    }

    assert stopped == set()


@pytest.mark.parametrize(
    ("sentence", "language", "words"),
    [
        ("Stop using if the skin itches", "en", []),
        ("Stop using steroid creams, this heals eczema", "en", ["steroid", "heals", "eczema"]),
        ("Keep out of reach of germs that it kills", "en", ["germs", "kills"]),
        ("Nicht auf Wunden anwenden", "de", []),
        ("Nicht auf Wunden warten, die Salbe heilt sie", "de", ["wunden", "heilt"]),
        ("En cas de rougeur, cesser l’utilisation", "fr", []),
        ("Ne pas laisser l’eczéma gagner, le baume apaise", "fr", ["eczéma"]),
        ("Heilerde heilt", "de", ["heilt"]),
    ],
)
def test_caution_is_no_promise_unless_it_promises_too(
    sentence: str, language: str, words: list[str]
) -> None:
    # 21 U.S.C. 321(g)(1): what is intended for a disease, not what is kept away from it.
    assert [one.word for one in find_words(sentence, EU, (language,))] == words


def test_promise_that_goes_on_below_is_told_once() -> None:
    told = [one.word for one in find_words("Good for cracked\nheels and ec-\nzema. Heals.", US)]

    assert told == ["heals", "cracked heels", "eczema"]


def test_common_criteria_stop_a_label_in_the_eu_alone() -> None:
    # Regulation (EU) 655/2013, fairness and evidential support.
    for claim in ("Paraben-free", "Free from preservatives", "Hypoallergenic soap"):
        assert find_words(claim, EU)
        assert not find_words(claim, US)


def test_each_word_names_its_sentence_its_rule_and_what_may_be_said() -> None:
    (found,) = find_words("Smells good. Heals rough skin.", US)

    assert found.told == (
        "“heals” in “Heals rough skin” (21 U.S.C. 321(g)(1)(B); in the EU and in Great Britain a "
        "medicine by presentation). Say for instance: cares for dry, rough skin."
    )
