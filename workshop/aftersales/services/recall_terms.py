"""What is decided about a recall, and decided anew: class, depth, check, notice, remedy."""

from datetime import date, datetime
from typing import Required, TypedDict, Unpack

from django.db import transaction
from django.utils import timezone

from workshop.aftersales.models import Entry, Recall
from workshop.aftersales.services.recall_log import ACT, lock_open_recall, write_entry
from workshop.core.errors import Refused
from workshop.core.formatting import day
from workshop.core.models import User
from workshop.core.saving.idempotency import remember
from workshop.core.saving.with_history import keep_row


class Terms(TypedDict, total=False):
    """What is decided about a recall, and may be decided anew."""

    hazard: Required[str]
    depth: Required[str]
    level: Required[str]
    classed_by: str
    classed_on: date | None
    notice_on: date | None
    remedy: str


@transaction.atomic
def set_terms(
    recall: Recall,
    *,
    words: str,
    by: User,
    at: datetime,
    token: str,
    **terms: Unpack[Terms],
) -> Recall:
    """Change what is decided, or say that the authority has assigned the class.

    Only with `classed_by` and `classed_on` is the class more than our own view, and in a letter.
    """
    remember(token, ACT, entry=Entry.TERMS, recall=recall, words=words, **terms)
    locked = lock_open_recall(recall, token)
    if locked is None:
        return recall
    if not words.strip():
        raise Refused("Say who decided so, and why.", field="words")
    _refuse_odd_class(terms, at)
    for name, value in terms.items():
        setattr(locked, name, value)
    kept = keep_row(locked, by=by, at=at)
    write_entry(
        kept, Entry.TERMS, f"{_terms_said(kept)}. {words.strip()}", by=by, at=at, token=token
    )
    return kept


def _refuse_odd_class(terms: Terms, at: datetime) -> None:
    who, on = terms.get("classed_by", "").strip(), terms.get("classed_on")
    if who and not terms["hazard"]:
        raise Refused("Choose the class that was assigned.", field="hazard")
    if who and on is None:
        raise Refused("Say on which day the class was assigned.", field="classed_on")
    if on and not who:
        raise Refused("Name the authority that assigned the class.", field="classed_by")
    if on and on > timezone.localdate(at):
        raise Refused("That date is in the future.", field="classed_on")


def _terms_said(recall: Recall) -> str:
    said = [recall.get_hazard_display(), recall.get_depth_display(), recall.get_level_display()]
    if recall.classed_on:
        said[0] += f" (assigned by {recall.classed_by}, {day(recall.classed_on)})"
    if recall.notice_on:
        said.append(f"notices dated {day(recall.notice_on)}")
    if recall.remedy:
        said.append(f"customers get: {recall.remedy}")
    return "; ".join(said)
