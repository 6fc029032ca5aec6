"""Numbers for Prometheus: what each process counts by itself, and what stands in the database when somebody asks."""

from collections.abc import Iterable, Iterator
from datetime import datetime

from django.conf import settings
from django.db.models import Count, Min
from prometheus_client import CollectorRegistry, Counter, Histogram, generate_latest
from prometheus_client.core import GaugeMetricFamily, Metric
from prometheus_client.multiprocess import MultiProcessCollector
from prometheus_client.registry import Collector
from redis import Redis
from redis.exceptions import RedisError

from jobsite.firm.models import Heartbeat, Progress
from jobsite.messages.models import Message

SECONDS = (0.025, 0.05, 0.1, 0.15, 0.3, 0.6, 1.0, 3.0, 10.0)
METHODS = {"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"}

requests = Counter(
    "jobsite_requests", "Requests answered, by the pattern of their address.", ["route", "method", "status"]
)
request_seconds = Histogram("jobsite_request_seconds", "Time to the answer.", ["route", "method"], buckets=SECONDS)
tasks = Counter("jobsite_tasks", "Tasks of the worker, by how they ended.", ["task", "outcome"])
task_seconds = Histogram("jobsite_task_seconds", "Time a task took.", ["task"], buckets=(*SECONDS, 30.0, 60.0, 180.0))
slow_statements = Counter("jobsite_slow_statements", "SQL statements above SLOW_STATEMENT_MS, by where.", ["place"])


def count_request(*, route: str, method: str, status: int, seconds: float) -> None:
    """Count one answer. What no pattern or method names counts together: nobody makes the list long by asking."""
    method = method if method in METHODS else "other"
    requests.labels(route, method, str(status)).inc()
    request_seconds.labels(route, method).observe(seconds)


def count_task(*, task: str, outcome: str, seconds: float) -> None:
    """Count one task that ended."""
    tasks.labels(task, outcome).inc()
    task_seconds.labels(task).observe(seconds)


def exposition(now: datetime) -> bytes:
    """All numbers in the text format (version 0.0.4), those of every process added up."""
    registry = CollectorRegistry()
    registry.register(_Counted())
    registry.register(_Standing(now))  # type: ignore[arg-type]
    return generate_latest(registry)


class _Counted(Collector):
    """What every process counted, whichever part of the folder it has for itself."""

    def collect(self) -> Iterable[Metric]:
        """Each measure with the values of all processes added up."""
        files = [str(path) for path in settings.METRICS_FOLDER.rglob("*.db")]
        merged: Iterable[Metric] = MultiProcessCollector.merge(files)  # type: ignore[no-untyped-call]
        return merged


class _Standing:
    """What stands in the database and the broker at `now`; four statements."""

    def __init__(self, now: datetime) -> None:
        self.now = now

    def collect(self) -> Iterator[GaugeMetricFamily]:
        """Each gauge with its values."""
        ages = GaugeMetricFamily("jobsite_heartbeat_age_seconds", "Since a part last ran to its end.", labels=["part"])
        for name, at in Heartbeat.objects.order_by("name").values_list("name", "at"):
            ages.add_metric([name], self._age(at))
        yield ages
        counts = GaugeMetricFamily("jobsite_messages", "Messages by state.", labels=["state"])
        found = dict(Message.objects.order_by().values_list("state").annotate(Count("pk")))
        for state in Message.State.values:
            counts.add_metric([state], found.get(state, 0))
        yield counts
        late = Message.objects.filter(state=Message.State.WAITING, next_try_at__lte=self.now)
        yield self._oldest(
            "jobsite_oldest_message_seconds", "Since the oldest message was due that waits.", late, "next_try_at"
        )
        unfinished = Progress.objects.filter(state__in=[Progress.State.WAITING, Progress.State.RUNNING])
        yield self._oldest(
            "jobsite_oldest_work_seconds", "Since long work last moved that waits or runs.", unfinished, "changed_at"
        )
        if (waiting := _broker_waiting()) is not None:
            yield GaugeMetricFamily("jobsite_broker_waiting", "Tasks that no worker has taken yet.", value=waiting)

    def _oldest(self, name, said, rows, field) -> GaugeMetricFamily:  # type: ignore[no-untyped-def]
        oldest = rows.aggregate(oldest=Min(field))["oldest"]
        return GaugeMetricFamily(name, said, value=self._age(oldest) if oldest else 0)

    def _age(self, at: datetime) -> float:
        return (self.now - at).total_seconds()


def _broker_waiting() -> int | None:
    """How many tasks wait in the broker; None where it does not answer."""
    if not settings.REDIS_URL:
        folder = settings.VAR / "broker" / "messages"
        return sum(1 for _ in folder.iterdir()) if folder.exists() else 0
    try:
        with Redis.from_url(settings.REDIS_URL, socket_timeout=1, socket_connect_timeout=1) as redis:
            return int(redis.llen("celery"))  # type: ignore[arg-type]
    except (RedisError, OSError):
        return None
