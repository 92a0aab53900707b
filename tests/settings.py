"""The site's settings for tests: a data folder of their own, cheap passwords, plain statics."""

import os
import tempfile

os.environ["NURSERY_DATA_DIR"] = tempfile.mkdtemp(prefix="strikebook-tests-")

from nursery.settings import *  # noqa: F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
STATIC_ROOT.mkdir()  # noqa: F405 - whitenoise warns of a folder that isn't there
