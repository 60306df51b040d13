"""Which status a lot may move to from which, and what each move asks for."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import NamedTuple

QUARANTINE, RELEASED, ON_HOLD, REJECTED = "quarantine", "released", "on_hold", "rejected"
OWNER = frozenset({"owner"})
WORKERS = frozenset({"owner", "maker", "packer"})
SAYINGS = {
    QUARANTINE: "put a lot back into quarantine",
    RELEASED: "release a lot",
    ON_HOLD: "hold a lot",
    REJECTED: "reject a lot",
}


class Move(NamedTuple):
    """Who may make one move, and whether it takes a reason and their password once more."""

    roles: Collection[str]
    needs_reason: bool = True
    needs_password: bool = False


# Common practice, no source: the quality unit alone releases and rejects; whoever sees something
# odd may stop a lot; what was stopped goes on only with a reason; a rejection is final.
MOVES: dict[tuple[str, str], Move] = {
    (QUARANTINE, RELEASED): Move(OWNER, needs_reason=False),
    (QUARANTINE, ON_HOLD): Move(WORKERS),
    (QUARANTINE, REJECTED): Move(OWNER),
    # A record that is changed after its release is no longer the one that was signed.
    (RELEASED, QUARANTINE): Move(WORKERS),
    (RELEASED, ON_HOLD): Move(WORKERS),
    (RELEASED, REJECTED): Move(OWNER),
    (ON_HOLD, QUARANTINE): Move(OWNER),
    (ON_HOLD, RELEASED): Move(OWNER),
    (ON_HOLD, REJECTED): Move(OWNER),
    # Only back to where it is judged anew: no rejected lot is released in one step.
    (REJECTED, QUARANTINE): Move(OWNER, needs_password=True),
}


@dataclass(frozen=True)
class Refusal:
    """Why a move is not made, and which of `status`, `reason` and `password` it is about."""

    sentence: str
    field: str | None = None


def moves_from(was: str) -> tuple[str, ...]:
    """Return every status that a lot of status `was` may move to.

    Units: none. Error: none. Source: `MOVES`. Raises: nothing.

    >>> moves_from("quarantine"), moves_from("rejected")
    (('released', 'on_hold', 'rejected'), ('quarantine',))
    """
    return tuple(now for before, now in MOVES if before == was)


def refusal(
    was: str, now: str, *, role: str, reason: str, has_password: bool = False
) -> Refusal | None:
    """Return why somebody of this role may not move a lot so, or None if they may.

    Units: none. Error: none. Source: `MOVES`. Raises: nothing.

    >>> refusal("quarantine", "released", role="owner", reason="")
    >>> refusal("on_hold", "released", role="owner", reason=" ").sentence
    'Say why.'
    >>> refusal("quarantine", "released", role="maker", reason="Looks fine").sentence
    'Only an owner may release a lot.'
    """
    move = MOVES.get((was, now))
    if move is None:
        return Refusal(_no_such_move(was), "status")
    if role not in move.roles:
        return Refusal(_not_theirs(move, now))
    if move.needs_reason and not reason.strip():
        return Refusal("Say why.", "reason")
    if move.needs_password and not has_password:
        return Refusal("Sign it with your password.", "password")
    return None


def _no_such_move(was: str) -> str:
    if was == REJECTED:
        return (
            "A rejected lot stays rejected. Only an owner can put it back into quarantine, with a "
            "reason and a password, to decide about it again."
        )
    return "A lot of this status does not move to that one."


def _not_theirs(move: Move, now: str) -> str:
    if move.roles is OWNER:
        return f"Only an owner may {SAYINGS[now]}."
    return f"An inspector changes nothing; ask somebody else to {SAYINGS[now]}."
