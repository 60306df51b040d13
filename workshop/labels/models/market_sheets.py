"""What labels for one market rest on: sheet, responsible person, words, names, claims."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from simple_history.models import HistoricalRecords

from workshop.core.markets import Market
from workshop.core.models import Upload
from workshop.packing.models import Product


class ProductClass(models.TextChoices):
    COSMETIC = "cosmetic", "cosmetic"
    SOAP = "soap", "true soap, no cosmetic (21 CFR 701.20)"
    DRUG = "drug", "looks like a drug"
    DETERGENT = "detergent", "detergent"


class MadeFor(models.TextChoices):
    OURSELVES = "", "made by us"
    FOR = "for", "manufactured for the firm named"
    BY = "by", "distributed by the firm named"


class Party(models.Model):
    """A firm that labels name: the responsible person of a market, or who it is made for."""

    market = models.CharField(max_length=2, choices=Market)
    name = models.CharField(max_length=120)
    address = models.TextField(help_text="As it must stand on a label, one line below the other.")
    country = models.CharField(
        max_length=2, help_text="Its code of two letters, such as DE, FR or GB."
    )
    contact = models.CharField(
        "electronic address",
        max_length=200,
        blank=True,
        help_text="E-mail or web address; an online offer to the EU must show one.",
    )
    phone = models.CharField("telephone", max_length=40, blank=True)

    history = HistoricalRecords()

    class Meta:
        ordering = ["market", "name"]
        constraints = [
            models.CheckConstraint(
                name="party_market_is_known", condition=Q(market__in=Market.values)
            ),
            models.UniqueConstraint(
                name="party_once",
                fields=["market", "name"],
                violation_error_message="A firm of this name is entered for this market.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} ({self.market})"

    @property
    def lines(self) -> tuple[str, ...]:
        """Name and address as a label prints them."""
        every = (self.name, *self.address.splitlines())
        return tuple(line.strip() for line in every if line.strip())


class MarketSheet(models.Model):
    """What a product is in one market, who answers for it there, and in which languages."""

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="market_sheets")
    market = models.CharField(max_length=2, choices=Market)
    product_class = models.CharField(
        "class", max_length=10, choices=ProductClass, default=ProductClass.COSMETIC
    )
    responsible = models.ForeignKey(
        Party, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    made_for = models.CharField(
        "the maker's line", max_length=4, choices=MadeFor, default=MadeFor.OURSELVES, blank=True
    )
    origin = models.CharField(
        "country of origin", max_length=60, blank=True, help_text="As the label names it: USA."
    )
    languages = models.JSONField(default=list, help_text="Codes such as de, fr, in label order.")
    function = models.CharField(max_length=120, blank=True)
    warnings = models.TextField("further cautions here", blank=True)
    notification_number = models.CharField(max_length=60, blank=True)
    notified_on = models.DateField(null=True, blank=True)
    substantiated_by = models.CharField("safety assessed by", max_length=160, blank=True)
    substantiated_on = models.DateField("safety assessed on", null=True, blank=True)
    approved_at = models.DateTimeField(null=True, blank=True)
    approved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )

    history = HistoricalRecords()

    class Meta:
        ordering = ["product", "market"]
        constraints = [
            models.CheckConstraint(
                name="market_sheet_market_is_known", condition=Q(market__in=Market.values)
            ),
            models.UniqueConstraint(name="market_sheet_once", fields=["product", "market"]),
            models.CheckConstraint(
                name="market_sheet_choices_are_known",
                condition=Q(product_class__in=ProductClass.values, made_for__in=MadeFor.values),
            ),
            models.CheckConstraint(
                name="market_sheet_approved_by_somebody",
                condition=Q(approved_at=None, approved_by=None)
                | Q(approved_at__isnull=False, approved_by__isnull=False),
            ),
        ]

    def __str__(self) -> str:
        return f"{self.product}, {self.market} sheet"


class Phrase(models.Model):
    """Words that the owner added to the table of label words, or put in the place of ours."""

    language = models.CharField(max_length=5)
    english = models.CharField("in English", max_length=300)
    text = models.CharField("in that language", max_length=400)

    history = HistoricalRecords()

    class Meta:
        ordering = ["language", "english"]
        constraints = [
            models.UniqueConstraint(name="phrase_once", fields=["language", "english"]),
        ]

    def __str__(self) -> str:
        return f"{self.language}: {self.english}"


class OwnName(models.Model):
    """The name that the owner gives an ingredient in the lists of one market."""

    market = models.CharField(max_length=2, choices=Market)
    inci_name = models.CharField("INCI name entered", max_length=160)
    name = models.CharField("name on the label", max_length=160)

    history = HistoricalRecords()

    class Meta:
        ordering = ["inci_name", "market"]
        constraints = [
            models.CheckConstraint(
                name="own_name_market_is_known", condition=Q(market__in=Market.values)
            ),
            models.UniqueConstraint(name="own_name_once", fields=["market", "inci_name"]),
        ]

    def __str__(self) -> str:
        return f"{self.inci_name} in {self.market}: {self.name}"


class ClaimProof(models.Model):
    """What bears out one claim of a product. Rows are added only; the newest holds."""

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="claim_proofs")
    claim = models.CharField(max_length=300)
    evidence = models.TextField()
    dated = models.DateField("date of the evidence")
    document = models.ForeignKey(
        Upload, on_delete=models.PROTECT, related_name="+", null=True, blank=True
    )
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                name="claim_proof_says_something", condition=~Q(claim="") & ~Q(evidence="")
            )
        ]

    def __str__(self) -> str:
        return f"{self.product}: {self.claim}"


class ClaimAnswer(models.Model):
    """What an owner answered to words on a label that may make it a drug. Rows are added only."""

    product = models.ForeignKey(Product, on_delete=models.PROTECT, related_name="claim_answers")
    sentence = models.CharField("the words of the label", max_length=500)
    word = models.CharField("what was found in them", max_length=120)
    answer = models.CharField(max_length=500)
    at = models.DateTimeField()
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    token = models.CharField(max_length=64, unique=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(name="claim_answer_is_given", condition=~Q(answer=""))
        ]

    def __str__(self) -> str:
        return f"{self.product}: {self.word}"
