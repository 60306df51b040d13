"""Exact numbers in the database: whole numbers stored, `Decimal` in Python."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models.expressions import Combinable


class FixedPointField(models.BigIntegerField):  # type: ignore[type-arg]  # not generic at run time
    """A decimal with a fixed number of places, stored as a whole number.

    `DecimalField` is not exact on SQLite (sums drift, equality misses rows); a whole
    number is exact on both databases, and so is its `Sum`.
    """

    # What the type checker lets a caller assign.
    _pyi_private_set_type: Decimal | int | str | Combinable  # type: ignore[assignment]

    def __init__(self, *args: Any, places: int = 3, **kwargs: Any) -> None:
        self.places = places
        super().__init__(*args, **kwargs)

    def deconstruct(self) -> Any:
        name, path, args, kwargs = super().deconstruct()
        kwargs["places"] = self.places
        return name, path, args, kwargs

    @property
    def validators(self) -> list[Callable[[Any], None]]:
        """Those of the declaration only: the integer's own range speaks of the stored number."""
        return list(self._validators)  # type: ignore[attr-defined]  # the stubs leave it out

    def to_python(self, value: Any) -> Decimal | None:
        if value is None:
            return None
        try:
            number = Decimal(value)
        except (ArithmeticError, TypeError, ValueError) as error:
            raise ValidationError(f"“{value}” is not a number.") from error
        if not number.is_finite() or abs(number) >= Decimal(10) ** (18 - self.places):
            raise ValidationError(f"“{value}” is not a number that can be kept.")
        if number != round(number, self.places):
            raise ValidationError(f"{value} has more than {self.places} decimal places.")
        return round(number, self.places)

    def from_db_value(self, value: Any, *_: Any) -> Decimal | None:
        # Sums come back as int from SQLite and as Decimal from PostgreSQL.
        return None if value is None else Decimal(value).scaleb(-self.places)

    def get_prep_value(self, value: Any) -> Any:
        if value is None or hasattr(value, "resolve_expression"):
            return value
        number = self.to_python(value)
        return None if number is None else int(number.scaleb(self.places))

    def get_db_prep_value(
        self,
        value: Any,
        connection: BaseDatabaseWrapper,
        prepared: bool = False,  # noqa: FBT001, FBT002 -- the framework calls it so
    ) -> Any:
        return value if prepared else self.get_prep_value(value)

    def value_to_string(self, obj: models.Model) -> str:
        value = self.value_from_object(obj)
        return "" if value is None else str(value)

    def formfield(self, *args: Any, **kwargs: Any) -> Any:
        raise NotImplementedError("Name a form field for a fixed-point number yourself.")


class QuantityField(FixedPointField):
    """A quantity in the item's unit (grams or pieces), kept in thousandths of it."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("places", 3)
        super().__init__(*args, **kwargs)


class PercentField(FixedPointField):
    """A share in percent, kept to four decimals."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("places", 4)
        super().__init__(*args, **kwargs)


class MoneyField(FixedPointField):
    """An amount of money in the workshop's currency, kept in cents."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs.setdefault("places", 2)
        super().__init__(*args, **kwargs)
