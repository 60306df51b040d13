"""Certificates of analysis as suppliers write them: what is read, and what is told instead."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.allergens.annex_iii import ALLERGENS
from workshop.rules.allergens.certificate import MOST_LINES, AllergenCertificate, read_certificate
from workshop.rules.allergens.names import listed_name, near_names
from workshop.rules.allergens.prohibited_scents import PROHIBITED
from workshop.rules.allergens.thresholds import (
    FragranceMaterial,
    allergen_shares,
    find_allergens,
    prohibited_name,
)
from workshop.rules.errors import RuleError


def percents(text: str) -> dict[str, str]:
    read = read_certificate(text)
    assert (read.faults, read.not_listed) == ((), ())
    return {name: f"{share.normalize():f}" for name, share in read.percents.items()}


@pytest.mark.parametrize(
    ("line", "name", "percent"),
    [
        ("Limonene 0.12 %", "Limonene", "0.12"),
        ("Limonene 0,12 %", "Limonene", "0.12"),
        ("limonene\t0.12", "Limonene", "0.12"),
        ("LINALOOL: 31,5%", "Linalool", "31.5"),
        ("Linalool ........ 0.12 %", "Linalool", "0.12"),
        ("Linalool | 0.12 | % w/w", "Linalool", "0.12"),
        ("Linalool 0.12 % (w/w)", "Linalool", "0.12"),
        ("Linalool (0.12 %)", "Linalool", "0.12"),
        ("Linalool 0.12 percent", "Linalool", "0.12"),
        ("Linalool 0.12 g/100 g", "Linalool", "0.12"),
        # 1 % is 10 g/kg, 10 000 mg/kg and as many ppm.
        ("Linalool 1.2 g/kg", "Linalool", "0.12"),
        ("Linalool 1200 mg/kg", "Linalool", "0.12"),
        ("Linalool 1 200 ppm", "Linalool", "0.12"),
        ("Linalool 1 200,5 ppm", None, "finer"),
        ("Linalool 1200 µg/g", "Linalool", "0.12"),
        ("Linalool 1200 μg/g", "Linalool", "0.12"),
        ("Coumarin 10000 ppb", "Coumarin", "0.001"),
        ("Eugenol < 0.01 %", "Eugenol", "0.01"),
        ("Eugenol ≤0.01%", "Eugenol", "0.01"),
        ("Eugenol less than 100 ppm", "Eugenol", "0.01"),
        ("Eugenol max. 0,01 %", "Eugenol", "0.01"),
        ("Eugenol n.d.", "Eugenol", "0"),
        ("Eugenol ND", "Eugenol", "0"),
        ("Eugenol: not detected", "Eugenol", "0"),
        ("Eugenol –", "Eugenol", "0"),
        ("Eugenol 0 %", "Eugenol", "0"),
        ("Citral* 3.2 %", "Citral", "3.2"),
        ("Methyl 2-Octynoate 0.01%", "Methyl 2-Octynoate", "0.01"),
        ("6-Methyl Coumarin 1", "6-Methyl Coumarin", "1"),
        # CAS numbers, alone or beside the name.
        ("78-70-6 31.5", "Linalool", "31.5"),
        ("Linalool (78-70-6) 31.5", "Linalool", "31.5"),
        ("Linalool CAS 78-70-6 31.5", "Linalool", "31.5"),
        ("78-70-6\tLinalool\t31.5 %", "Linalool", "31.5"),
        ("5989-27-5 < 100 ppm", "Limonene", "0.01"),
        ("8028-48-6 Citrus Aurantium Peel Oil 2", "Citrus Aurantium Peel Oil", "2"),
        # Other names of the same thing.
        ("d-Limonene 65", "d-Limonene", "65"),
        ("D-LIMONENE 65", "d-Limonene", "65"),
        ("(R)-(+)-Limonene 65", "Limonene", "65"),
        ("Geranial 1.1", "Geranial", "1.1"),
        ("Citral (neral + geranial) 3", "Citral", "3"),
        ("α-Pinene 3", "alpha-Pinene", "3"),
        ("Cinnamaldehyde 0.4", "Cinnamal", "0.4"),
        ("trans-Anethole 80", "trans-Anethole", "80"),
        ("Linalyl  acetate 30", "Linalyl Acetate", "30"),
        ("Lavandula Hybrida Oil 100", "Lavandula Hybrida Oil", "100"),
        ("Butylphenyl Methylpropional 0.2", "Butylphenyl Methylpropional", "0.2"),
        ("80-54-6 0.2", "Butylphenyl Methylpropional", "0.2"),
        # Said of the scent besides its name.
        ("Linalool natural 31.5 %", "Linalool", "31.5"),
        ("Natural Linalool 31.5 %", "Linalool", "31.5"),
        ("Total Citral 3 %", "Citral", "3"),
        ("Citral (total) 3 %", "Citral", "3"),
        ("Sum of citral isomers: 3 %", "Citral", "3"),
        ("Farnesol isomers 0.4 %", "Farnesol", "0.4"),
        ("Limonene, synthetic 2", "Limonene", "2"),
        ("Citrus Limon (Lemon) Peel Oil 2", "Citrus Limon (Lemon) Peel Oil", "2"),
        # A point that parts thousands, where the other reading is beyond the whole.
        ("Linalool 15.000 %", "Linalool", "15"),
        ("Linalool 1.500 g/kg", "Linalool", "0.15"),
        ("Linalool 0.125 %", "Linalool", "0.125"),
    ],
)  # fmt: skip
def test_line_of_a_certificate_is_read(line: str, name: str | None, percent: str) -> None:
    if name is None:
        told = read_certificate(line)
        assert percent in " ".join((*told.faults, *told.not_listed))
    else:
        assert percents(line) == {name: percent}


FIGURE = "must end with a figure, such as 0.12 % or 1200 mg/kg."
MORE = "has more than one figure. Keep the one found, or the highest."
OFF_LIST = "is not on the EU list of allergens. Did you mean"
ELSE = "If it is something else, take the line out."


@pytest.mark.parametrize(
    ("line", "sentence"),
    [
        ("Linalool", f"“Linalool” {FIGURE}"),
        ("Linalool -5", f"“Linalool -5” {FIGURE}"),
        ("Linalool trace", f"“Linalool trace” {FIGURE}"),
        ("0.12 %", "“0.12 %” names nothing. Write the name or CAS number first."),
        ("Linalool 101", "“Linalool 101” is more than the whole: at most 100 %."),
        (
            "Linalool 2 g",
            "“Linalool 2 g”: “g” is not a unit for a share. Write %, mg/kg, ppm or g/kg.",
        ),
        (
            "Linalool 1,200 ppm",
            '"1,200" can mean 1.200 or 1200. Please type the one you mean.',
        ),
        (
            "Linalool 15.000 mg/kg",
            "“Linalool 15.000 mg/kg”: 15.000 can mean 15 or 15000. Type the one you mean.",
        ),
        (
            "Linalool < 1.500 ppm",
            "“Linalool < 1.500 ppm”: 1.500 can mean 1.5 or 1500. Type the one you mean.",
        ),
        ("Linalool 1.2.3", '"1.2.3" has too many points or commas to be a number.'),
        (
            "Linalool 0.5 ppm",
            "“Linalool 0.5 ppm” is finer than the book keeps (0.0001 %, which is 1 mg/kg). "
            "Round it up, to 0.0001 %.",
        ),
        ("Linalool 28 - 35 %", f"“Linalool 28 - 35 %” {MORE}"),
        ("Linalool 28–35 %", f"“Linalool 28–35 %” {MORE}"),
        ("Limonene 0.12 % 0.10 %", f"“Limonene 0.12 % 0.10 %” {MORE}"),
        ("Limonen 3", f"“Limonen” {OFF_LIST} Limonene? {ELSE}"),
        ("Geranol 2", f"“Geranol” {OFF_LIST} Geraniol or Geranial? {ELSE}"),
        (
            "8028-48-6 2",
            "“8028-48-6 2” can mean Citrus Aurantium Flower Oil or Citrus Aurantium Peel Oil. "
            "Write the name instead.",
        ),
        (
            "Linalool 5989-27-5 2",
            "“Linalool 5989-27-5 2”: the CAS number is that of Limonene, not of Linalool. "
            "Look at the certificate again.",
        ),
    ],
)
def test_odd_line_is_told_in_a_sentence_with_its_number(line: str, sentence: str) -> None:
    assert read_certificate(f"Eugenol 1 %\n\n{line}").faults == (f"Line 3: {sentence}",)


@pytest.mark.parametrize(
    ("text", "sentences"),
    [
        ("Linalool 1\nLinalool 2", ["Line 2: Linalool is there already, in line 1."]),
        ("Linalool 60\nLimonene 60", ["Together they come to 120 %, more than there is."]),
        (
            "Geranial 1\nCitral 3\nNeral 2",
            [
                "Citral is given as a whole and again as Geranial, Neral, which would count "
                "twice. Keep the whole or its parts."
            ],
        ),
        (
            "Limonen 1\nLinalool",
            [f"Line 1: “Limonen” {OFF_LIST} Limonene? {ELSE}", f"Line 2: “Linalool” {FIGURE}"],
        ),
    ],
)
def test_every_odd_line_is_told_at_once(text: str, sentences: list[str]) -> None:
    assert list(read_certificate(text).faults) == sentences


def test_what_is_on_no_list_is_set_apart_and_the_rest_is_read() -> None:
    text = "1,8-Cineole 4.1 %\nLinalool 31.5 %\nDensity 0.885\n-----\n"

    assert read_certificate(text) == AllergenCertificate(
        {"Linalool": Decimal("31.5")}, not_listed=("1,8-Cineole", "Density")
    )


HICC, BMHCA = "Hydroxyisohexyl 3-Cyclohexene Carboxaldehyde", "Butylphenyl Methylpropional"


@pytest.mark.parametrize(
    ("written", "name"),
    [
        # Trade and further names, from memory; entries 1380 and 423 to 450 of Annex II.
        ("HICC", HICC),
        ("Lyral", HICC),
        ("LYRAL (31906-04-4)", HICC),
        ("51414-25-6", HICC),
        ("4-(4-Hydroxy-4-methylpentyl)-3-cyclohexene-1-carboxaldehyde", HICC),
        ("Lilial", BMHCA),
        ("Lilial, natural", BMHCA),
        ("BMHCA", BMHCA),
        ("Lysmeral", BMHCA),
        ("2-(4-tert-butylbenzyl) propionaldehyde", BMHCA),
        ("Musk ambrette", "Musk Ambrette"),
        ("Dihydrocoumarin", "3,4-Dihydrocoumarin"),
        ("6,7-Dihydrogeraniol", "3,7-Dimethyl-2-octen-1-ol"),
        ("Costus root oil", "Costus Root Oil"),
        ("Fig leaf absolute", "Fig Leaf Absolute"),
        ("Lippia citriodora oil", "Verbena Oil"),
    ],
)
def test_prohibited_scent_is_known_by_any_of_its_names(written: str, name: str) -> None:
    assert percents(f"{written} 0.2 %") == {name: "0.2"}
    for key in (written, name):
        with pytest.raises(RuleError, match=r"is prohibited in cosmetics\. Do not use"):
            allergen_shares([FragranceMaterial("Scent", Fraction(1, 100), {key: Fraction(1, 9)})])
    with pytest.raises(RuleError, match="is prohibited in cosmetics"):
        allergen_shares([FragranceMaterial(written, Fraction(1, 100))])


def test_every_name_and_number_of_a_prohibited_scent_is_led_to_it() -> None:
    for entry in PROHIBITED.values():
        for name in (entry.name, *entry.others):
            assert percents(f"{name.upper()} 0.5 %") == {entry.name: "0.5"}
            assert prohibited_name(name) == entry.name
            assert find_allergens(name) == ()
        for number in entry.cas:
            assert percents(f"{number} 0.5 %") == {entry.name: "0.5"}


def test_verbena_absolute_is_allowed_within_its_limit_and_the_oil_is_not() -> None:
    assert percents("Lippia citriodora absolute 0.5 %") == {"Lippia citriodora absolute": "0.5"}
    assert prohibited_name("Lippia citriodora absolute") is None
    assert prohibited_name("8024-12-2") is None


@pytest.mark.parametrize(
    ("written", "entry"),
    [
        ("Oakmoss", 91),
        ("Oak moss absolute", 91),
        ("Evernia prunastri (Oakmoss) Extract", 91),
        ("Tree moss", 92),
        ("Treemoss absolute", 92),
        ("Galaxolide", 336),
        ("HHCB", 336),
        ("OTNE", 344),
        ("ISO E Super", 344),
        ("Iso-E-Super", 344),
        ("Ebanol", 339),
        ("Majantol", 345),
        ("Balsam of Peru", 154),
        ("Dimethyl benzyl carbinyl acetate", 334),
        ("Cyclohexadecanolide", 335),
    ],
)
def test_name_of_the_trade_is_led_to_its_entry(written: str, entry: int) -> None:
    # Names from memory; numbers of Annex III, Regulation (EU) 2023/1545.
    (found,) = percents(f"{written} 0.2 %")

    assert [one.number for one in find_allergens(found)] == [entry]
    assert [one.number for one in find_allergens(written)] == [entry]


@pytest.mark.parametrize("other", ["1,8-Cineole", "Musk Ketone", "Natural", "Total", "Geosmin"])
def test_what_is_no_entry_is_not_taken_for_one(other: str) -> None:
    assert listed_name(other) is None


def test_component_of_a_grouped_entry_counts_under_its_name() -> None:
    read = read_certificate("Geranial 1.1\nNeral 0.9\nα-Pinene 3\nβ-pinene 2")

    entries = {name: find_allergens(name)[0].name for name in read.percents}
    assert entries == {
        "Geranial": "Citral",
        "Neral": "Citral",
        "alpha-Pinene": "Pinene",
        "beta-Pinene": "Pinene",
    }


def test_every_name_and_number_of_the_list_is_read_as_its_own_entry() -> None:
    for allergen in ALLERGENS:
        for name in (allergen.name, *allergen.aliases):
            (found,) = percents(f"{name.upper()} 0.5 %")
            assert allergen in find_allergens(found)
        for number in allergen.cas:
            (found,) = percents(f"{number} {allergen.name} 0.5 %")
            assert allergen in find_allergens(found)


def test_no_two_entries_share_a_folded_name() -> None:
    for allergen in ALLERGENS:
        listed = [listed_name(name) for name in (allergen.name, *allergen.aliases)]
        assert all(allergen in find_allergens(name or "") for name in listed)


@pytest.mark.parametrize(
    ("typed", "meant"),
    [
        ("Limonen", ["Limonene"]),
        ("Linalol", ["Linalool"]),
        ("Eugenole", ["Eugenol"]),
        ("Cumarin", ["Coumarin"]),
        ("Citronelol", ["Citronellol"]),
        ("Beeswax", []),
    ],
)
def test_misspelt_name_is_answered_with_the_likeliest(typed: str, meant: list[str]) -> None:
    assert near_names(typed)[:1] == meant


def test_too_many_lines_are_refused_before_they_are_compared() -> None:
    assert read_certificate("x 1\n" * (MOST_LINES + 1)).faults == (
        f"That is more than {MOST_LINES} lines. Leave out the rest.",
    )


@given(st.text(max_size=200))
def test_no_text_is_too_odd_to_be_answered(text: str) -> None:
    read = read_certificate(text)

    assert all(0 <= percent <= 100 for percent in read.percents.values())
    assert all(find_allergens(name) or name in text for name in read.percents)


@given(st.integers(min_value=1, max_value=1_000_000))
def test_per_cent_and_parts_per_million_are_one_figure(ppm: int) -> None:
    (percent,) = read_certificate(f"Linalool {ppm} ppm").percents.values()

    assert percent == Decimal(ppm) / 10_000
    assert read_certificate(f"Linalool {percent} %").percents == {"Linalool": percent}
