"""What benches sent: each scan as it came, under its own number, on either engine."""

import uuid

import pytest

from inventory.ledger.rules import Invariant
from inventory.scanning.actions import Sent, bench_called, prove, scan
from inventory.scanning.models import Scan
from inventory.scanning.queries.arrived import device_scans
from tests.ledger.test_checking import DEVICE, planted, worked  # noqa: F401 - a fixture

pytestmark = [pytest.mark.django_db, pytest.mark.slow]
FAULTS = {
    "a scan says something else": (
        ("UPDATE inventory_scan SET raw = '8' WHERE raw = '7'",),
        "scan",
        Invariant.ARRIVED,
    ),
    "a scan claims another's act": (
        (
            (
                "UPDATE inventory_scan SET act_id = (SELECT min(id) FROM inventory_act) "
                "WHERE act_id IS NOT NULL"
            ),
        ),
        "scan",
        Invariant.ONCE,
    ),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_planted_fault_is_seen(worked, now, fault):  # noqa: F811
    statements, table, invariant = FAULTS[fault]
    with planted(*statements, table=table):
        assert invariant in {flaw.invariant for flaw in prove(folder=worked, now=now)}


def test_a_scan_without_its_number_leaves_the_settings_open(worked, owner, now, client):  # noqa: F811
    """A device that names itself and does not number its scans."""
    bench = bench_called(key="bench 2", person=owner, now=now)
    other = str(uuid.UUID(int=8))
    scan(bench=bench, sent=Sent(uuid.uuid4(), "7", device=other), by=owner, now=now)
    client.force_login(owner)
    assert client.get("/settings/").status_code == 200
    counts = {row.device: (row.came, row.missing) for row in device_scans()}
    assert counts == {DEVICE: (4, 0), other: (0, 0)}


def test_of_two_scans_under_one_number_the_first_keeps_it(worked, owner, now):  # noqa: F811
    bench = bench_called(key="bench 2", person=owner, now=now)
    sent = Sent(uuid.uuid4(), "7", device=DEVICE, seq=4)
    scan(bench=bench, sent=sent, by=owner, now=now)
    assert Scan.objects.get(pk=sent.scan_id).seq is None
    assert Scan.objects.filter(device=DEVICE, seq=4).count() == 1
    assert prove(folder=worked, now=now) == []
