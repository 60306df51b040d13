"""Print the labels of cartons, each with a number never given twice."""

from datetime import datetime

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User, Workshop
from workshop.labels.content.label import Label
from workshop.labels.models import Print, PrintKind
from workshop.labels.printing.case_labels import CARTON, carton_pdf
from workshop.labels.services import note_print
from workshop.ledger.models import Lot
from workshop.rules.codes.sscc import EXTENSION, serial_of, sscc
from workshop.rules.errors import RuleError


@transaction.atomic
def print_cartons(
    lot: Lot,
    *,
    per_carton: int,
    cartons: int,
    by: User,
    at: datetime,
    token: str,
    reason: str = "",
    market: str | None = None,
) -> bytes:
    """Note the carton labels of a lot and answer with them: count, lot, date, and their number."""
    noted = note_print(
        lot, cartons, by=by, at=at, reason=reason, layout=CARTON, token=token, market=market,
        kind=PrintKind.CARTON, first_sscc=lambda label: _next_sscc(label, cartons),
    )  # fmt: skip
    return carton_pdf(
        noted.standing.label,
        per_carton=per_carton,
        cartons=cartons,
        first_sscc=noted.printed.first_sscc,
    )


def _next_sscc(label: Label, cartons: int) -> str:
    """The first number not yet given under the workshop's prefix; none without prefix or GTIN."""
    workshop = Workshop.objects.select_for_update().get(pk=label.workshop.pk)
    if not workshop.gs1_prefix or not label.gtin:
        return ""
    prefix = workshop.gs1_prefix
    given = Print.objects.filter(first_sscc__startswith=EXTENSION + prefix)
    last = given.order_by("-first_sscc").values_list("first_sscc", "count").first()
    serial = serial_of(prefix, last[0]) + last[1] if last else 1
    try:
        sscc(prefix, serial + cartons - 1)
        return sscc(prefix, serial)
    except RuleError as error:
        raise ActionRefused(str(error), field="cartons") from error
