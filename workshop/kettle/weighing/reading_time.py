"""When a device says that it took a reading, and how far that is believed."""

from datetime import UTC, datetime, timedelta
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.dateparse import parse_datetime

from workshop.core import formatting
from workshop.kettle.weighing.operator_ticket import LASTS

CLOCK_MAY_RUN_AHEAD = timedelta(minutes=2)
NO_TIME = "The time of the reading is not a time. Reload the page."


class MomentField(forms.CharField):
    """When a device took a reading; empty means now."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 40)
        kwargs.setdefault("required", False)
        kwargs.setdefault("widget", forms.HiddenInput)
        super().__init__(**kwargs)

    def clean(self, value: Any) -> datetime:
        now = timezone.now()
        text = super().clean(value)
        if not text:
            return now
        at = _read(text)
        if at > now + CLOCK_MAY_RUN_AHEAD:
            raise ValidationError(
                f"This device's clock says {formatting.moment(at)}, but it is"
                f" {formatting.moment(now)}. Set the clock, then send the reading again."
            )
        if at < now - LASTS:
            raise ValidationError(
                f"This device's clock says {formatting.moment(at)}; no reading waits longer than "
                f"{LASTS.days} days. Set the clock, then record the reading anew."
            )
        return min(at, now)


def _read(text: str) -> datetime:
    """The moment, which every zone can also show: the first and last days of all cannot."""
    try:
        at = parse_datetime(text)
        if at is None or timezone.is_naive(at):
            raise ValidationError(NO_TIME)
        _ = (at - timedelta(days=1)).astimezone(UTC), (at + timedelta(days=1)).astimezone(UTC)
        return at.astimezone(UTC)
    except (ValueError, OverflowError) as error:
        raise ValidationError(NO_TIME) from error
