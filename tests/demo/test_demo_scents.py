"""The data sheets of the demonstration read as certificates do."""

import pytest

from workshop.demo.tables.materials import bought
from workshop.demo.tables.scents import SHEETS
from workshop.materials.models import Constituency
from workshop.rules.allergens.certificate import read_certificate


@pytest.mark.parametrize("code", SHEETS)
def test_sheet_is_read_without_an_odd_line(code: str) -> None:
    read = read_certificate(SHEETS[code].replace(", ", "\n"))

    assert (read.faults, read.not_listed) == ((), ())
    assert read.percents


def test_scented_materials_have_their_sheets() -> None:
    scented = {
        one.material.code for one in bought() if one.material.constituency == Constituency.FRAGRANCE
    }

    # Virginia cedarwood's sheet names nothing that is on the list.
    assert scented - set(SHEETS) == {"EO-CEV"}
