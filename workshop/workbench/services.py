"""What is tried becomes a draft of the formula; nothing else of it is kept."""

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from workshop.core.models import User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.formulas import services as formulas
from workshop.formulas.draft.validation import LineIn, refuse_unless_whole
from workshop.formulas.models import Version, VersionStatus
from workshop.workbench.trial import TriedLine


@transaction.atomic
def keep_as_draft(
    like: Version, lines: Sequence[TriedLine], *, by: User, at: datetime, token: str
) -> Version:
    """The next draft of the formula with the lines as tried, or the draft that was tried changed.

    All else is as in `like`. Raises ActionRefused, and writes nothing, where another draft waits
    already or the shares do not add up.
    """
    content = [(line.item, line.share) for line in lines]
    if check_idempotency(token, "tried formula", like=like, lines=content):
        return like.formula.versions.filter(status=VersionStatus.DRAFT).latest("number")
    refuse_unless_whole([line.share for line in lines])
    is_draft = like.status == VersionStatus.DRAFT
    draft = like if is_draft else formulas.new_version(like.formula, by=by, at=at, like=like)
    return formulas.replace_lines(draft, [_line(one) for one in lines], by=by, at=at)


def _line(tried: TriedLine) -> LineIn:
    like = tried.like
    if like is None:
        return LineIn(item=tried.item, share=tried.share)
    return LineIn(
        item=tried.item,
        share=tried.share,
        phase=like.phase,
        tolerance=like.tolerance,
        is_irreversible=like.is_irreversible,
        is_strained_out=like.is_strained_out,
        stays=tried.stays,
        held_back=like.held_back,
        substitutes=[one for one in like.substitutes.all() if one != tried.item],
    )
