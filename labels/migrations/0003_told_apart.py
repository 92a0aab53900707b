from django.db import migrations

from lots.migrations._telling_apart import tell_apart


def rename(apps, schema_editor) -> None:
    for table in ("LabelStock", "Printer"):
        tell_apart(apps, schema_editor.connection.alias, "labels", table, "name")


class Migration(migrations.Migration):
    dependencies = [("labels", "0002_printer_removed")]
    operations = [migrations.RunPython(rename, migrations.RunPython.noop)]
