"""What labels are made from is described: designs and sizes of the workshop."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from workshop.core.errors import ActionRefused
from workshop.core.models import User
from workshop.core.saving.with_history import save_with_history
from workshop.labels.content.label import design_of
from workshop.labels.layout.label_stock import own_layout
from workshop.labels.models import LabelDesign, OwnSize
from workshop.packing.models import Product


@transaction.atomic
def save_design(
    product: Product, values: Mapping[str, Any], *, by: User, at: datetime
) -> LabelDesign:
    """Keep what a product's labels say; approved versions stay as they are."""
    design = design_of(product)
    for name, value in values.items():
        setattr(design, name, value)
    return save_with_history(design, by=by, at=at)


@transaction.atomic
def save_size(
    values: Mapping[str, Any], *, by: User, at: datetime, size: OwnSize | None = None
) -> OwnSize:
    """Keep a label size. Raises ActionRefused when its labels overlap or stand over the page."""
    size = size or OwnSize()
    for name, value in values.items():
        setattr(size, name, value)
    if bool(size.columns) != bool(size.rows):
        raise ActionRefused("A sheet has columns and rows; a roll has neither.", field="rows")
    if size.columns:
        for name in ("page_width_mm", "page_height_mm", "left_mm", "top_mm"):
            if getattr(size, name) is None:
                raise ActionRefused("A sheet needs this measure.", field=name)
        _refuse_standing_over(size)
    return save_with_history(size, by=by, at=at)


def _refuse_standing_over(size: OwnSize) -> None:
    layout = own_layout(size)
    grid = layout.grid
    if grid is None:
        return
    right = grid.left_mm + (grid.columns - 1) * grid.step_right_mm + layout.width_mm
    bottom = grid.top_mm + (grid.rows - 1) * grid.step_down_mm + layout.height_mm
    if right > grid.page_width_mm:
        raise ActionRefused(
            f"The columns end at {right} mm and the page at {grid.page_width_mm} mm.",
            field="columns",
        )
    if bottom > grid.page_height_mm:
        raise ActionRefused(
            f"The rows end at {bottom} mm and the page at {grid.page_height_mm} mm.", field="rows"
        )
