"""What the office keeps around the record: people to reach, what payers said, papers and photos, merges, imports."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.db.models.functions import Now

from fleet.models.claims import Claim
from fleet.models.history import Failure
from fleet.models.jobs import Job
from fleet.models.log import Load
from fleet.models.promises import Terms
from fleet.models.sites import Site
from fleet.models.stops import WriteUp
from fleet.models.units import Unit
from fleet.models.words import choices, one_of
from fleet.rules.missing_facts import FACTS
from fleet.rules.spreadsheets.cells import Act

CONTACT_ROLES = ("owner", "tenant", "manager", "builder", "other")
DOCUMENT_KINDS = ("photo", "document")
MERGED_KINDS = ("customer", "site", "unit")
IMPORT_KINDS = ("installs", "history", "agreements")
# What its job is doing stands with the job: an import that waits may be running, or have been stopped.
IMPORT_STATES = ("reading", "asking", "waiting", "checked", "taken", "refused", "undone")
# What a person is asked of a file, one after the other: which sheet, what its columns are, what cannot be read, what is to be
# confirmed; then it is ready to be taken. They may go back to any of them.
IMPORT_STEPS = ("sheet", "columns", "values", "confirm", "ready")


class Contact(models.Model):
    """Somebody to reach about a site, and how."""

    site = models.ForeignKey(Site, models.CASCADE, related_name="contacts")
    name = models.CharField(max_length=200)
    role = models.CharField(max_length=12, choices=choices(CONTACT_ROLES), default="owner")
    phone = models.CharField(max_length=60, blank=True)
    email = models.EmailField(blank=True)
    reach = models.CharField(max_length=300, blank=True, help_text="when and how to reach them")

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            one_of("role", CONTACT_ROLES),
            models.CheckConstraint(condition=~Q(name=""), name="contact_has_a_name"),
        ]

    def __str__(self) -> str:
        return self.name


class SetAside(models.Model):
    """A fact that nobody can know any more: of a unit, or of a site for every unit it is wanted of.

    It is wanted no longer, and stays as open in every answer as it was. `first_on` is the first day of the gap where proof
    of maintenance is what nobody has; it is blank for every other fact.
    """

    unit = models.ForeignKey(Unit, models.CASCADE, null=True, related_name="set_aside")
    site = models.ForeignKey(Site, models.CASCADE, null=True, related_name="set_aside")
    fact = models.CharField(max_length=24, choices=choices(FACTS))
    first_on = models.DateField(null=True)
    set_aside_on = models.DateField()
    note = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [
            one_of("fact", FACTS),
            models.CheckConstraint(
                condition=Q(unit__isnull=True, site__isnull=False) | Q(unit__isnull=False, site__isnull=True),
                name="setaside_of_a_unit_or_a_site",
            ),
            models.CheckConstraint(
                condition=Q(first_on__isnull=True) | Q(fact="maintenance"), name="setaside_day_is_of_a_gap"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.fact} set aside on {self.set_aside_on}"


class PayerWord(models.Model):
    """What a payer itself said of a unit: on which day, who there, and the last day they gave (none: not covered)."""

    unit = models.ForeignKey(Unit, models.CASCADE, related_name="payer_words")
    terms = models.ForeignKey(Terms, models.PROTECT, related_name="payer_words")
    kind = models.CharField(max_length=12)
    component = models.CharField(max_length=40, blank=True, help_text="blank: whatever has no coverage of its own")
    said_on = models.DateField()
    who = models.CharField(max_length=200)
    covered = models.BooleanField()
    last_on = models.DateField(null=True)
    note = models.CharField(max_length=300, blank=True)
    settled_on = models.DateField(null=True)
    settled_how = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["-said_on", "-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(settled_on__isnull=True, settled_how="")
                | (Q(settled_on__isnull=False) & ~Q(settled_how="")),
                name="payerword_settled_on_with_how",
                violation_error_message="Settling a difference says how.",
            ),
            models.CheckConstraint(
                condition=Q(covered=True) | Q(last_on__isnull=True), name="payerword_last_day_only_if_covered"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.who} on {self.said_on}"


class Document(models.Model):
    """A photo or a paper of a unit or a site, kept privately; `stored` is its name in the media folder."""

    unit = models.ForeignKey(Unit, models.CASCADE, null=True, related_name="documents")
    site = models.ForeignKey(Site, models.CASCADE, null=True, related_name="documents")
    failure = models.ForeignKey(Failure, models.SET_NULL, null=True, related_name="documents")
    claim = models.ForeignKey(Claim, models.SET_NULL, null=True, related_name="documents")
    write_up = models.ForeignKey(WriteUp, models.SET_NULL, null=True, related_name="documents")
    given_for = models.CharField(max_length=300, blank=True, help_text="what a payer asked for, in its own words")
    proves_registration = models.BooleanField(default=False)
    kind = models.CharField(max_length=12, choices=choices(DOCUMENT_KINDS))
    name = models.CharField(max_length=200)
    caption = models.CharField(max_length=300, blank=True)
    media_type = models.CharField(max_length=60)
    stored = models.CharField(max_length=120, unique=True)
    digest = models.CharField(max_length=64)
    sent_digest = models.CharField(
        max_length=64, blank=True, help_text="of the file as a phone sent it, by which it knows that it arrived"
    )
    size = models.PositiveIntegerField()
    serial_read = models.CharField(
        max_length=120, blank=True, help_text="read from a code in this photo and confirmed by eye, by whoever added it"
    )
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())
    dropped_on = models.DateField(null=True)
    load = models.ForeignKey(
        Load, models.PROTECT, null=True, related_name="+", help_text="the install that it came with"
    )

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            one_of("kind", DOCUMENT_KINDS),
            models.CheckConstraint(
                condition=Q(unit__isnull=False, site__isnull=True) | Q(unit__isnull=True, site__isnull=False),
                name="document_of_a_unit_or_a_site",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def whose(self) -> Unit | Site:
        """The unit or the site that it shows."""
        whose = self.unit or self.site
        assert whose is not None  # a constraint holds this
        return whose

    @property
    def small(self) -> str:
        """The name of a photo's small copy, which lies beside it; a paper has none."""
        return f"{self.stored.removesuffix('.jpg')}_small.jpg" if self.kind == "photo" else ""


class Merge(models.Model):
    """Two things that were one: which was kept, and everything needed to take them apart again."""

    kind = models.CharField(max_length=12, choices=choices(MERGED_KINDS))
    kept_id = models.BigIntegerField()
    gone_id = models.BigIntegerField()
    content = models.JSONField()
    why = models.CharField(max_length=300, blank=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())
    undone_at = models.DateTimeField(null=True)
    undone_by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")

    class Meta:
        constraints = [one_of("kind", MERGED_KINDS)]

    def __str__(self) -> str:
        return f"{self.kind} {self.gone_id} into {self.kept_id}"


class Import(models.Model):
    """One file brought to the import page: how it is read, what a person has said of it so far, and what became of it.

    `stored` and `problems_stored` are names in the media folder, blank once the file is gone. A session that is lost loses
    nothing: whatever was answered stands here.
    """

    kind = models.CharField(max_length=12, choices=choices(IMPORT_KINDS))
    name = models.CharField(max_length=255)
    stored = models.CharField(max_length=120, blank=True)
    step = models.CharField(max_length=8, choices=choices(IMPORT_STEPS), default="sheet")
    tops = models.JSONField(default=list, help_text="how each sheet of the file begins")
    sheet_name = models.CharField(max_length=255, blank=True, help_text="of a workbook, the sheet that is read")
    heading_row = models.IntegerField(default=0, help_text="0: not known yet; -1: none")
    sheet = models.JSONField(default=list, help_text="their columns: heading, samples, how many cells are filled")
    columns = models.JSONField(default=dict, help_text="what each of their columns is")
    plan = models.JSONField(default=dict, help_text="whatever else was answered")
    findings = models.JSONField(default=dict, help_text="what there is to ask, by step")
    correcting = models.BooleanField(default=False)
    checking = models.BooleanField(default=False, help_text="the job says what would come of it, and takes nothing")
    state = models.CharField(max_length=12, choices=choices(IMPORT_STATES), default="reading")
    job = models.ForeignKey(Job, models.SET_NULL, null=True, related_name="+")
    row_count = models.PositiveIntegerField(null=True)
    report = models.JSONField(default=dict)
    problems_stored = models.CharField(max_length=120, blank=True)
    load = models.ForeignKey(Load, models.PROTECT, null=True, related_name="+", help_text="what it brought")
    by = models.ForeignKey(settings.AUTH_USER_MODEL, models.PROTECT, null=True, related_name="+")
    at = models.DateTimeField(db_default=Now())

    class Meta:
        constraints = [
            one_of("kind", IMPORT_KINDS),
            one_of("state", IMPORT_STATES),
            one_of("step", IMPORT_STEPS),
            models.CheckConstraint(
                condition=Q(load__isnull=True) | Q(state__in=["taken", "undone"]), name="import_load_once_taken"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class ColumnMemory(models.Model):
    """How columns of a certain heading were matched the last time; `heading` folds the header row."""

    kind = models.CharField(max_length=12)
    heading = models.CharField(max_length=64)
    columns = models.JSONField()
    plan = models.JSONField(
        default=dict, help_text="what was said of the file as a whole: given, worked out, order of days"
    )

    class Meta:
        constraints = [models.UniqueConstraint(fields=["kind", "heading"], name="columnmemory_once")]

    def __str__(self) -> str:
        return self.heading


class ValueMemory(models.Model):
    """What a person said that a text in a column means, for the next file that has it."""

    kind = models.CharField(max_length=12)
    column = models.CharField(max_length=40)
    text = models.CharField(max_length=200, blank=True)
    act = models.CharField(max_length=12, choices=choices(Act))
    value = models.CharField(max_length=200, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["kind", "column", "text"], name="valuememory_once"),
            one_of("act", tuple(Act)),
        ]

    def __str__(self) -> str:
        return f"{self.column} {self.text!r}: {self.act}"
