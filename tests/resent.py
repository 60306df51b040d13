"""Forms sent again: the same is answered as before, with anything else it is refused."""

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

import pytest

from workshop.core.errors import ActionRefused


def refused(act: Callable[[], Any], sentence: str, field: str | None = None) -> None:
    """The act is refused with such a sentence, which stands beside that field."""
    with pytest.raises(ActionRefused) as caught:
        act()
    assert sentence in caught.value.message
    assert caught.value.field == field


def bound_to(act: Callable[..., Any], sent: Mapping[str, Any], others: Mapping[str, Any]) -> None:
    """The act takes the same twice, and its token with no other of `others`, each told by name."""
    first = act(**sent)
    assert act(**sent) == first
    for name, value in others.items():
        refused(partial(act, **{**sent, name: value}), "already sent with other figures")
