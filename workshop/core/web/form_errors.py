"""What is wrong in the forms of one page, in short: which fields, and what was typed there."""

from collections.abc import Iterable, Iterator
from typing import Any

from django.forms import BaseForm, BaseFormSet, BoundField, CharField, PasswordInput

MOST_TYPED = 30
COUNTED = ["", "One field needs", "Two fields need", "Three fields need", "Four fields need"]


def marked_fields(forms: Iterable[Any]) -> list[tuple[str, str]]:
    """The id and the words of each wrong field that is seen, as in “Expiry: “30/2/28””."""
    return [
        (field.id_for_label or field.auto_id, _words(field, of))
        for form, of in _single(forms)
        for field in form
        if field.errors and not field.is_hidden
    ]


def sentences(forms: Iterable[Any]) -> list[str]:
    """What is wrong with a form as a whole, or with a field that nobody sees."""
    found = []
    for form, _ in _single(forms):
        found += [str(sentence) for sentence in form.non_field_errors()]
        found += [str(sentence) for field in form if field.is_hidden for sentence in field.errors]
    return found


def heading(number: int, *, is_saved: bool) -> str:
    """What stands above the wrong fields.

    >>> heading(2, is_saved=True)
    'Not saved yet. Two fields need correcting'
    >>> heading(12, is_saved=False)
    '12 fields need correcting'
    """
    counted = COUNTED[number] if number < len(COUNTED) else f"{number} fields need"
    return f"{'Not saved yet. ' if is_saved else ''}{counted} correcting"


def _single(forms: Iterable[Any]) -> Iterator[tuple[BaseForm, str]]:
    """Each form by itself, with its number where it is a row of several."""
    for one in forms:
        rows = one.forms if isinstance(one, BaseFormSet) else one
        if isinstance(rows, list):
            yield from ((form, f"{place}. ") for place, form in enumerate(rows, 1))
        elif one is not None and one.is_bound:
            yield one, ""


def _words(field: BoundField, of: str) -> str:
    typed = field.value()
    is_told = isinstance(field.field, CharField) and isinstance(typed, str) and typed.strip()
    if not is_told or isinstance(field.field.widget, PasswordInput):
        return f"{of}{field.label}"
    short = typed if len(typed) <= MOST_TYPED else f"{typed[:MOST_TYPED]}…"
    return f"{of}{field.label}: “{short}”"
