"""What is asked before the whole book leaves as a file."""

from workshop.core.forms import helper
from workshop.core.web.passwords import ConfirmedForm, OwnPassword


class ExportForm(ConfirmedForm):
    password = OwnPassword(help_text="Once more, because the file holds everything.")
    helper = helper("Export the whole book")
