"""What is decided about a recall, and decided anew: class, depth, check, notice, remedy."""

from datetime import date, datetime
from typing import Required, TypedDict, Unpack

from django.db import transaction
from django.utils import timezone

from workshop.aftersales.models import Recall, RecallEntryKind
from workshop.aftersales.services.recall_log import ACT, lock_open_recall, write_entry
from workshop.core.errors import ActionRefused
from workshop.core.formatting import day
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.core.saving.with_history import save_with_history


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
    check_idempotency(token, ACT, entry=RecallEntryKind.TERMS, recall=recall, words=words, **terms)
    locked = lock_open_recall(recall, token)
    if locked is None:
        return recall
    if not words.strip():
        raise ActionRefused("Say who decided so, and why.", field="words")
    _validate_class(terms, at)
    for name, value in terms.items():
        setattr(locked, name, value)
    kept = save_with_history(locked, by=by, at=at)
    write_entry(
        kept,
        RecallEntryKind.TERMS,
        f"{_terms_said(kept)}. {words.strip()}",
        by=by,
        at=at,
        token=token,
    )
    return kept


def _validate_class(terms: Terms, at: datetime) -> None:
    who, on = terms.get("classed_by", "").strip(), terms.get("classed_on")
    if who and not terms["hazard"]:
        raise ActionRefused("Choose the class that was assigned.", field="hazard")
    if who and on is None:
        raise ActionRefused("Say on which day the class was assigned.", field="classed_on")
    if on and not who:
        raise ActionRefused("Name the authority that assigned the class.", field="classed_by")
    if on and on > timezone.localdate(at):
        raise ActionRefused("That date is in the future.", field="classed_on")


def _terms_said(recall: Recall) -> str:
    said = [recall.get_hazard_display(), recall.get_depth_display(), recall.get_level_display()]
    if recall.classed_on:
        said[0] += f" (assigned by {recall.classed_by}, {day(recall.classed_on)})"
    if recall.notice_on:
        said.append(f"notices dated {day(recall.notice_on)}")
    if recall.remedy:
        said.append(f"customers get: {recall.remedy}")
    return "; ".join(said)
