"""A form sent a second time: the same content is answered as the first time, other is refused.

Each form carries a token, drawn by `new_tokens.py`, that stands for what it was sent with. Readings
and postings carry their own token as a column instead: `kettle/services/record_weighing.py`,
`ledger/services/postings.py`.
"""

from collections.abc import Iterable, Mapping, Sequence, Set
from dataclasses import fields, is_dataclass
from datetime import date
from decimal import Decimal
from hashlib import sha256
from typing import Any

from django.db.models import Model

from workshop.core.errors import ActionRefused
from workshop.core.models import SentForm
from workshop.core.saving.new_tokens import new_token

SHORT = 16


def check_idempotency(token: str | None, act: str, **content: Any) -> bool:
    """Bind `token` to what its form was sent with, within the transaction of the act.

    Answers whether the same was sent before: the caller then answers as it did. Raises
    ActionRefused for other content. Another transaction with the same token is waited for.
    """
    if token is None:
        return False
    digests = {name: _digest(value) for name, value in content.items()}
    # Sent twice at once, the second waits at the unique index until the first has ended.
    row, is_new = SentForm.objects.get_or_create(
        token=token, act=act, defaults={"digests": digests}
    )
    before = row.digests
    if before != digests:
        raise other_content(
            name for name in {**before, **digests} if before.get(name) != digests.get(name)
        )
    return not is_new


def other_content(names: Iterable[str] = ()) -> ActionRefused:
    """The form comes back with a token of its own, so that a second press records a second act."""
    differing = sorted(name.replace("_", " ") for name in names)
    told = f" ({', '.join(differing)})" if differing else ""
    return ActionRefused(
        f"This form was already sent with other figures{told}: what was sent first is recorded, "
        "this is not. Look it up; send this again only if it is to be recorded as well.",
        renewed={"token": new_token()},
    )


def _digest(value: Any) -> str:
    return sha256(repr(_plain(value)).encode()).hexdigest()[:SHORT]


def _plain(value: Any) -> Any:
    """The value as text and lists: the same figures are the same, however they are written."""
    if isinstance(value, Model):
        return f"{value._meta.label} {value.pk}"
    if isinstance(value, bytes):
        return sha256(value).hexdigest()
    if is_dataclass(value) and not isinstance(value, type):
        return {one.name: _plain(getattr(value, one.name)) for one in fields(value)}
    if isinstance(value, Mapping):
        return {str(key): _plain(value[key]) for key in sorted(value, key=str)}
    if isinstance(value, Set):
        return sorted(str(_plain(one)) for one in value)
    if isinstance(value, Sequence) and not isinstance(value, str):
        return [_plain(one) for one in value]
    return _plain_text(value)


def _plain_text(value: Any) -> str | None:
    if value is None or isinstance(value, bool):
        return None if value is None else str(value)
    if isinstance(value, int | Decimal):
        return f"{Decimal(value).normalize():f}"
    return value.isoformat() if isinstance(value, date) else str(value).strip()
