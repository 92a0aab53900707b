from django.db import migrations

from lots.migrations._telling_apart import tell_apart


def rename(apps, _schema_editor) -> None:
    tell_apart(apps, "nursery", "Person", "username")


class Migration(migrations.Migration):
    dependencies = [("nursery", "0001_initial")]
    operations = [migrations.RunPython(rename, migrations.RunPython.noop)]
