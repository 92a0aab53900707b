from django.apps import AppConfig
from django.contrib.auth.signals import user_logged_in, user_login_failed
from django.db.backends.signals import connection_created
from django.db.models.signals import post_migrate
from django.utils.translation import gettext_lazy as _


class NurseryConfig(AppConfig):
    name = "nursery"
    verbose_name = _("The nursery")

    def ready(self) -> None:
        from nursery import clock, throttle
        from nursery.notsaved import use_once_if_read_only

        user_login_failed.connect(throttle.note)
        user_logged_in.connect(throttle.signed_in)
        connection_created.connect(use_once_if_read_only)
        connection_created.connect(clock.follow_when_opened)
        post_migrate.connect(clock.keep, sender=self)
