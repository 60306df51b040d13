"""The art of a product is chosen: kind, colours, artwork."""

from collections.abc import Collection, Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.files.uploads import CheckedFile, store_upload
from workshop.core.models import Role, User
from workshop.core.saving.with_history import save_with_history
from workshop.labels.art.artwork import refuse_unfit
from workshop.labels.art.chosen_art import art_of
from workshop.labels.models import Art
from workshop.packing.models import Product
from workshop.rules.labels.contrast import LEAST_CONTRAST, contrast

INK = "#000000"
FILES = ("artwork", "back_artwork", "logo")


@transaction.atomic
def save_art(
    product: Product,
    values: Mapping[str, Any],
    *,
    by: User,
    at: datetime,
    files: Mapping[str, CheckedFile] | None = None,
    without: Collection[str] = (),
) -> Art:
    """Keep what a product's labels look like.

    `files` and `without` name fields of art: what is handed in for them, and what is taken off.
    Raises ActionRefused for a ground on which black cannot be read well enough, and for artwork
    that would print badly.
    """
    if by.role != Role.OWNER:
        raise ActionRefused("Only an owner chooses the art of a product.")
    art = art_of(product)
    ground = str(values.get("ground", art.ground))
    found = contrast(INK, ground)
    if found < LEAST_CONTRAST:
        raise ActionRefused(
            f"Black on {ground} has a contrast of {found} to 1; words on a label need at "
            f"least {LEAST_CONTRAST} to 1 (WCAG 2.1, 1.4.6). Choose a lighter ground.",
            field="ground",
        )
    for field, file in (files or {}).items():
        refuse_unfit(file, field)
    for name, value in values.items():
        setattr(art, name, value)
    for field in FILES:
        if field in without:
            setattr(art, field, None)
    for field, file in (files or {}).items():
        setattr(art, field, store_upload(file, by=by, at=at))
    return save_with_history(art, by=by, at=at)
