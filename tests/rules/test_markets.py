"""What markets ask of names, words and sheets, held against their published rules."""

from datetime import date

import pytest

from workshop.rules.errors import RuleError
from workshop.rules.ingredients.names.by_market import CATALOGUE, name_by, same_ingredient_key
from workshop.rules.markets.laws import LAWS, law_of
from workshop.rules.markets.market_sheet_check import SheetFacts, sheet_problems
from workshop.rules.markets.phrases import TABLE, filled, in_languages, own_phrases


def test_every_material_has_its_glossary_name_without_english_and_its_dictionary_name_once() -> (
    None
):
    # Decision (EU) 2025/1175 by the inventory it follows; 21 CFR 701.3(c). 213 materials.
    assert len(CATALOGUE) > 100
    for one in CATALOGUE:
        for entered in (one.glossary, one.dictionary):
            eu, us = name_by("glossary", entered, one.common), name_by("dictionary", entered)
            assert "(" not in eu or eu.startswith("CI"), one
            assert us.count("(") <= 1, one
            assert same_ingredient_key(eu) == same_ingredient_key(us), one


@pytest.mark.parametrize(
    ("entered", "eu", "us"),
    [
        ("Helianthus Annuus (Sunflower) Seed Oil", "Helianthus Annuus Seed Oil", None),
        ("Helianthus Annuus Seed Oil", None, "Helianthus Annuus (Sunflower) Seed Oil"),
        ("Cera Alba", "Cera Alba", "Beeswax"),
        ("Beeswax", "Cera Alba", "Beeswax"),
        ("Candelilla Cera", "Candelilla Cera", "Candelilla Cera (sunflower oil)"),
        ("Rosa Nova (Briar) Seed Oil", "Rosa Nova Seed Oil", "Rosa Nova (Briar) Seed Oil"),
    ],
)
def test_name_follows_the_market_and_never_stands_twice(
    entered: str, eu: str | None, us: str | None
) -> None:
    assert name_by("glossary", entered, "sunflower oil") == (eu or entered)
    assert name_by("dictionary", entered, "sunflower oil") == (us or entered)


def test_own_name_of_the_owner_comes_first() -> None:
    own = {"cera alba": "Cera Flava"}

    assert name_by("glossary", "Cera Alba", own=own) == "Cera Flava"


def test_every_phrase_has_german_and_french_with_the_same_gaps() -> None:
    for english, german, french in TABLE:
        assert english.count("{}") == german.count("{}") == french.count("{}"), english


def test_words_missing_in_a_language_are_told_and_an_owner_adds_them() -> None:
    words = "Keep away from eyes. Melt gently."
    own = own_phrases({("de", "Melt gently"): "Sanft schmelzen"})

    assert in_languages(words, ("de",))[1] == ["Melt gently."]
    assert in_languages(words, ("de",), own) == (
        "Nicht in die Augen bringen. Sanft schmelzen.",
        [],
    )
    assert filled("Lot {}", ("K7",), "is") == "Lot K7"


GOOD = SheetFacts(
    responsible="Fell & Ferry", responsible_country="DE", maker="Wren", contact="555-0100",
    origin="US", languages=("de",), function="Hand salve", substantiated_by="A. Assessor",
    substantiated_on=date(2026, 1, 5),
)  # fmt: skip


@pytest.mark.parametrize(("market", "subjects"), [("EU", []), ("UK", ["responsible"]), ("US", [])])
def test_responsible_person_stands_in_the_market_itself(market: str, subjects: list[str]) -> None:
    # Regulation (EC) 1223/2009, article 4, and as retained; the US has none, 21 CFR 701.12.
    assert [one.subject for one in sheet_problems(GOOD, law_of(market))] == subjects


def test_empty_sheet_names_all_that_is_missing_by_its_rule() -> None:
    missing = {
        code: [one.subject for one in sheet_problems(SheetFacts(), law)]
        for code, law in LAWS.items()
    }

    assert missing == {
        "US": ["maker", "contact", "languages", "substantiation"],
        "EU": ["responsible", "origin", "languages", "function", "substantiation"],
        "UK": ["responsible", "origin", "languages", "function", "substantiation"],
    }


def test_soap_is_no_cosmetic_in_the_us_alone_and_only_as_soap() -> None:
    # 21 CFR 701.20.
    soap = SheetFacts(**{**vars(GOOD), "product_class": "soap", "substantiated_by": ""})
    softening = SheetFacts(**{**vars(soap), "other_than_soap": ("Softens hands",)})

    assert sheet_problems(soap, law_of("US")) == ()
    assert [one.rule for one in sheet_problems(softening, law_of("US"))] == ["21 CFR 701.20"]
    assert [one.subject for one in sheet_problems(soap, law_of("EU"))] == ["class"]


def test_what_looks_like_a_drug_is_labelled_nowhere() -> None:
    drug = SheetFacts(**{**vars(GOOD), "product_class": "drug"})

    for law in LAWS.values():
        assert any(one.stops_print and one.subject == "class" for one in sheet_problems(drug, law))


def test_unknown_market_is_refused() -> None:
    with pytest.raises(RuleError, match="use US, EU, UK"):
        law_of("XX")
