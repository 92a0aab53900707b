from django.db import migrations, models

import lots.models.catalogue
from lots.forecast import handbook


def propose(apps, schema_editor):
    """Groups and methods lean on the rows that they were matched with by name until now; so does
    their history, or the next change would seem to have chosen them."""
    for models_, field, by_name in (
        (("CropGroup", "HistoricalCropGroup"), "roots_like", handbook.propose_kind),
        (("Method", "HistoricalMethod"), "cut_like", handbook.propose_method),
    ):
        for model in (apps.get_model("lots", name) for name in models_):
            rows = model.objects.using(schema_editor.connection.alias)
            for name in set(rows.order_by().values_list("name", flat=True)):
                if like := by_name(name):
                    rows.filter(name=name).update(**{field: like})


class Migration(migrations.Migration):
    dependencies = [
        ("lots", "0008_to_come"),
    ]

    operations = [
        *(
            migrations.AddField(
                model_name=model,
                name="roots_like",
                field=models.CharField(
                    blank=True,
                    choices=lots.models.catalogue.kinds,
                    max_length=60,
                    verbose_name="roots like",
                ),
            )
            for model in ("cropgroup", "historicalcropgroup")
        ),
        *(
            migrations.AddField(
                model_name=model,
                name="cut_like",
                field=models.CharField(
                    blank=True,
                    choices=lots.models.catalogue.cuts,
                    max_length=60,
                    verbose_name="cut like",
                ),
            )
            for model in ("historicalmethod", "method")
        ),
        migrations.RunPython(propose, migrations.RunPython.noop),
    ]
