"""How the shop runs."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import asdict

from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from prometheus_client import CollectorRegistry
from prometheus_client.metrics_core import GaugeMetricFamily, Metric
from prometheus_client.openmetrics.exposition import (
    CONTENT_TYPE_LATEST,
    generate_latest,
)
from prometheus_client.registry import Collector
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api import shapes
from inventory.alerts.queries import open_alerts
from inventory.alerts.queries.running import RunningState, running_parts
from inventory.alerts.tasks import why_no_broker
from inventory.config.watching import PROCESS
from inventory.ledger.queries import newest_act, rechecks


class RunningView(APIView):
    """What the shop runs on."""

    @extend_schema(responses=shapes.RunningOut(many=True), operation_id="running")
    def get(self, request: Request) -> Response:
        """Each part, how it stands, and what to do; the owner's."""
        parts = running_parts(timezone.now(), why_no_broker())
        return Response([asdict(part) for part in parts])


class MetricsView(APIView):
    """How the shop runs, for a program that collects it."""

    @extend_schema(
        responses={(200, "application/openmetrics-text"): OpenApiTypes.STR},
        operation_id="metrics",
    )
    def get(self, request: Request) -> HttpResponse:
        """The parts, the open alerts, and what this process answered: OpenMetrics 1.0.0."""
        registry = CollectorRegistry()
        registry.register(_Shop())
        shop = generate_latest(registry).removesuffix(b"# EOF\n")
        return HttpResponse(
            shop + generate_latest(PROCESS), content_type=CONTENT_TYPE_LATEST
        )


class _Shop(Collector):
    """Read when it is asked for, so that it is never of another moment."""

    def collect(self) -> Iterator[Metric]:
        parts = GaugeMetricFamily(
            "gripcount_part",
            "1 in the state in which a part of the shop is.",
            labels=["part", "state"],
        )
        for part in running_parts(timezone.now(), why_no_broker()):
            for state in RunningState:
                parts.add_metric([part.name, state.value], part.state == state)
        yield parts
        alerts = GaugeMetricFamily(
            "gripcount_open_alerts", "Alerts that are open.", labels=["cause"]
        )
        for cause, count in Counter(each.cause for each in open_alerts()).items():
            alerts.add_metric([cause], count)
        yield alerts
        yield GaugeMetricFamily(
            "gripcount_unsettled", "Items to be reckoned again.", len(rechecks())
        )
        yield GaugeMetricFamily(
            "gripcount_newest_act", "The number of the newest act.", newest_act()
        )
