"""Kept fits don't say how pots scatter: they are made anew from the book within a minute."""

from django.db import migrations


def forget_the_fit(apps, schema_editor):
    apps.get_model("lots", "Fit").objects.using(schema_editor.connection.alias).delete()


class Migration(migrations.Migration):
    dependencies = [("lots", "0003_trial")]

    operations = [migrations.RunPython(forget_the_fit, migrations.RunPython.noop)]
