from django.apps import AppConfig
from django.db.models.signals import post_migrate
from django.utils.translation import gettext_lazy as _


class LotsConfig(AppConfig):
    name = "lots"
    verbose_name = _("The lot book")

    def ready(self) -> None:
        from lots.models.triggers import keep_records

        post_migrate.connect(keep_records, sender=self)
