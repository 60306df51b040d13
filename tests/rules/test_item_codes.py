"""A short code for an item that came without one."""

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workshop.rules.transfer.item_codes import LONGEST, code_for


@pytest.mark.parametrize(
    ("name", "code"),
    # Common practice, no source: capitals, figures, one hyphen between words.
    [
        ("Shea butter", "SHEA-BUTTER"),
        ("  Oil (cold, 1st pressing) ", "OIL-COLD-1ST-PRESSIN"),  # twenty signs and no more
        ("Beurre de karité", "BEURRE-DE-KARITE"),
        ("Käsepappel", "KASEPAPPEL"),
        ("Xanthan-Wax", "XANTHAN-WAX"),
        ("Cold pressed Flax in X", "COLD-PRESSED-FLAX-IN"),
        ("Rosehip, extra, of X-X", "ROSEHIP-EXTRA-OF-X-X"),
        ("蜜蝋", "ITEM"),
        ("—", "ITEM"),
        ("Oil of evening prim rose", "OIL-OF-EVENING-PRIM"),  # no hyphen at its end
    ],
)
def test_code_is_the_name_in_plain_capitals(name: str, code: str) -> None:
    assert code_for(name, set()) == code


def test_numbers_begin_at_two_and_go_on_until_one_is_free() -> None:
    taken: set[str] = set()
    for _ in range(11):
        taken.add(code_for("Shea", taken))

    assert taken == {"SHEA", *(f"SHEA-{number}" for number in range(2, 12))}


def test_a_long_code_gives_way_to_its_number() -> None:
    long = "ABCDEFGHIJKLMNOPQRST"

    assert code_for(long, {long}) == "ABCDEFGHIJKLMNOPQR-2"
    taken = {long, *(f"ABCDEFGHIJKLMNOPQR-{number}" for number in range(2, 10))}
    assert code_for(long, taken) == "ABCDEFGHIJKLMNOPQ-10"


@given(st.lists(st.text(max_size=30), max_size=12))
def test_every_code_is_short_plain_and_given_once(names: list[str]) -> None:
    taken: set[str] = set()
    for name in names:
        code = code_for(name, taken)
        assert code not in taken
        assert len(code) <= LONGEST == 20
        assert re.fullmatch(r"[A-Z0-9]+(-[A-Z0-9]+)*-?(-\d+)?", code)
        taken.add(code)
