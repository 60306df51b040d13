"""The order in which a kettle is filled: common practice, no source."""

from dataclasses import replace
from decimal import Decimal

from workshop.rules.kettle.order_of_addition import GoingIn, order_warnings

# Melting ranges, °C: beeswax after USP 32; the others from memory of handbooks.
HOT = Decimal(68)
OIL = GoingIn("Sunflower oil", "A", needs_c=HOT)
VITAMIN_E = GoingIn("Vitamin E", "B")
SCENT = GoingIn("Lavender oil", "C", at_most_c=Decimal(58))


def solid(name: str, melts_from: int, melts_to: int, *, for_good: bool = False) -> GoingIn:
    molten = Decimal(melts_to)
    return GoingIn(name, "A", for_good, Decimal(melts_from), molten, max(HOT, molten))


SHEA = solid("Shea butter", 32, 38)
COCONUT = solid("Coconut oil", 23, 26)
BEESWAX = solid("Beeswax", 62, 65, for_good=True)
CARNAUBA = solid("Carnauba wax", 80, 86, for_good=True)


def test_balm_of_one_hot_and_one_cool_phase_is_in_order() -> None:
    assert order_warnings([SHEA, COCONUT, OIL, CARNAUBA, BEESWAX, VITAMIN_E, SCENT]) == []


def test_scent_before_a_wax_that_needs_more_heat_is_warned_about() -> None:
    assert order_warnings([OIL, SCENT, BEESWAX]) == [
        "Lavender oil goes in at 58 °C at most, but Beeswax after it needs 68 °C: what heat harms "
        "goes in last."
    ]


def test_scent_may_stand_before_what_needs_no_more_heat_than_it_bears() -> None:
    menthol = GoingIn("Menthol", "C", needs_c=Decimal(58))

    assert order_warnings([SCENT, menthol]) == []


def test_wax_goes_late_within_its_phase_and_not_behind_the_cooler_ones() -> None:
    assert order_warnings([OIL, BEESWAX, VITAMIN_E, SCENT]) == []
    assert order_warnings([BEESWAX, OIL, SCENT]) == [
        "Beeswax is weighed before Sunflower oil of the same phase, which could be corrected: "
        "within its phase, what cannot be removed once added goes late."
    ]


def test_of_two_waxes_the_one_that_melts_highest_goes_first() -> None:
    assert order_warnings([OIL, CARNAUBA, BEESWAX]) == []
    assert order_warnings([OIL, BEESWAX, CARNAUBA]) == [
        "Beeswax is molten at 65 °C and goes in before Carnauba wax, which begins to melt at "
        "80 °C: what melts highest goes first."
    ]


def test_melting_ranges_that_overlap_and_those_of_other_phases_are_not_compared() -> None:
    cocoa = solid("Cocoa butter", 31, 35)

    assert order_warnings([cocoa, SHEA]) == []
    assert order_warnings([COCONUT, replace(SHEA, phase="B")]) == []
