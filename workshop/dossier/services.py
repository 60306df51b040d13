"""What can happen to product files: an entry is added, a year of sales is kept."""

from datetime import date, datetime

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.files.uploads import CheckedFile, store_upload
from workshop.core.models import Role, User
from workshop.core.saving.form_sent_twice import check_idempotency
from workshop.core.saving.with_history import save_with_history
from workshop.dossier.models import Entry, YearOfSales
from workshop.packing.models import Product


@transaction.atomic
def add_entry(
    product: Product,
    key: str,
    *,
    text: str = "",
    dated: date | None = None,
    document: CheckedFile | None = None,
    by: User,
    at: datetime,
    token: str,
) -> Entry:
    """Put something under a heading; the same token again answers with the entry made first."""
    _refuse_unless_owner(by)
    if check_idempotency(
        token, "file entry", product=product, key=key, text=text, dated=dated,
        document=document.content if document else b"",
    ):  # fmt: skip
        return Entry.objects.get(token=token)
    if not text.strip() and document is None:
        raise ActionRefused("Write something, or hand in a document.", field="text")
    if dated is not None and dated > at.date():
        raise ActionRefused("That date is in the future.", field="dated")
    return Entry.objects.create(
        product=product, key=key, text=text.strip(), dated=dated, by=by, at=at, token=token,
        document=store_upload(document, by=by, at=at) if document else None,
    )  # fmt: skip


@transaction.atomic
def keep_sales(year: int, usd: int, *, by: User, at: datetime) -> YearOfSales:
    """Keep what was sold in a year, or put it right."""
    _refuse_unless_owner(by)
    row = YearOfSales.objects.select_for_update().filter(year=year).first() or YearOfSales()
    row.year, row.usd = year, usd
    return save_with_history(row, by=by, at=at)


def _refuse_unless_owner(by: User) -> None:
    if by.role != Role.OWNER:
        raise ActionRefused("Only an owner keeps the file of a product.")
