"""One settings file: safe defaults, everything else from the environment.

It needs nothing to be set, touches no network and writes no file, so that type
checkers and tests may import it.
"""

import os
import secrets
from datetime import timedelta
from pathlib import Path
from typing import Any

import dj_database_url
import django_stubs_ext
import tzlocal

from inventory.config import demo, engines, paths

# The forecast's products are small: threads would only wait for each other, and busily.
# To be said before numpy is loaded. Source: OpenBLAS's documentation, 'Runtime variables'.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# Lets forms and views name their types at run time, as type checkers see them.
django_stubs_ext.monkeypatch()

ROOT = Path(__file__).resolve().parent.parent.parent
DATA = paths.data_folder()

DEBUG = os.environ.get("GRIPCOUNT_DEBUG") == "1"
SECRET_KEY = paths.kept_secret(DATA) or secrets.token_urlsafe(50)
ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]"] + [
    host for host in os.environ.get("GRIPCOUNT_HOSTS", "").split(",") if host
]
HTTPS = os.environ.get("GRIPCOUNT_HTTPS") == "1"

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "rest_framework",
    "drf_spectacular",
    "inventory.apps.InventoryConfig",
    "api",
]
MIDDLEWARE = [
    "inventory.config.watching.Watched",
    "django.middleware.gzip.GZipMiddleware",
    "api.middleware.ProblemsOnly",
    "inventory.config.limits.Bounded",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "inventory.web.middleware.PageRules",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "inventory.web.middleware.RefusedPages",
    "inventory.config.again.Again",
]
ROOT_URLCONF = "inventory.config.urls"
WSGI_APPLICATION = "inventory.config.wsgi.application"
TEMPLATES: list[dict[str, Any]] = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [ROOT / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "inventory.web.context.shop",
            ],
            "builtins": [
                "inventory.web.templatetags.bench",
                "django.contrib.humanize.templatetags.humanize",
            ],
        },
    }
]

DATABASES = {
    "default": dj_database_url.parse(
        os.environ.get("GRIPCOUNT_DATABASE")
        or f"sqlite:///{DATA / 'gripcount.sqlite3'}",
        conn_max_age=None,
        conn_health_checks=True,
    )
}
if DATABASES["default"]["ENGINE"] == "django.db.backends.sqlite3":
    DATABASES["default"]["ENGINE"] = "inventory.config.sqlite"
    DATABASES["default"]["OPTIONS"] = engines.sqlite_options()
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
AUTH_USER_MODEL = "inventory.User"
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.MinimumLengthValidator",
        "OPTIONS": {"min_length": 15},
    },
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "home"
LOGOUT_REDIRECT_URL = "sign-in"

LANGUAGE_CODE = "en-us"
USE_TZ = True
TIME_ZONE = os.environ.get("GRIPCOUNT_TIME_ZONE") or tzlocal.get_localzone_name()

STATIC_URL = "static/"
STATICFILES_DIRS = [ROOT / "inventory" / "web" / "static"]
WHITENOISE_USE_FINDERS = True
WHITENOISE_AUTOREFRESH = DEBUG
DATA_UPLOAD_MAX_MEMORY_SIZE = 12 * 1024 * 1024
FILE_UPLOAD_MAX_MEMORY_SIZE = 12 * 1024 * 1024

SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
SESSION_COOKIE_AGE = 12 * 3600
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = HTTPS
SECURE_SSL_REDIRECT = HTTPS
SECURE_HSTS_SECONDS = 31_536_000 if HTTPS else 0
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = HTTPS
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"

# A message only wakes the worker: the truth is a row, so nothing here may be needed
# for an answer, and losing every message costs delay only.
BROKER_FOLDER = DATA / "broker"
CELERY_BROKER_URL = os.environ.get("GRIPCOUNT_BROKER") or engines.EMBEDDED_BROKER
CELERY_BROKER_TRANSPORT = engines.broker_transport(CELERY_BROKER_URL)
CELERY_BROKER_TRANSPORT_OPTIONS = engines.broker_options(
    CELERY_BROKER_URL, BROKER_FOLDER
)
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_TASK_TIME_LIMIT = 240
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_TASK_PUBLISH_RETRY = False
CELERY_TIMEZONE = TIME_ZONE
# A plan takes minutes: it may not stand before what is to be settled at once.
CELERY_TASK_ROUTES = {"inventory.buying.tasks.*": {"queue": "plans"}}
# While no worker runs, what the clock asks for does not pile up. Seconds.
LAPSES = {"options": {"expires": 30.0}}
CELERY_BEAT_SCHEDULE = {
    "settle what movements left": {
        "task": "inventory.alerts.tasks.settle",
        "schedule": 30.0,
        **LAPSES,
    },
    "show that the worker works": {
        "task": "inventory.alerts.tasks.heartbeat",
        "schedule": 60.0,
        **LAPSES,
    },
    "take up order plans left behind": {
        "task": "inventory.buying.tasks.sweep",
        "schedule": 30.0,
        **LAPSES,
    },
    "recompute what time alone changes": {
        "task": "inventory.alerts.tasks.recompute",
        "schedule": 3600.0,
    },
    "back the shop up once a day": {
        "task": "inventory.backups.tasks.keep_backups",
        "schedule": 300.0,
        **LAPSES,
    },
    "prove the record": {
        "task": "inventory.scanning.tasks.prove_record",
        "schedule": 24 * 3600.0,
    },
}

EMAIL_BACKEND = engines.mail_backend(os.environ.get("GRIPCOUNT_SMTP"))
EMAIL_FILE_PATH = DATA / "outbox"
globals().update(engines.mail_server(os.environ.get("GRIPCOUNT_SMTP")))
EMAIL_TIMEOUT = 20
# A slip is mended within minutes: no letter tells of a change before so long. The demo
# has nobody to mend it.
DEMO = os.environ.get("GRIPCOUNT_DEMO") == "1"
LETTER_WAIT = timedelta(
    minutes=float(os.environ.get("GRIPCOUNT_LETTER_MINUTES", "0" if DEMO else "10"))
)
DEFAULT_FROM_EMAIL = os.environ.get("GRIPCOUNT_MAIL_FROM", "gripcount@localhost")

# What is printed in a label's QR code and in the mail's links.
SHOP_URL = os.environ.get("GRIPCOUNT_URL", "http://localhost:8040")
DEMO_SIGN_IN = (demo.DEMO_NAME, demo.DEMO_PASSWORD) if DEMO else None

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "api.authentication.DeviceToken",
        "api.authentication.PageSession",
    ],
    "DEFAULT_PERMISSION_CLASSES": [
        "rest_framework.permissions.IsAuthenticated",
        "api.doors.MayAsk",
    ],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["api.parsers.PlainJSON"],
    "DEFAULT_SCHEMA_CLASS": "api.schema.ProblemSchema",
    "EXCEPTION_HANDLER": "api.problems.handle",
    "COERCE_DECIMAL_TO_STRING": False,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Gripcount",
    "DESCRIPTION": "Bench stock of an aircraft builder's workshop.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SERVE_PERMISSIONS": [
        "rest_framework.permissions.IsAuthenticated",
        "api.doors.MayAsk",
    ],
    "ENFORCE_NON_BLANK_FIELDS": True,
    "COMPONENT_SPLIT_REQUEST": True,
    "ENUM_NAME_OVERRIDES": {
        "AnyRole": ["reader", "helper", "builder", "owner"],
        "RoleToGive": ["reader", "helper", "builder"],
    },
}
# As lines for people, or as JSON for programs, which are told of each request too.
LOG_AS_JSON = os.environ.get("GRIPCOUNT_LOG", "") == "json"
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {
        "line": {
            "()": "pythonjsonlogger.json.JsonFormatter",
            "fmt": "%(asctime)s %(levelname)s %(name)s %(message)s %(request)s",
            "rename_fields": {"asctime": "at", "levelname": "level", "name": "from"},
        }
        if LOG_AS_JSON
        else {"format": "%(asctime)s %(levelname)s %(message)s"}
    },
    "filters": {"of_request": {"()": "inventory.config.numbered.OfRequest"}},
    "handlers": {
        "console": {
            "class": "logging.StreamHandler",
            "formatter": "line",
            "filters": ["of_request"],
        }
    },
    "loggers": {
        "inventory": {"handlers": ["console"], "level": "INFO"},
        "inventory.asked": {"level": "INFO" if LOG_AS_JSON else "WARNING"},
    },
}
