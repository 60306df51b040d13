"""People, the workshop itself, and files handed in."""

from django.contrib.auth.models import AbstractUser
from django.db import models
from django.db.models import Q
from django.db.models.functions import Length
from django.db.models.lookups import GreaterThanOrEqual
from simple_history.models import HistoricalRecords

from workshop.core.markets import Market


class Role(models.TextChoices):
    OWNER = "owner", "owner"
    MAKER = "maker", "maker"
    PACKER = "packer", "packer"
    INSPECTOR = "inspector", "inspector"


class User(AbstractUser):
    """A person who signs in; what they may do follows from the role alone."""

    # The framework would write it at each sign-in, and each time a line of history with it.
    last_login = None
    role = models.CharField(max_length=10, choices=Role, default=Role.INSPECTOR)

    history = HistoricalRecords(excluded_fields=["password"])

    class Meta:
        ordering = ["username"]
        constraints = [
            models.CheckConstraint(
                name="user_role_is_known",
                condition=Q(role__in=Role.values),
                violation_error_message="Choose one of the four roles.",
            ),
        ]

    def __str__(self) -> str:
        return self.get_full_name() or self.username


# Common practice, no source: parcels that nobody hears of for two weeks have arrived.
USUAL_DAYS_ON_THE_WAY = 14
MOST_DAYS_ON_THE_WAY = 90


class Workshop(models.Model):
    """The one workshop this book belongs to: its name and address as labels print them."""

    name = models.CharField(max_length=120)
    address = models.TextField(help_text="As it must stand on a label, one line below the other.")
    contact = models.CharField(
        max_length=120, blank=True, help_text="Telephone or electronic contact printed on labels."
    )
    certified_by = models.CharField(
        max_length=120, blank=True, help_text="Your own organic certifier, if you are certified."
    )
    market = models.CharField(max_length=2, choices=Market, default=Market.US)
    gs1_prefix = models.CharField("GS1 company prefix", max_length=12, blank=True)
    days_on_the_way = models.PositiveSmallIntegerField(
        default=USUAL_DAYS_ON_THE_WAY,
        help_text="After so many days without word a dispatch is taken as arrived.",
    )

    history = HistoricalRecords()

    class Meta:
        constraints = [
            models.CheckConstraint(name="workshop_is_the_only_one", condition=Q(pk=1)),
            models.CheckConstraint(
                name="workshop_market_is_known", condition=Q(market__in=Market.values)
            ),
            models.CheckConstraint(
                name="workshop_gs1_prefix_is_long_enough",
                condition=Q(gs1_prefix="") | Q(GreaterThanOrEqual(Length("gs1_prefix"), 4)),
                violation_error_message="A GS1 company prefix has 4 to 12 digits.",
            ),
            models.CheckConstraint(
                name="workshop_days_on_the_way",
                condition=Q(days_on_the_way__range=(1, MOST_DAYS_ON_THE_WAY)),
                violation_error_message=f"Give from 1 to {MOST_DAYS_ON_THE_WAY} days.",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Upload(models.Model):
    """A file somebody handed in: checked for type and size, served only as a download."""

    file = models.FileField(upload_to="%Y/%m/")
    name = models.CharField(max_length=200)
    content_type = models.CharField(max_length=40)
    size = models.PositiveIntegerField()
    sha256 = models.CharField(max_length=64)
    uploaded_at = models.DateTimeField()
    uploaded_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    def __str__(self) -> str:
        return self.name


class SentForm(models.Model):
    """What the token of a form stands for: a digest of each value it was sent with.

    Rows are added only, in the transaction of the act itself.
    """

    token = models.CharField(max_length=70)
    act = models.CharField(max_length=40)
    digests = models.JSONField()

    class Meta:
        constraints = [
            models.UniqueConstraint(name="sent_form_once", fields=["token", "act"]),
            models.CheckConstraint(name="sent_form_has_a_token", condition=~Q(token="")),
        ]

    def __str__(self) -> str:
        return f"{self.act} {self.token}"
