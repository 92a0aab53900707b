"""Forecasts say the pots still to come, without those that are finished, and on which days. The
days are worked out with the next fit, which is made within a minute. A lot knows when half of its
pots were made from cells."""

from itertools import groupby

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import F, OuterRef, Q, Subquery
from django.db.models.functions import Greatest
from django.utils import timezone


def leave_out_what_is_finished(apps, schema_editor):
    Forecast, Lot = apps.get_model("lots", "Forecast"), apps.get_model("lots", "Lot")
    forecasts = Forecast.objects.using(schema_editor.connection.alias)
    finished = Subquery(Lot.objects.filter(pk=OuterRef("lot")).values("pots_finished")[:1])
    forecasts.filter(moment="newest").update(
        **{
            name: Greatest(F(name) - finished, 0)
            for name in ("to_come_p10", "to_come", "to_come_p90")
        }
    )


def say_when_half_was_potted(apps, schema_editor):
    Lot, PotUp = apps.get_model("lots", "Lot"), apps.get_model("lots", "PotUp")
    alias = schema_editor.connection.alias
    rows = PotUp.objects.using(alias).filter(voided_at=None).order_by("lot", "observed_at", "pk")
    found = []
    for lot, records in groupby(
        rows.values_list("lot", "observed_at", "pots").iterator(2000), key=lambda row: row[0]
    ):
        potted = list(records)
        left = sum(pots for _lot, _at, pots in potted) / 2
        for _lot, at, pots in potted:
            left -= pots
            if left <= 0:
                found.append(Lot(pk=lot, potted_on=timezone.localtime(at).date()))
                break
    Lot.objects.using(alias).bulk_update(found, ["potted_on"], batch_size=500)


def ask_for_a_fit(apps, schema_editor):
    fits = apps.get_model("lots", "Fit").objects.using(schema_editor.connection.alias)
    fits.update(changed_at=timezone.now())


class Migration(migrations.Migration):
    dependencies = [("lots", "0007_take_edges")]

    operations = [
        migrations.AddField(
            "lot",
            "potted_on",
            models.DateField(editable=False, null=True, verbose_name="half potted up on"),
        ),
        migrations.RemoveIndex("forecast", "forecast_due"),
        migrations.RemoveIndex("lot", "lot_waited_for"),
        migrations.RemoveField("forecast", "due"),
        migrations.RenameField("forecast", "pots_p10", "to_come_p10"),
        migrations.RenameField("forecast", "pots_p50", "to_come"),
        migrations.RenameField("forecast", "pots_p90", "to_come_p90"),
        migrations.AddIndex(
            "lot",
            models.Index(
                fields=["variety", "direct_pot_size", "pot_size", "pots_finished"],
                condition=Q(pots_finished__gt=0),
                name="lot_with_finished",
            ),
        ),
        migrations.CreateModel(
            name="ToCome",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("day", models.DateField()),
                ("growing", models.PositiveIntegerField(default=0)),
                ("cells", models.PositiveIntegerField(default=0)),
                (
                    "lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="to_come",
                        to="lots.lot",
                    ),
                ),
                (
                    "pot_size",
                    models.ForeignKey(
                        db_index=False,
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="lots.potsize",
                    ),
                ),
                (
                    "variety",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to="lots.variety",
                    ),
                ),
            ],
            options={
                "indexes": [
                    models.Index(
                        fields=["day", "variety", "pot_size", "growing", "cells"],
                        name="to_come_day",
                    )
                ],
                "constraints": [
                    models.UniqueConstraint(fields=("lot", "day"), name="to_come_once_a_day")
                ],
            },
        ),
        migrations.RunPython(say_when_half_was_potted, migrations.RunPython.noop),
        migrations.RunPython(leave_out_what_is_finished, migrations.RunPython.noop),
        migrations.RunPython(ask_for_a_fit, migrations.RunPython.noop),
    ]
