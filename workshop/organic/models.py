"""The inspector's packs that were made: what each held, and the digest by which it is known."""

from django.conf import settings
from django.db import models


class Pack(models.Model):
    """A pack handed over: its period, the draw, and the SHA-256 of its files. Rows are added only.

    `head` is the newest seal of the book when it was made, in one line.
    """

    first = models.DateField()
    last = models.DateField()
    seed = models.CharField(max_length=64)
    drawn = models.JSONField(default=list, help_text="Codes of the lots drawn by chance.")
    chosen = models.JSONField(default=list, help_text="Codes of the lots that were asked for.")
    file_count = models.PositiveIntegerField()
    size = models.PositiveBigIntegerField(help_text="Bytes of the archive.")
    sha256 = models.CharField(max_length=64, unique=True)
    paper_sha256 = models.CharField(max_length=64)
    head = models.CharField(max_length=100, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"pack {self.pk}"
