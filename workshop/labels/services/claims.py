"""Claims are proved, and words that may make a product a drug are answered for."""

from datetime import date, datetime

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.files.uploads import CheckedFile, store_upload
from workshop.core.models import Role, User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.labels.models import ClaimAnswer, ClaimProof
from workshop.packing.models import Product


@transaction.atomic
def prove_claim(
    product: Product,
    *,
    claim: str,
    evidence: str,
    dated: date,
    by: User,
    at: datetime,
    token: str,
    document: CheckedFile | None = None,
) -> ClaimProof:
    """Note what bears out a claim; the same token again answers with the proof noted first."""
    _refuse_unless_owner(by)
    if check_idempotency(
        token, "claim proof", product=product, claim=claim, evidence=evidence, dated=dated,
        document=document.content if document else b"",
    ):  # fmt: skip
        return ClaimProof.objects.get(token=token)
    if dated > at.date():
        raise ActionRefused("That date is in the future.", field="dated")
    return ClaimProof.objects.create(
        product=product, claim=" ".join(claim.split()), evidence=evidence.strip(), dated=dated,
        document=store_upload(document, by=by, at=at) if document else None, by=by, at=at,
        token=token,
    )  # fmt: skip


@transaction.atomic
def answer_words(
    product: Product,
    *,
    sentence: str,
    word: str,
    answer: str,
    by: User,
    at: datetime,
    token: str,
) -> ClaimAnswer:
    """Note why words that were found may stand; approval asks for it once for each sentence."""
    _refuse_unless_owner(by)
    if check_idempotency(
        token, "claim answer", product=product, sentence=sentence, word=word, answer=answer
    ):
        return ClaimAnswer.objects.get(token=token)
    if not answer.strip():
        raise ActionRefused("Say why these words may stand.", field="answer")
    return ClaimAnswer.objects.create(
        product=product, sentence=sentence, word=word, answer=answer.strip(), by=by, at=at,
        token=token,
    )  # fmt: skip


def _refuse_unless_owner(by: User) -> None:
    if by.role != Role.OWNER:
        raise ActionRefused("Only an owner answers for claims.")
