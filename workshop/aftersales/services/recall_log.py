"""The log of a recall: an act is written once, while the recall is open."""

from datetime import datetime

from workshop.aftersales.models import Recall, RecallEntry, RecallEntryKind
from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.form_sent_twice import other_content
from workshop.core.saving.locks import advisory_lock

# One name for all its acts: a token that began a recall closes none.
ACT = "recall"


def lock_open_recall(recall: Recall, token: str) -> Recall | None:
    """The recall, safe from others and still open; None if the act came before."""
    advisory_lock(token)
    before = RecallEntry.objects.filter(token=token).first()
    if before and before.recall_id != recall.pk:
        raise other_content()
    if before:
        return None
    locked = (
        Recall.objects.select_for_update(of=("self",)).select_related("lot__item").get(pk=recall.pk)
    )
    if locked.is_closed:
        raise ActionRefused(f"{locked} is closed.")
    return locked


def write_entry(
    recall: Recall, what: RecallEntryKind, words: str, *, by: User, at: datetime, token: str
) -> RecallEntry:
    return RecallEntry.objects.create(
        recall=recall, what=what, words=words, at=at, by=by, token=token
    )
