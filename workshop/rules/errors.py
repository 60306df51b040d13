"""The one error that the rules raise."""


class RuleError(ValueError):
    """A value the rules cannot accept; the message is a full sentence for the person typing."""
