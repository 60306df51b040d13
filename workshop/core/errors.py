"""The one error that a service raises: a sentence for the person, and the field it belongs to."""


class Refused(Exception):  # noqa: N818 -- reads as a sentence where it is raised
    """Something cannot be done; nothing was written.

    `field` names the form field at fault, or None when it is about the whole act.
    """

    def __init__(self, sentence: str, *, field: str | None = None) -> None:
        super().__init__(sentence)
        self.sentence = sentence
        self.field = field
