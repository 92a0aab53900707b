from django.db import migrations
from django.utils import timezone

from lots.migrations._telling_apart import tell_apart

KNOWN_BY = {
    "CropGroup": "name",
    "Method": "name",
    "PotSize": "name",
    "Place": "name",
    "Flat": "code",
    "Variety": "code",
    "StockPlant": "code",
    "StickingSession": "code",
}


def rename(apps, schema_editor) -> None:
    alias = schema_editor.connection.alias
    renamed = [tell_apart(apps, alias, "lots", table, field) for table, field in KNOWN_BY.items()]
    if any(renamed):  # a fit knows groups and methods by their names
        apps.get_model("lots", "Fit").objects.using(alias).update(changed_at=timezone.now())


class Migration(migrations.Migration):
    dependencies = [("lots", "0009_handbook")]
    operations = [migrations.RunPython(rename, migrations.RunPython.noop)]
