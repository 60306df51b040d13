"""What packing runs lost, as books up to version 0.2 kept it: as a word about a posting.

The migration carries each over to `Shed`, and so does the restoring of an older export. What seals
of that time say of them is held against what they became.
"""

import json
from collections.abc import Iterable, Iterator
from typing import Any

from workshop.ledger.models import Operation, OperationKind, Posting, Seal, Shed, ShedKind
from workshop.ledger.proof.findings import Finding

TABLE = "packing_loss"
# What it was called, and what it became; a posting's reason began with the word.
KINDS = {
    "spill": (ShedKind.SPILLED, "Spilled: "),
    "sample": (ShedKind.SAMPLED, "Taken as a sample: "),
}
SHOWN = 20


def token_of(posting: int) -> str:
    return f"{TABLE}:{posting}"


def carry_over(losses: Iterable[tuple[int, str]], postings: Any, sheds: Any) -> None:
    """Say of each posting with its kind of loss what left; one taken back is taken back here too.

    `postings` and `sheds` are the managers of the tables, in a migration those of its day.
    """
    for posting, kind in losses:
        row = postings.select_related("reversal").get(pk=posting)
        kept = _shed(sheds, row, kind, grams=-row.quantity)
        back = getattr(row, "reversal", None)
        if back:
            _shed(sheds, back, kind, grams=-back.quantity, corrects=kept, lost=posting)


def _shed(
    sheds: Any, row: Any, kind: str, *, grams: Any, corrects: Any = None, lost: int | None = None
) -> Any:
    became, word = KINDS[kind]
    return sheds.create(
        operation_id=row.operation_id,
        kind=became.value,
        lot_id=row.lot_id,
        quantity=grams,
        at=row.at,
        by_id=row.by_id,
        token=token_of(lost or row.pk) + (":back" if corrects else ""),
        corrects=corrects,
        reason=row.reason.removeprefix(word),
    )


def check_carried_losses() -> Finding:
    """What older seals say that packing runs lost is said by what they shed, and nothing more."""
    finding = Finding("what packing runs lost is as it was sealed")
    begins = f'"{TABLE}":{{"columns":["id","posting_id","kind"],"rows":[['
    # By the keys of the runs: else every record of the book would be read.
    runs = Operation.objects.filter(kind=OperationKind.PACKING).order_by().values("pk")
    seals = Seal.objects.filter(operation__in=runs, record__contains=begins)
    for seal in seals.select_related("operation").order_by("number").iterator(200):
        finding.looked_at += 1
        for sentence in _changed(seal):
            finding.add(f"Seal {seal.number} of {seal.operation}: {sentence}")
    return finding


def _changed(seal: Seal) -> Iterator[str]:
    rows = json.loads(seal.record)["tables"][TABLE]["rows"]
    kinds = {posting: kind for _, posting, kind in rows}
    sheds = {shed.token: shed for shed in Shed.objects.filter(operation=seal.operation_id)}
    for posting in Posting.objects.filter(operation=seal.operation_id, pk__in=kinds):
        became, word = KINDS[kinds[posting.pk]]
        shed = sheds.get(token_of(posting.pk))
        sealed = (became, posting.lot_id, posting.moved, posting.at, posting.by_id, posting.reason)
        if shed is None:
            yield f"{posting.moved} g that it lost are gone."
        elif (
            *(shed.kind, shed.lot_id, shed.quantity, shed.at, shed.by_id),
            word + shed.reason,
        ) != sealed or shed.is_estimated:
            yield f"{posting.moved} g that it lost are no longer as sealed."
    if not seal.operation.seals.filter(number__gt=seal.number).exists():
        for shed in sheds.values():
            if shed.token not in {token_of(posting) for posting in kinds}:
                yield f"{shed} was added behind the book."
