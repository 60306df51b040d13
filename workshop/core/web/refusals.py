"""A form, one service, and what it refuses: the pages' way from one to the other."""

from types import TracebackType

from django import forms

from workshop.core.errors import ActionRefused
from workshop.core.forms import refuse


class refusals_on:  # noqa: N801 -- reads as a word of the language: with refusals_on(form):
    """Do something that a service may refuse: the refusal goes onto the form, which is shown again.

        if form.is_valid():
            with refusals_on(form):
                lot = services.count_lot(...)
                messages.success(request, f"Lot {lot} is counted.")
                return redirect("ledger:lot", code=lot.code)
        return render(request, "ledger/act.html", {"form": form})

    A class and not a generator, so that the type checker knows that it goes on behind it.
    """

    def __init__(self, form: forms.BaseForm) -> None:
        self.form = form

    def __enter__(self) -> None:
        return None

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> bool:
        if not isinstance(error, ActionRefused):
            return False
        refuse(self.form, error)
        return True
