"""Keep suppliers and their organic certificates."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from workshop.core.files.uploads import store_upload
from workshop.core.models import User
from workshop.core.saving.with_history import save_with_history
from workshop.goods_in.models import Certificate, Supplier


@transaction.atomic
def save_supplier(
    values: Mapping[str, Any], *, by: User, at: datetime, supplier: Supplier | None = None
) -> Supplier:
    """Keep a supplier: `values` are the fields of the table."""
    row = supplier or Supplier()
    for name, value in values.items():
        setattr(row, name, value)
    return save_with_history(row, by=by, at=at)


@transaction.atomic
def save_certificate(
    values: Mapping[str, Any], *, by: User, at: datetime, certificate: Certificate | None = None
) -> Certificate:
    """Keep an organic certificate: the fields of the table, `items` it covers, and its `document`.

    The document is a `CheckedFile`; None leaves the one that is there.
    """
    row = certificate or Certificate()
    fields = dict(values)
    items, document = fields.pop("items", None), fields.pop("document", None)
    for name, value in fields.items():
        setattr(row, name, value)
    if document is not None:
        row.document = store_upload(document, by=by, at=at)
    save_with_history(row, by=by, at=at)
    if items is not None:
        row.items.set(items)
    return row
