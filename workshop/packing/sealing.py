"""What the seal of a packing run covers besides the ledger, and whether the book still says so."""

import json
from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import datetime
from fractions import Fraction
from typing import Any

from django.db.models import Prefetch

from workshop.core.errors import Refused
from workshop.core.models import Role, User
from workshop.ledger import services as ledger
from workshop.ledger.checks import CHUNK, Finding
from workshop.ledger.models import Act, Operation, Posting, Seal
from workshop.ledger.seals import moment
from workshop.packing.models import FillSample, PackingRun, Reading, Retained

Record = Mapping[str, Any]
# Added to at any time, so a seal says only how these began.
MAY_GROW = {"kept_back"}


def fill_record(run: PackingRun) -> dict[str, Any]:
    """Every weight with what became of it, the tare, what was lost and the units kept back."""
    return _record(
        list(run.samples.order_by("pk")),
        run.operation.postings.select_related("packing_loss"),
        Retained.objects.filter(lot__origin=run.operation_id).order_by("pk"),
    )


def _record(samples: list[FillSample], postings: Any, kept_back: Any) -> dict[str, Any]:
    token_of = {one.pk: one.token for one in samples}
    corrected = {one.corrects_id for one in samples}
    empties = [
        one.grams
        for one in samples
        if one.kind == Reading.EMPTY and one.pk not in corrected and one.grams is not None
    ]
    return {
        "samples": [_sample_record(one, token_of) for one in samples],
        "tare_g": str(Fraction(sum(empties)) / len(empties)) if empties else "",
        "losses": [
            [one.token, one.packing_loss.kind]
            for one in sorted(postings, key=lambda one: one.pk)
            if hasattr(one, "packing_loss")
        ],
        "kept_back": [_kept_record(one) for one in kept_back],
    }


def _sample_record(one: FillSample, token_of: Mapping[int, str]) -> dict[str, Any]:
    return {
        "token": one.token,
        "place": one.place,
        "kind": one.kind,
        "thousandths": None if one.grams is None else int(one.grams.scaleb(3)),
        "scale": one.scale_id,
        "at": moment(one.at),
        "by": one.by_id,
        "corrects": token_of.get(one.corrects_id or 0),
        "reason": one.reason,
    }


def _kept_record(one: Retained) -> dict[str, Any]:
    return {
        "token": one.token,
        "thousandths": int(one.units.scaleb(3)),
        "place": one.place,
        "reason": one.reason,
        "at": moment(one.at),
        "by": one.by_id,
    }


def open_again(run: PackingRun, *, by: User, at: datetime, reason: str) -> None:
    """Open a closed run for more weights, as only an owner may, and with a reason."""
    if by.role != Role.OWNER:
        raise Refused(
            f"{run} is closed and sealed: an owner may still enter or correct weights, with a "
            "reason. Give an owner the figures, or hold the lot until one is here."
        )
    if not reason.strip():
        raise Refused(
            f"{run} is closed and sealed: say why its record is opened again.", field="reason"
        )
    ledger.amend_operation(run.operation, by=by, at=at, reason=reason.strip()[:300])


def seal_again(run: PackingRun, *, by: User, at: datetime, **more: Any) -> None:
    """Close a run that was opened again: what its last seal said, with its weights as they are."""
    last = Seal.objects.filter(operation=run.operation_id).order_by("number").last()
    told = json.loads(last.record)["details"] if last else {}
    told.pop("weighed", None)
    details = {**told, **fill_record(run), **more}
    ledger.close_operation(run.operation, by=by, at=at, details=details)


def check_fills() -> Finding:
    """What was weighed, lost and kept back is what the seal of each packing run says."""
    seals = Seal.objects.filter(operation__kind=Act.PACKING, operation__packing_run__isnull=False)
    finding = Finding("every packing run has the weights that were sealed", seals.count())
    newest: dict[int, int] = defaultdict(int)
    newest.update(seals.order_by("number").values_list("operation", "number"))
    rows = seals.select_related("operation__packing_run").prefetch_related(
        Prefetch("operation__packing_run__samples", FillSample.objects.order_by("pk")),
        Prefetch("operation__postings", Posting.objects.select_related("packing_loss")),
        Prefetch("operation__lots__retained_rows", Retained.objects.order_by("pk")),
    )
    for seal in rows.order_by("number").iterator(CHUNK):
        may_grow = newest[seal.operation_id] != seal.number or not seal.operation.is_closed
        for what in _changed(seal, may_grow=may_grow):
            finding.add(f"Seal {seal.number} of {seal.operation}: {what} no longer as sealed.")
    return finding


def _changed(seal: Seal, *, may_grow: bool) -> Iterator[str]:
    try:
        sealed = json.loads(seal.record).get("details", {})
    except ValueError:
        return  # the check of the seals itself tells of this
    live = _live_record(seal.operation)
    if "weighed" in sealed and not _are_there(sealed["weighed"], live["samples"]):
        yield "its fill weights are"
    words = {
        "samples": "its fill weights are",
        "losses": "what was spilled or sampled is",
        "kept_back": "the units kept back are",
    }
    for key, said in words.items():
        then = sealed.get(key)
        if then is None:
            continue
        now = live[key][: len(then)] if may_grow or key in MAY_GROW else live[key]
        if now != then:
            yield said


def _live_record(operation: Operation) -> dict[str, Any]:
    kept = [row for lot in operation.lots.all() for row in lot.retained_rows.all()]
    return _record(
        list(operation.packing_run.samples.all()),
        operation.postings.all(),
        sorted(kept, key=lambda row: row.pk),
    )


def _are_there(weighed: list[list[Any]], samples: list[dict[str, Any]]) -> bool:
    """Seals of the first release name only the weights that stood."""
    have = {(one["place"], one["kind"], one["token"], one["thousandths"]) for one in samples}
    return all(
        (place, kind, token, int(Fraction(grams) * 1000)) in have
        for place, kind, grams, token in weighed
    )
