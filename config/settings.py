"""Every setting of the service; each switch is an environment variable listed in docs/running/settings.md."""

import os
from pathlib import Path
from typing import Any

from config.api.schema import SCHEMA_SETTINGS
from config.database import database_settings, private_secret

BASE_DIR = Path(__file__).resolve().parent.parent


def switch(name: str, default: str) -> str:
    """One switch from the environment; empty counts as not given."""
    return os.environ.get(name) or default


DEBUG = switch("ROUNDLAY_DEBUG", "0") == "1"
SECRET_KEY = os.environ.get("ROUNDLAY_SECRET_KEY") or private_secret()
ALLOWED_HOSTS = switch("ROUNDLAY_ALLOWED_HOSTS", "localhost,127.0.0.1,[::1]").split(",")

INSTALLED_APPS = [
    "django.contrib.contenttypes",
    "django.contrib.auth",
    "django.contrib.staticfiles",
    "procrastinate.contrib.django",
    "rest_framework",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "crews",
    "inventory",
    "cabins",
    "planning",
]
AUTH_USER_MODEL = "crews.Person"
MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "crews.repeats.RepeatsAnswered",
]
ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
APPEND_SLASH = False
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {"context_processors": ["django.template.context_processors.request"]},
    }
]

DATABASES: dict[str, Any] = {"default": database_settings()}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

TIME_ZONE = "UTC"
USE_TZ = True
LANGUAGE_CODE = "en"
USE_I18N = False

STATIC_URL = "/static/"
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = DEBUG

# A chart of many thousand logs is one body.
DATA_UPLOAD_MAX_MEMORY_SIZE = int(switch("ROUNDLAY_BODY_LIMIT_MB", "20")) * 1024 * 1024

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["crews.access.KeyAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["crews.access.RoleAllows"],
    "DEFAULT_RENDERER_CLASSES": ["config.api.render.JsonRenderer"],
    "DEFAULT_PARSER_CLASSES": ["config.api.render.StrictJsonParser"],
    "DEFAULT_SCHEMA_CLASS": "config.api.describe.Schema",
    "EXCEPTION_HANDLER": "config.api.problems.problem_answer",
    "UNAUTHENTICATED_USER": None,
    "URL_FORMAT_OVERRIDE": None,
    "COERCE_DECIMAL_TO_STRING": False,
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
SPECTACULAR_SETTINGS = SCHEMA_SETTINGS

PROCRASTINATE_AUTODISCOVER_MODULE_NAME = "worker"

# How long a planning job may run, and how often a worker looks for jobs whose worker died.
PLANNING_SECONDS_MOST = int(switch("ROUNDLAY_PLANNING_SECONDS_MOST", "600"))

SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s %(message)s"}},
    "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "line"}},
    # These two tell at every start which tasks there are.
    "loggers": {f"procrastinate.{name}": {"level": "WARNING"} for name in ("blueprints", "periodic")},
    "root": {"handlers": ["stderr"], "level": switch("ROUNDLAY_LOG_LEVEL", "INFO")},
}
