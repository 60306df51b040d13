"""What every form asks that puts a closed record right: why."""

from typing import Any

from django import forms

from workshop.core.forms import TokenField, helper
from workshop.ledger.services.amendments import LONGEST_REASON


class AmendForm(forms.Form):
    reason = forms.CharField(
        label="Why",
        max_length=LONGEST_REASON,
        help_text="It is kept in the record, with your name and the time.",
        error_messages={"required": "Say why the closed record is changed."},
    )
    token = TokenField()

    button = "Save the correction"

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        last = ["reason", "token"]
        self.order_fields([*(name for name in self.fields if name not in last), *last])
        self.helper = helper(self.button)


class TakeBackForm(AmendForm):
    button = "Take it back"
