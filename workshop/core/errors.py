"""The one error that a service raises: a message for the person, and the field it belongs to."""

from collections.abc import Mapping


class ActionRefused(Exception):  # noqa: N818 -- reads as a message where it is raised
    """Something cannot be done; nothing was written.

    `field` names the form field at fault, or None when it is about the whole act. `renewed` are
    hidden fields of the form with what they must hold for the person to send it again on purpose;
    `beside` are messages about single fields, by their names.
    """

    def __init__(
        self,
        message: str,
        *,
        field: str | None = None,
        renewed: Mapping[str, str] | None = None,
        beside: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(message)
        self.message = message
        self.field = field
        self.renewed = dict(renewed or {})
        self.beside = dict(beside or {})
