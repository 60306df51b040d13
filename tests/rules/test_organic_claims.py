"""What words on a label claim of being organic, as tables of cases."""

import pytest

from workshop.rules.labels.organic_claims import claim_said, percent_said


@pytest.mark.parametrize(
    ("text", "claim"),
    [
        # Source: 7 CFR 205.303 to 205.305: the words that stand for each category.
        ("100 percent organic", "100 percent organic"),
        ("100% Organic calendula salve", "100 percent organic"),
        ("Organic calendula salve", "organic"),
        ("organically grown calendula", "organic"),
        ("Organic: 96% organic ingredients", "organic"),
        ("Made with organic olive oil and beeswax", "made with organic"),
        ("made with 80 % organic oils", "made with organic"),
        ("75 per cent organic ingredients", "made with organic"),
        ("Made with organic olive oil. Organic!", "organic"),
        ("Free of non-organic scent", None),
        ("not organic", None),
        ("Inorganic pigments only", None),
        ("", None),
    ],
)
def test_words_are_read_as_the_strongest_claim_they_make(text: str, claim: str | None) -> None:
    assert claim_said(text) == claim


@pytest.mark.parametrize(
    ("text", "percent"),
    [
        ("Organic: 96% organic ingredients", 96),
        ("with 70 % organic oils and 85 per cent organic herbs", 85),
        ("100% organic", 100),
        ("70% shea butter, organic", None),
    ],
)
def test_greatest_organic_percentage_is_read(text: str, percent: int | None) -> None:
    assert percent_said(text) == percent
