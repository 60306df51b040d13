"""Fields written without a template: a bench has some fifty, and is written anew at each change."""

from typing import Any

from django import forms
from django.forms.utils import flatatt
from django.forms.widgets import Input
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString


class QuickSelect(forms.Select):
    """As the framework writes a select, but for its blanks."""

    def _render(self, template_name: str, context: Any, renderer: Any = None) -> SafeString:
        widget = context["widget"]
        options = (
            (option["value"], flatatt(option["attrs"]), option["label"])
            for _, group, _ in widget["optgroups"]
            for option in group
        )
        told = format_html_join("", '<option value="{}"{}>{}</option>', options)
        return format_html(
            '<select name="{}"{}>{}</select>', widget["name"], flatatt(widget["attrs"]), told
        )


class _QuickInput(Input):
    def _render(self, template_name: str, context: Any, renderer: Any = None) -> SafeString:
        widget = context["widget"]
        value = "" if widget["value"] is None else format_html(' value="{}"', widget["value"])
        return format_html(
            '<input type="{}" name="{}"{}{}>',
            widget["type"],
            widget["name"],
            value,
            flatatt(widget["attrs"]),
        )


class QuickText(_QuickInput, forms.TextInput):
    """As the framework writes it."""


class QuickHidden(_QuickInput, forms.HiddenInput):
    """As the framework writes it."""
