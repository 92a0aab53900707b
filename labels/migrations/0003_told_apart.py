from django.db import migrations

from lots.migrations._telling_apart import tell_apart


def rename(apps, _schema_editor) -> None:
    for table in ("LabelStock", "Printer"):
        tell_apart(apps, "labels", table, "name")


class Migration(migrations.Migration):
    dependencies = [("labels", "0002_printer_removed")]
    operations = [migrations.RunPython(rename, migrations.RunPython.noop)]
