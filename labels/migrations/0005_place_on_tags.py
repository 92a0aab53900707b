from django.db import migrations, models


def place() -> models.BooleanField:
    return models.BooleanField(
        default=False,
        help_text="A lot that is moved shows its old place until its tag is printed again.",
        verbose_name="say on the tags of lots and stock plants at which place they stand",
    )


class Migration(migrations.Migration):
    dependencies = [("labels", "0004_names_in_any_capitals")]
    operations = [
        migrations.AddField("historicaltagsettings", "place", place()),
        migrations.AddField("tagsettings", "place", place()),
    ]
