from django.apps import AppConfig
from django.utils.translation import gettext_lazy as _


class NurseryConfig(AppConfig):
    name = "nursery"
    verbose_name = _("The nursery")
