"""The forms of signing in and of people."""

from django import forms
from django.contrib.auth import forms as auth_forms
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _
from django.views.decorators.debug import sensitive_variables

from nursery import passwords
from nursery.models import KnownDevice, Person, Role

PASSWORD_HELP = _(
    "8 characters or more, not one of the common ones, and neither your own name nor the nursery’s."
)


class SignInForm(auth_forms.AuthenticationForm):
    error_messages = {
        "invalid_login": _(
            "This name and password don't go together. Look out for capital letters, "
            "or ask a manager for a new password."
        ),
    }


class OwnPasswordForm(auth_forms.PasswordChangeForm):
    error_messages = {
        "password_incorrect": _("This isn't the password you sign in with now; type it again."),
        "password_mismatch": _("The two new passwords differ; type the same one twice."),
    }

    def __init__(self, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["old_password"].label = _("Password until now")
        self.fields["new_password1"].label = _("New password")
        self.fields["new_password1"].help_text = PASSWORD_HELP
        self.fields["new_password2"].label = _("New password again")
        self.fields["new_password2"].help_text = ""


class PersonForm(forms.ModelForm):
    class Meta:
        model = Person
        fields = ["name", "initials", "role", "is_active"]

    def clean(self) -> None:
        """Somebody has to be left who can manage. Locks the managers' rows until the caller's
        transaction ends, so that no two can step down at once."""
        super().clean()
        stays = self.cleaned_data.get("role") == Role.MANAGER and self.cleaned_data.get("is_active")
        managers = Person.objects.select_for_update().filter(role=Role.MANAGER, is_active=True)
        if not stays and set(managers) == {self.instance}:
            self.add_error(
                "role" if self.cleaned_data.get("is_active") else "is_active",
                _("%(name)s is the last manager; make somebody else a manager first.")
                % {"name": self.instance.name},
            )


class NewPersonForm(forms.ModelForm):
    class Meta:
        model = Person
        fields = ["name", "initials", "username", "role"]
        field_classes = {"username": auth_forms.UsernameField}


# A phone's keypad of digits; no browser is to keep or propose it.
KEYPAD = {"inputmode": "numeric", "autocomplete": "off", "pattern": "[0-9]*"}


class PinField(forms.CharField):
    widget = forms.PasswordInput(KEYPAD)


class OwnPinForm(forms.Form):
    """One's own PIN, new or none, for who knows the password."""

    password = forms.CharField(
        label=_("Your password"),
        strip=False,
        widget=forms.PasswordInput({"autocomplete": "current-password"}),
    )
    pin = PinField(
        label=_("New PIN"), required=False, help_text=_("4 to 8 digits. Left empty, you have none.")
    )

    def __init__(self, person: Person, *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.person = person

    @sensitive_variables("password")
    def clean_password(self) -> str:
        password = self.cleaned_data["password"]
        if not self.person.check_password(password):
            raise forms.ValidationError(OwnPasswordForm.error_messages["password_incorrect"])
        return password

    @sensitive_variables("pin")
    def clean_pin(self) -> str:
        pin = self.cleaned_data["pin"]
        if pin:
            passwords.check_pin(pin)
        return pin


class ByPinForm(forms.Form):
    """Who of those that a device knows is at it now."""

    who = forms.ModelChoiceField(
        KnownDevice.objects.none(),
        label=_("Who is here?"),
        empty_label=None,
        widget=forms.RadioSelect,
        error_messages={"required": _("Tap your initials.")},
    )
    pin = PinField(label=_("PIN"))

    def __init__(self, known: QuerySet[KnownDevice], *args, **kwargs) -> None:
        super().__init__(*args, **kwargs)
        self.fields["who"].queryset = known
        self.fields["who"].label_from_instance = lambda one: (
            f"{one.person.initials} · {one.person.name}"
        )
