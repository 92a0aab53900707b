from django.db import migrations, models
from django.db.models import F, Value
from django.db.models.functions import Cast, Concat


def name_by_number(apps, schema_editor):
    """As their flats were named so far."""
    trials = apps.get_model("lots", "Trial").objects.using(schema_editor.connection.alias)
    trials.update(code=Concat(Value("T"), Cast(F("pk"), models.CharField())))


class Migration(migrations.Migration):
    dependencies = [("lots", "0013_correction")]

    operations = [
        migrations.AddField("trial", "code", models.CharField("code", max_length=12, null=True)),
        migrations.RunPython(name_by_number, migrations.RunPython.noop),
        migrations.AlterField(
            "trial", "code", models.CharField("code", max_length=12, unique=True)
        ),
    ]
