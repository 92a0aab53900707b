from django.db import migrations

from lots.migrations._telling_apart import tell_apart


def rename(apps, schema_editor) -> None:
    tell_apart(apps, schema_editor.connection.alias, "nursery", "Person", "username")


class Migration(migrations.Migration):
    dependencies = [("nursery", "0001_initial")]
    operations = [migrations.RunPython(rename, migrations.RunPython.noop)]
