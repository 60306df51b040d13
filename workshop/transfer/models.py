"""What was taken in from spreadsheets, and how their columns were understood."""

from django.conf import settings
from django.db import models


class SheetImport(models.Model):
    """A file that was taken in; what it entered bears its moment and its person."""

    file_name = models.CharField(max_length=200)
    sha256 = models.CharField(max_length=64)
    at = models.DateTimeField(unique=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    new = models.PositiveIntegerField()
    changed = models.PositiveIntegerField()
    same = models.PositiveIntegerField()

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.file_name


class SheetTakenBack(models.Model):
    """What a file had entered was taken back."""

    taken_in = models.OneToOneField(
        SheetImport, on_delete=models.PROTECT, related_name="taken_back"
    )
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    reason = models.CharField(max_length=300)

    def __str__(self) -> str:
        return f"{self.taken_in} taken back"


class ColumnChoice(models.Model):
    """Which column a heading of one's own stands for, or none; the last word counts."""

    kind = models.CharField(max_length=20)
    heading = models.CharField(max_length=80)
    column = models.CharField(max_length=30, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.heading
