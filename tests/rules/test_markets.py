"""What markets ask of names, words and sheets, held against their published rules."""

from dataclasses import replace
from datetime import date
from fractions import Fraction
from typing import Any

import pytest

from workshop.rules.claims.matching import find_words
from workshop.rules.errors import RuleError
from workshop.rules.ingredients.composition import Constituent
from workshop.rules.ingredients.declaration import declare, in_any_order
from workshop.rules.ingredients.names.by_market import CATALOGUE, name_by, same_ingredient_key
from workshop.rules.markets.laws import LAWS, law_of
from workshop.rules.markets.market_sheet_check import SheetFacts, sheet_problems
from workshop.rules.markets.phrases import (
    TABLE,
    day_in,
    filled,
    in_languages,
    own_phrases,
    phrase,
)


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


def sheet(**other: Any) -> SheetFacts:
    return replace(GOOD, **other)


@pytest.mark.parametrize(
    ("market", "changed", "found"),
    [
        # Regulation (EC) 1223/2009, article 4 and 19(1)(a): a person in the market, and the origin
        # of what is imported.
        ("EU", {"responsible": ""}, [
            ("responsible", "No responsible person in the European Union is named.",
             "Regulation (EC) 1223/2009, articles 4 and 19(1)(a)", True)]),
        ("EU", {"responsible_country": "CH"}, [
            ("responsible", "The responsible person has no address in the European Union.",
             "Regulation (EC) 1223/2009, articles 4 and 19(1)(a)", True)]),
        ("EU", {"origin": ""}, [
            ("origin", "The country of origin is not entered.",
             "Regulation (EC) 1223/2009, articles 4 and 19(1)(a)", False)]),
        ("EU", {"maker": "", "contact": ""}, []),
        # Article 19(1)(f), the function; 10, the safety report.
        ("EU", {"function": ""}, [
            ("function", "Neither its function nor what it is has been entered.",
             "Regulation (EC) 1223/2009, article 19(1)(f)", False)]),
        ("EU", {"substantiated_by": ""}, [
            ("substantiation",
             "The cosmetic product safety report is not entered: who assessed it, and when.",
             "Regulation (EC) 1223/2009, article 10", False)]),
        ("EU", {"substantiated_on": None}, [
            ("substantiation",
             "The cosmetic product safety report is not entered: who assessed it, and when.",
             "Regulation (EC) 1223/2009, article 10", False)]),
        ("EU", {"product_class": "soap", "substantiated_by": "", "substantiated_on": None}, [
            ("class", "Soap for the body is a cosmetic in the European Union.",
             "Regulation (EC) 1223/2009, article 19(1)(g)", True)]),
        ("EU", {"languages": ()}, [
            ("languages", "No language of the label is chosen.", "", False)]),
        ("UK", {"responsible_country": "GB", "product_class": "soap"}, [
            ("class", "Soap for the body is a cosmetic in Great Britain.",
             law_of("UK").list_rule, True)]),
        ("EU", {"untranslated": ("Wax", "Melt")}, [
            ("words", "The table of words has nothing for “Wax” in a language of the label.", "",
             False),
            ("words", "The table of words has nothing for “Melt” in a language of the label.", "",
             False)]),
        # 21 CFR 701.12, the maker's name and place; 21 U.S.C. 364e, a contact; 364d, the proof.
        ("US", {"maker": "", "responsible": "", "origin": "", "function": ""}, [
            ("maker", "The maker’s name and place are missing.", "21 CFR 701.12", False)]),
        ("US", {"contact": ""}, [
            ("contact", "The label needs an address, a telephone or an electronic contact for "
             "reports of adverse events: Set-up → The workshop.", "21 U.S.C. 364e", False)]),
        ("US", {"substantiated_by": ""}, [
            ("substantiation",
             "The safety substantiation is not entered: who assessed it, and when.",
             "21 U.S.C. 364d", False)]),
        # True soap is no cosmetic there: neither contact nor proof is asked for, 21 CFR 701.20.
        ("US", {"product_class": "soap", "contact": "", "substantiated_by": ""}, []),
        ("US", {"product_class": "soap", "other_than_soap": ("Softens hands", "Heals")}, [
            ("class", "True soap is sold as soap alone, and the label says “Softens hands”; "
             "“Heals”. Enter it as a cosmetic, or leave that out.", "21 CFR 701.20", False)]),
        ("US", {"other_than_soap": ("Softens hands",)}, []),
        # Detergents have laws of their own, from memory.
        ("EU", {"product_class": "detergent"}, [
            ("class", "It is entered as a detergent, and a label of the book is that of a "
             "cosmetic: it does not say what a detergent must.",
             "Regulation (EC) 648/2004, article 11", True)]),
        ("US", {"product_class": "detergent", "substantiated_by": ""}, [
            ("class", "It is entered as a detergent, and a label of the book is that of a "
             "cosmetic: it does not say what a detergent must.", "16 CFR part 500", True)]),
        ("US", {"product_class": "drug", "substantiated_by": ""}, [
            ("class", "It is entered as looking like a drug: it is not labelled as a cosmetic. "
             "Change the claims, or have it approved as what it is.",
             "21 U.S.C. 321(g)(1)", True)]),
    ],
)  # fmt: skip
def test_each_thing_that_a_sheet_lacks_is_told_with_its_rule(
    market: str, changed: dict[str, Any], found: list[tuple[str, str, str, bool]]
) -> None:
    problems = sheet_problems(sheet(**changed), law_of(market))

    assert [(one.subject, one.sentence, one.rule, one.stops_print) for one in problems] == found
    for one in problems:
        assert one.told == (f"{one.sentence} ({one.rule})" if one.rule else one.sentence)


def test_further_market_is_one_more_record(monkeypatch: pytest.MonkeyPatch) -> None:
    # Invented: a market that follows the glossary, names no allergen and asks for German.
    law = replace(
        law_of("EU"), code="ZZ", name="Alpine League", names_allergens=False, countries=("ZZ",),
        languages=("de",), words={"water": "Wasser", "fragrance": "Duft", "flavour": "Aroma"},
        may_contain=" (kann enthalten {})", has_common_criteria=False, one_percent_is_free=True,
    )  # fmt: skip
    monkeypatch.setitem(LAWS, "ZZ", law)
    water = Constituent("Aqua", "Water", "water")
    scent = Constituent("Parfum", "Fragrance", "fragrance")
    red = Constituent("CI 77491", "Iron Oxides", "colourant")

    listed = declare({water: Fraction(99, 100), scent: Fraction(1, 100)}, "ZZ", may_contain=[red])

    assert listed.text == "Ingredients: Wasser, Duft (kann enthalten CI 77491)"
    assert in_any_order(Fraction(1, 100), "ZZ")
    assert [one.subject for one in sheet_problems(GOOD, law)] == ["responsible"]
    found = find_words("Paraben-free, heals", law)
    assert [one.word for one in found] == ["heals"]


def test_responsible_person_may_live_in_any_country_of_the_market() -> None:
    # The 27 member states of the EU; Great Britain has its own, as retained.
    assert len(law_of("EU").countries) == 27
    for code, law in LAWS.items():
        for country in law.countries:
            assert sheet_problems(sheet(responsible_country=country), law) == (), (code, country)


@pytest.mark.parametrize(
    ("text", "languages", "told", "missing"),
    [
        # Short ones side by side, and one alone that two languages share.
        ("Hand salve", ("de", "fr"), "Handsalbe / Baume pour les mains", []),
        ("Hand salve", ("en", "de"), "Hand salve / Handsalbe", []),
        ("Unscented.", ("de", "en", "de"), "Ohne Duft. / Unscented.", []),
        ("Eau", ("de", "fr"), "Eau", ["Eau"]),
        # Several lines language after language; empty ones go.
        ("Balm\n\nUnscented.", ("de", "fr"), "Balsam\nOhne Duft.\nBaume\nNon parfumé.", []),
        ("", ("de", "fr"), "", []),
        # From 60 letters on, the languages stand below each other.
        ("Keep away from eyes. Store cool and dry. Apply to dry skins", ("de", "en"),
         "Nicht in die Augen bringen. Kühl und trocken lagern. Apply to dry skins / Keep away from "
         "eyes. Store cool and dry. Apply to dry skins", ["Apply to dry skins"]),
        ("Keep away from eyes. Store cool and dry. Apply to dry skins.", ("de", "en"),
         "Nicht in die Augen bringen. Kühl und trocken lagern. Apply to dry skins.\nKeep away from "
         "eyes. Store cool and dry. Apply to dry skins.", ["Apply to dry skins."]),
        # What is not known is told once, however many languages lack it.
        ("Melt gently. Melt gently. Balm", ("de", "fr"),
         "Melt gently. Melt gently. Balsam / Melt gently. Melt gently. Baume", ["Melt gently."]),
    ],
)  # fmt: skip
def test_text_in_several_languages(
    text: str, languages: tuple[str, ...], told: str, missing: list[str]
) -> None:
    assert in_languages(text, languages) == (told, missing)


def test_words_are_found_whatever_their_case_spaces_and_stop() -> None:
    for written in ("hand  salve", "HAND SALVE", "Hand salve.", " Hand\u00a0salve "):
        assert phrase(written, "de") == "Handsalbe"
    assert phrase("Hand salve", "en") == "Hand salve"
    assert phrase("Whatever nobody knows", "en") == "Whatever nobody knows"
    assert phrase("Whatever nobody knows", "fr") is None


def test_own_words_go_before_the_table_and_hold_for_their_language_alone() -> None:
    own = own_phrases({("de", "Balm."): "Salbe", ("fr", "Rub in"): "Masser."})

    assert phrase("balm", "de", own) == "Salbe"
    assert phrase("balm", "fr", own) == "Baume"
    # The stop of the line is kept, and never doubled.
    assert in_languages("Balm. Rub in.", ("fr",), own) == ("Baume. Masser.", [])
    assert in_languages("Balm", ("de",), own) == ("Salbe", [])
    # A row of several sentences is looked for as a whole first.
    whole = own_phrases({("de", "Unscented. For dry skin."): "Für trockene Haut, duftfrei"})
    assert in_languages("Unscented. For dry skin.", ("de",), whole) == (
        "Für trockene Haut, duftfrei.",
        [],
    )


@pytest.mark.parametrize(
    ("text", "said"), [("Los {}", "Los K{}7"), ("Los {a} {}", "Los {a} K{}7"), ("Los", "Los")]
)
def test_odd_gap_of_an_owner_breaks_no_label(text: str, said: str) -> None:
    assert filled("Lot {}", ("K{}7",), "de", own_phrases({("de", "Lot {}"): text})) == said


def test_gaps_are_filled_in_the_order_of_the_language() -> None:
    assert filled("Keeps {} months from {}", ("12", "5 mars 2027"), "fr") == (
        "Se conserve 12 mois à partir du 5 mars 2027"
    )
    own = own_phrases({("is", "Lot {}"): "Lota {}"})
    assert filled("Lot {}", ("K7",), "is", own) == "Lota K7"


@pytest.mark.parametrize(
    ("language", "january", "december"),
    # Duden and the Imprimerie nationale shorten months so, from memory; figures elsewhere.
    [
        ("en", "9 Jan 2027", "31 Dec 2027"),
        ("de", "9. Jan. 2027", "31. Dez. 2027"),
        ("fr", "9 janv. 2027", "31 déc. 2027"),
        ("nl", "09.01.2027", "31.12.2027"),
    ],
)
def test_day_is_written_as_its_language_does(language: str, january: str, december: str) -> None:
    assert day_in(date(2027, 1, 9), language) == january
    assert day_in(date(2027, 12, 31), language) == december


def test_a_market_within_a_sentence() -> None:
    assert [law.place for law in LAWS.values()] == [
        "the United States",
        "the European Union",
        "Great Britain",
    ]


def test_unknown_market_is_refused() -> None:
    with pytest.raises(RuleError, match="use US, EU, UK"):
        law_of("XX")
