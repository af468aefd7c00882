"""The bench: a raw code in, what the bench says out; photos of labels; labels."""

import hashlib
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.conf import settings
from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api import shapes
from api.parts import body, person
from inventory.alerts.tasks import wake
from inventory.errors import Refused
from inventory.forecasting.queries.tools import bit_numbered
from inventory.labels.actions import label_pdf
from inventory.ledger.queries import bin_numbered
from inventory.people.models import Device
from inventory.photos.opening import decode_photo
from inventory.scanning.actions import Sent, bench_called, scan
from inventory.scanning.models import Bench
from inventory.scanning.queries import bench_view, whole_shop


def bench_of(request: Request) -> Bench:
    """The bench that asks: a registered device's, a browser's own, or a session's.

    A browser keeps its bench when its session ends: scans that wait on it go on there.
    """
    sent = request.data if isinstance(request.data, dict) else {}
    named = request.query_params.get("device", "") or sent.get("device", "")
    if isinstance(request.auth, Device):
        key = f"device {request.auth.pk}"
    elif named:
        key = f"browser {person(request).pk} {str(named)[:36]}"
    else:
        session = request.session.session_key or ""
        key = f"page {hashlib.sha256(session.encode()).hexdigest()[:16]}"
    return bench_called(key=key, person=person(request), now=timezone.now())


class OneBenchView(APIView):
    """Where the bench stands."""

    @extend_schema(responses=OpenApiTypes.OBJECT, operation_id="bench")
    def get(self, request: Request) -> Response:
        """Its assembly and what that still asks, the open bin, the last ten acts."""
        return Response(bench_view(bench_of(request), timezone.now()))


class WholeShopView(APIView):
    """What a bench needs while it has no connection."""

    @extend_schema(responses=OpenApiTypes.OBJECT, operation_id="bench_shop")
    def get(self, request: Request) -> Response:
        """Bins, items with their look-alikes, what assemblies ask, bits, people."""
        return Response(whole_shop())


class ScansView(APIView):
    """Raw codes."""

    @extend_schema(request=shapes.ScanIn, responses=shapes.ScanOut, operation_id="scan")
    def post(self, request: Request) -> Response:
        """Take a code; the same id again moves nothing and answers the same."""
        answer = _taken(body(shapes.ScanIn, request), bench_of(request), request)
        if answer["act"]:
            wake()
        return Response(answer)


class ManyScansView(APIView):
    """Raw codes that waited: what a device scanned while it had no connection."""

    @extend_schema(
        request=shapes.ManyScansIn,
        responses=shapes.ManyScansOut,
        operation_id="scan_many",
    )
    def post(self, request: Request) -> Response:
        """Take codes in their order, each as if it came alone.

        At the first that cannot be taken it stops: those before it are booked, those
        after it are not looked at. To send all of them again moves nothing twice.
        """
        waiting = body(shapes.ManyScansIn, request)["scans"]
        bench, answers, stopped = bench_of(request), [], None
        for data in waiting:
            try:
                answers.append(_taken(data, bench, request))
            except Refused as refusal:
                stopped = {"code": refusal.code, "detail": refusal.sentence}
                break
        if any(answer["act"] for answer in answers):
            wake()
        return Response({"answers": answers, "stopped": stopped})


def _taken(data: Mapping[str, Any], bench: Bench, request: Request) -> dict[str, Any]:
    """One code, booked."""
    sent = Sent(
        scan_id=UUID(data["id"]),
        raw=data["code"],
        ms=data.get("ms"),
        sent_ms=data.get("sent_ms"),
        device=data.get("device", ""),
        seq=data.get("seq"),
        shown=data.get("shown"),
    )
    return scan(bench=bench, sent=sent, by=person(request), now=timezone.now())


class PhotosView(APIView):
    """Photos of labels."""

    parser_classes = [MultiPartParser]

    @extend_schema(
        request={"multipart/form-data": shapes.PhotoIn},
        responses=shapes.PhotoOut,
        operation_id="photo",
    )
    def post(self, request: Request) -> Response:
        """Read the codes in a photo; nothing moves until one is sent as a scan."""
        data = body(shapes.PhotoIn, request)
        found = decode_photo(data["photo"].read())
        codes = [
            {"text": text, "kind": kind}
            for text, kind in dict.fromkeys(
                (row.code or row.text, "own" if row.code else row.kind) for row in found
            )
        ]
        return Response(
            {"codes": codes, "sentence": f"Read {codes[0]['text']}." if codes else ""}
        )


class LabelsView(APIView):
    """Labels as PDF."""

    @extend_schema(
        request=shapes.LabelsIn,
        responses={(200, "application/pdf"): OpenApiTypes.BINARY},
        operation_id="labels",
    )
    def post(self, request: Request) -> HttpResponse:
        """Labels of these bins and bits, each code read back before they are sent."""
        data = body(shapes.LabelsIn, request)
        pdf = label_pdf(
            bins=[bin_numbered(n) for n in dict.fromkeys(data.get("bins", ()))],
            bits=[bit_numbered(n) for n in dict.fromkeys(data.get("bits", ()))],
            sheet=data["sheet"],
            offset_mm=(data.get("right", 0.0), data.get("down", 0.0)),
            skip=data.get("skip", 0),
            dpi=data.get("dpi", 300),
            shop_url=settings.SHOP_URL,
        )
        return HttpResponse(pdf, content_type="application/pdf")
