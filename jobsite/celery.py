"""The worker and the clockwork. Losing any message of the broker is normal: only rows count."""

import os

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "jobsite.settings")

from celery import Celery
from django.conf import settings

app = Celery("jobsite", task_cls="jobsite.running.watching:WatchedTask")
app.conf.update(
    task_serializer="json",
    accept_content=["json"],
    task_ignore_result=True,
    result_expires=None,  # nothing is kept, so nothing is cleared away either
    task_acks_late=True,
    task_reject_on_worker_lost=True,
    worker_prefetch_multiplier=1,
    task_soft_time_limit=50,
    task_time_limit=60,
    worker_soft_shutdown_timeout=1,
    broker_connection_retry_on_startup=True,
    broker_connection_max_retries=None,  # for ever: after a hundred, which is less than an hour, the worker would end
    worker_hijack_root_logger=False,
    worker_enable_remote_control=False,
    timezone="Europe/London",
    beat_scheduler="jobsite.beat:Scheduler",
    beat_schedule_filename=str(settings.VAR / "beat"),
    beat_schedule={
        "sweep": {"task": "remedials.due.tasks.sweep", "schedule": 300.0, "options": {"expires": 240}},
        "read": {"task": "inspections.intake.tasks.read_waiting", "schedule": 300.0, "options": {"expires": 240}},
        "plan": {"task": "remedials.visits.tasks.work_out_waiting", "schedule": 300.0, "options": {"expires": 240}},
        "draw": {"task": "remedials.status.tasks.draw_waiting", "schedule": 300.0, "options": {"expires": 240}},
        "take-out": {
            "task": "remedials.desk.bulk.tasks.make_waiting",
            "schedule": 300.0,
            "options": {"expires": 240},
        },
        "shed": {
            "task": "remedials.status.privacy.tasks.shed_past",
            "schedule": 21_600.0,
            "options": {"expires": 3600},
        },
        "send": {"task": "remedials.due.tasks.send", "schedule": 60.0, "options": {"expires": 50}},
    },
)
if settings.REDIS_URL:
    app.conf.update(
        broker_url=settings.REDIS_URL,
        # Nobody controls it so, but this way it always listens: a worker whose task ended while Redis was away would never
        # notice that it is back, and wait for ever.
        worker_enable_remote_control=True,
        broker_transport_options={
            "visibility_timeout": 900,
            "unacked_restore_interval": 10,
            "unacked_restore_throttle": 1,
        },
    )
else:
    folders = {name: settings.VAR / "broker" / name for name in ("messages", "control")}
    for folder in folders.values():
        folder.mkdir(parents=True, exist_ok=True)
    app.conf.update(
        broker_url="filesystem://localhost//",
        broker_transport_options={
            "data_folder_in": str(folders["messages"]),
            "data_folder_out": str(folders["messages"]),
            "control_folder": str(folders["control"]),
            "store_processed": False,
            "polling_interval": 0.2,
        },
    )
app.autodiscover_tasks(
    [*settings.INSTALLED_APPS, "inspections.intake", "remedials.status.privacy", "remedials.desk.bulk"]
)
