"""People, and the phones and desks they are signed in on."""

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.contrib.sessions.base_session import AbstractBaseSession, BaseSessionManager
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _
from simple_history.models import HistoricalRecords

from lots.models.known import Known, alike_in_no_capitals


class Role(models.TextChoices):
    GROWER = "grower", _("grower")
    MANAGER = "manager", _("manager")


class PersonManager(BaseUserManager["Person"]):
    def create_user(self, username: str, password: str | None = None, **fields) -> "Person":
        person = self.model(username=self.model.normalize_username(username), **fields)
        person.set_password(password)
        person.save(using=self._db)
        return person

    def create_superuser(self, username: str, password: str | None = None, **fields) -> "Person":
        return self.create_user(username, password, **{**fields, "role": Role.MANAGER})


class Person(Known, AbstractBaseUser):
    """Somebody of the nursery: a name, initials, a sign-in and a role. Nothing more is kept."""

    KNOWN_BY = "username"

    username = models.CharField(
        _("sign-in name"),
        max_length=40,
        unique=True,
        error_messages={"unique": _("Somebody has this sign-in name already; choose another.")},
    )
    name = models.CharField(_("name"), max_length=80)
    initials = models.CharField(
        _("initials"), max_length=5, help_text=_("As they stand on the tags.")
    )
    role = models.CharField(_("role"), max_length=8, choices=Role, default=Role.GROWER)
    is_active = models.BooleanField(_("works here"), default=True)
    must_change_password = models.BooleanField(default=False)  # it was made up by the book
    pin = models.CharField(max_length=128, blank=True)  # hashed as the password is

    # What a person may do, by whom it was changed; not the password, nor each sign-in.
    history = HistoricalRecords(
        excluded_fields=["password", "last_login", "must_change_password", "pin"]
    )
    # Whether this is somebody who came in by PIN (`nursery.pins`), which is for logging alone.
    by_pin = False

    USERNAME_FIELD = "username"
    REQUIRED_FIELDS = ["name", "initials"]
    objects = PersonManager()

    class Meta:
        ordering = ["name"]
        verbose_name = _("person")
        verbose_name_plural = _("people")
        constraints = [
            models.CheckConstraint(condition=Q(role__in=Role.values), name="person_role"),
            alike_in_no_capitals("person", "username"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_manager(self) -> bool:
        return self.is_active and self.role == Role.MANAGER and not self.by_pin

    # Django's admin asks these three: managers may use it, growers may not.
    @property
    def is_staff(self) -> bool:
        return self.is_manager

    def has_perm(self, perm: str, obj: object = None) -> bool:
        return self.is_manager

    def has_module_perms(self, app_label: str) -> bool:
        return self.is_manager


class SignIn(AbstractBaseSession):
    """A signed-in phone or desk. A manager can end it: deleting the row signs that device out."""

    person = models.ForeignKey(Person, models.CASCADE, null=True, related_name="sign_ins")
    device = models.CharField(max_length=200, blank=True)
    since = models.DateTimeField(null=True)

    objects = BaseSessionManager()

    class Meta:
        ordering = ["-since"]
        verbose_name = _("sign-in")
        verbose_name_plural = _("sign-ins")

    @classmethod
    def get_session_store_class(cls):
        from nursery.signins import SessionStore

        return SessionStore


class KnownDevice(models.Model):
    """A device on which somebody has signed in with the password (`nursery.known_devices`);
    `device` is the SHA-256 of the key in its cookie."""

    person = models.ForeignKey(Person, models.CASCADE, related_name="known_devices")
    device = models.CharField(max_length=64)
    wrong_pins = models.PositiveSmallIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint("device", "person", name="known_device_person"),
        ]

    def __str__(self) -> str:
        return f"{self.person} on {self.device[:8]}"


class WrongPasswords(models.Model):
    """How often a name was tried in vain from an address or a device (`nursery.throttle`)."""

    NAME_LENGTH = 150

    username = models.CharField(max_length=NAME_LENGTH)
    address = models.CharField(max_length=45)
    tries = models.PositiveIntegerField(default=0)
    last = models.DateTimeField(auto_now=True, db_index=True)

    class Meta:
        constraints = [
            models.UniqueConstraint("username", "address", name="wrong_passwords_name_address")
        ]

    def __str__(self) -> str:
        return f"{self.username} from {self.address}"


class BookSettings(models.Model):
    """What holds for the book as a whole: one row, with key 1. `time_zone` is the one by which
    its days are told."""

    THE_ONE = 1

    time_zone = models.CharField(max_length=60)

    class Meta:
        constraints = [models.CheckConstraint(condition=Q(id=1), name="book_settings_only_one")]

    def __str__(self) -> str:
        return f"time zone {self.time_zone}"


class DemoBook(models.Model):
    """The mark of a demo book: one row, written with it and found in no real book. It stands in
    the database itself, so that it goes wherever the book goes."""

    day = models.DateField()
    lots = models.PositiveIntegerField()
    seed = models.BigIntegerField()

    def __str__(self) -> str:
        return f"demo of {self.day}"
