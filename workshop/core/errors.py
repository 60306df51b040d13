"""The one error that a service raises: a sentence for the person, and the field it belongs to."""

from collections.abc import Mapping


class Refused(Exception):  # noqa: N818 -- reads as a sentence where it is raised
    """Something cannot be done; nothing was written.

    `field` names the form field at fault, or None when it is about the whole act. `renewed` are
    hidden fields of the form with what they must hold for the person to send it again on purpose;
    `beside` are sentences about single fields, by their names.
    """

    def __init__(
        self,
        sentence: str,
        *,
        field: str | None = None,
        renewed: Mapping[str, str] | None = None,
        beside: Mapping[str, str] | None = None,
    ) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.field = field
        self.renewed = dict(renewed or {})
        self.beside = dict(beside or {})
