"""The forms of signing in and of people."""

from django import forms
from django.contrib.auth import forms as auth_forms
from django.contrib.auth import password_validation
from django.utils.translation import gettext_lazy as _
from django.views.decorators.debug import sensitive_variables

from nursery.models import Person, Role

PASSWORD_HELP = _("8 characters or more, and not one of the common ones.")


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


class FirstPasswordForm(forms.Form):
    """A password that a manager makes up and tells: shown as it is typed."""

    password = forms.CharField(
        label=_("Password"),
        strip=False,
        max_length=128,
        help_text=PASSWORD_HELP,
        widget=forms.TextInput(
            attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}
        ),
    )

    @sensitive_variables("password")
    def clean_password(self) -> str:
        password = self.cleaned_data["password"]
        password_validation.validate_password(password)
        return password


class NewPersonForm(FirstPasswordForm, forms.ModelForm):
    class Meta:
        model = Person
        fields = ["name", "initials", "username", "role"]
        field_classes = {"username": auth_forms.UsernameField}

    def save(self, commit: bool = True) -> Person:
        self.instance.set_password(self.cleaned_data["password"])
        return super().save(commit)
