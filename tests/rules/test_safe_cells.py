"""Cells that a spreadsheet program will not run: OWASP, "CSV Injection"."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.transfer.safe_cells import RISKY, original, safe


@pytest.mark.parametrize("sign", RISKY)
def test_every_sign_that_makes_a_formula_is_marked_also_behind_spaces(sign: str) -> None:
    for text in (sign, f"{sign}1+2", f"  {sign}1+2", f" {sign} "):
        assert safe(text) == f"'{text}"


@pytest.mark.parametrize("text", ["", " ", "Shea butter", "1+2", "a=1", "50 - 60", " 5"])
def test_plain_text_stays_as_it_is(text: str) -> None:
    assert safe(text) == text


@given(st.text(max_size=20))
def test_every_text_comes_back_as_it_was(text: str) -> None:
    assert original(safe(text)) == text
