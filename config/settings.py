"""Every setting of the service; each switch is an environment variable listed in docs/running/settings.md."""

import tomllib
from pathlib import Path
from typing import Any

from corsheaders.defaults import default_headers

from config.database import database_settings
from config.home import private_secret
from config.logs import LEVELS, logging_settings
from config.switches import SwitchRefused, cores, is_on, one_of, secret, whole_number, words
from crews.accounts.addresses import proxies_from
from crews.api.schema import SCHEMA_SETTINGS

BASE_DIR = Path(__file__).resolve().parent.parent
VERSION = tomllib.loads((BASE_DIR / "pyproject.toml").read_text())["project"]["version"]

_A_TERABYTE_MB = 1024 * 1024
DEBUG = is_on("ROUNDLAY_DEBUG")
SECRET_KEY = secret("ROUNDLAY_SECRET_KEY") or private_secret()
ALLOWED_HOSTS = words("ROUNDLAY_ALLOWED_HOSTS", "localhost,127.0.0.1,[::1]")

INSTALLED_APPS = [
    "django.contrib.contenttypes",
    "django.contrib.auth",
    "django.contrib.staticfiles",
    "procrastinate.contrib.django",
    "corsheaders",
    "rest_framework",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "crews",
    "inventory",
    "cabins",
    "planning",
]
if (BASE_DIR / "tests" / "tools").is_dir():  # a developer's checkout: manage.py bench_planner, openings_table
    INSTALLED_APPS.append("tests.tools.planner")
AUTH_USER_MODEL = "crews.Person"
MIDDLEWARE = [
    "config.middleware.HeadWithoutBody",
    "config.middleware.RequestNoted",
    "config.middleware.WatchedByAnyName",
    "django.middleware.security.SecurityMiddleware",
    "crews.api.conditional.Compressed",
    "config.middleware.SafeHeaders",
    "crews.api.conditional.ConditionalReads",
    "corsheaders.middleware.CorsMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "config.middleware.BodyLimited",
    "crews.accounts.cookies.KeyFromCookie",
    "crews.accounts.limits.RateLimited",
    "crews.history.authors.AuthorsForgotten",
    "crews.accounts.idempotency.IdempotencyMiddleware",
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
WHITENOISE_MIMETYPES = {".webmanifest": "application/manifest+json"}

# A chart of many thousand logs is one body.
DATA_UPLOAD_MAX_MEMORY_SIZE = whole_number("ROUNDLAY_BODY_LIMIT_MB", 20, least=1, most=2047) * 1024 * 1024

# The most that an archive of a crew may have, packed or unpacked, to be read in.
ARCHIVE_LIMIT_BYTES = (
    whole_number("ROUNDLAY_ARCHIVE_LIMIT_MB", 4096, least=1, most=_A_TERABYTE_MB) * 1024 * 1024
)

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": ["crews.accounts.access.KeyAuthentication"],
    "DEFAULT_PERMISSION_CLASSES": ["crews.accounts.access.RoleAllows"],
    "DEFAULT_RENDERER_CLASSES": ["crews.api.render.JsonRenderer"],
    "DEFAULT_PARSER_CLASSES": ["crews.api.render.StrictJsonParser"],
    "DEFAULT_SCHEMA_CLASS": "crews.api.describe.Schema",
    "EXCEPTION_HANDLER": "crews.api.problems.problem_answer",
    "UNAUTHENTICATED_USER": None,
    "URL_FORMAT_OVERRIDE": None,
    "COERCE_DECIMAL_TO_STRING": False,
    "TEST_REQUEST_DEFAULT_FORMAT": "json",
}
SPECTACULAR_SETTINGS = SCHEMA_SETTINGS | {"VERSION": VERSION}

# Threads of each web process.
WEB_THREADS = 8

PROCRASTINATE_IMPORT_PATHS = [
    "crews.webhooks.tasks",
    "planning.jobs.tasks",
    "config.crew_sizes",
    "config.retention",
]

# How long a planning job may run, and how often a worker looks for jobs whose worker died.
PLANNING_SECONDS_MOST = whole_number("ROUNDLAY_PLANNING_SECONDS_MOST", 600, least=1, most=86_400)
# Threads of one search. A worker plans two jobs at a time, so each gets half of the cores, but two at least.
PLANNING_THREADS = whole_number("ROUNDLAY_PLANNING_THREADS", max(2, cores() // 2), least=1, most=64)

# Planning jobs that a crew may have under way, and megabytes that it may store; 0: no limit.
PLANNING_JOBS_MOST = whole_number("ROUNDLAY_PLANNING_JOBS_MOST", 50, least=0, most=100_000)
CREW_MB = whole_number("ROUNDLAY_CREW_MB", 2000, least=0, most=_A_TERABYTE_MB)
# Days that things are kept which nothing else needs; 0: always.
EVENTS_DAYS = whole_number("ROUNDLAY_EVENTS_DAYS", 365, least=0, most=36_500)
DELIVERIES_DAYS = whole_number("ROUNDLAY_DELIVERIES_DAYS", 90, least=0, most=36_500)
PLANS_DAYS = whole_number("ROUNDLAY_PLANS_DAYS", 365, least=0, most=36_500)
HISTORY_DAYS = whole_number("ROUNDLAY_HISTORY_DAYS", 0, least=0, most=36_500)
# Requests per key and minute; 0: no limit.
REQUESTS_PER_MINUTE = whole_number("ROUNDLAY_REQUESTS_PER_MINUTE", 12_000, least=0, most=1_000_000_000)
# The same per address, for requests without a key that opens anything.
KEYLESS_REQUESTS_PER_MINUTE = whole_number(
    "ROUNDLAY_KEYLESS_REQUESTS_PER_MINUTE", 120, least=0, most=1_000_000_000
)
try:
    TRUSTED_PROXIES = proxies_from(words("ROUNDLAY_TRUSTED_PROXIES"))
except ValueError as fault:
    raise SwitchRefused(f"ROUNDLAY_TRUSTED_PROXIES takes addresses, networks or unix: {fault}.") from fault
# Whether a lead may found further crews, or the operator alone does (`manage.py found_crew`).
LEADS_FOUND_CREWS = is_on("ROUNDLAY_LEADS_FOUND_CREWS", default=True)
# Whether events may be sent to addresses inside the operator's own network, and without TLS.
WEBHOOKS_TO_PRIVATE = is_on("ROUNDLAY_WEBHOOKS_TO_PRIVATE")
METRICS_TOKEN = secret("ROUNDLAY_METRICS_TOKEN")

# Other origins whose pages may use the API from a browser.
CORS_ALLOWED_ORIGINS = words("ROUNDLAY_CORS_ORIGINS")
CORS_URLS_REGEX = r"^/api/"
CORS_ALLOW_HEADERS = [
    *default_headers, "idempotency-key", "if-match", "if-none-match", "prefer", "x-request-id",
]  # fmt: skip
CORS_EXPOSE_HEADERS = [
    "Content-Disposition", "ETag", "Idempotency-Replayed", "Location", "Preference-Applied",
    "RateLimit-Limit", "RateLimit-Remaining", "RateLimit-Reset", "Retry-After", "X-Request-Id",
]  # fmt: skip

# Behind HTTPS: nothing is answered without it, and browsers are told so for a year.
HTTPS = is_on("ROUNDLAY_HTTPS")
SECURE_SSL_REDIRECT = SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SECURE_REDIRECT_EXEMPT = [r"^health/", r"^metrics$"]
SECURE_HSTS_SECONDS = 365 * 24 * 3600 if HTTPS else 0
# For other names under the same domain only if asked: they may be another's, and without TLS.
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS and is_on("ROUNDLAY_HSTS_SUBDOMAINS")
SILENCED_SYSTEM_CHECKS = ["security.W005", "security.W021"]  # which would have it for all
if is_on("ROUNDLAY_BEHIND_PROXY"):
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

LOGGING = logging_settings(
    form=one_of("ROUNDLAY_LOG_FORMAT", "line", ("line", "json")),
    level=one_of("ROUNDLAY_LOG_LEVEL", "INFO", LEVELS),
)
