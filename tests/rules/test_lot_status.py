"""Every move of a lot from status to status: who, with what."""

from itertools import product

import pytest

from workshop.rules.lot_status import MOVES, moves_from, refusal

STATUSES = ("quarantine", "released", "on_hold", "rejected")
ROLES = ("owner", "maker", "packer", "inspector")
OWNER, WORKERS = "owner", "owner, maker or packer"

# Written out a second time, by hand. Common practice, no source: who may, reason, password.
ALLOWED = {
    ("quarantine", "released"): (OWNER, False, False),
    ("quarantine", "on_hold"): (WORKERS, True, False),
    ("quarantine", "rejected"): (OWNER, True, False),
    ("released", "quarantine"): (WORKERS, True, False),
    ("released", "on_hold"): (WORKERS, True, False),
    ("released", "rejected"): (OWNER, True, False),
    ("on_hold", "quarantine"): (OWNER, True, False),
    ("on_hold", "released"): (OWNER, True, False),
    ("on_hold", "rejected"): (OWNER, True, False),
    ("rejected", "quarantine"): (OWNER, True, True),
}


def expected(was: str, now: str, role: str, reason: str, *, has_password: bool) -> str:
    """Which field a refusal is about, "role", or nothing."""
    if (was, now) not in ALLOWED:
        return "status"
    roles, needs_reason, needs_password = ALLOWED[was, now]
    if role not in roles:
        return "role"
    if needs_reason and not reason.strip():
        return "reason"
    return "password" if needs_password and not has_password else ""


@pytest.mark.parametrize(("was", "now"), list(product(STATUSES, STATUSES)))
def test_each_move_is_open_to_whom_it_should_with_what_it_asks_for(was: str, now: str) -> None:
    for role, reason, has_password in product(ROLES, ("", "  ", "smells fine"), (False, True)):
        found = refusal(was, now, role=role, reason=reason, has_password=has_password)

        said = (found.field or "role") if found else ""
        asked = (role, reason, has_password)
        assert said == expected(was, now, role, reason, has_password=has_password), asked


def test_no_rejected_lot_is_released_in_one_step() -> None:
    assert moves_from("rejected") == ("quarantine",)


def test_whatever_leads_out_of_hold_or_rejection_takes_a_reason() -> None:
    assert all(
        move.needs_reason for (was, _), move in MOVES.items() if was in ("on_hold", "rejected")
    )


def test_inspector_moves_nothing() -> None:
    assert all("inspector" not in move.roles for move in MOVES.values())
