"""Labels of every bin of the demo."""

from datetime import datetime

import pypdfium2
import pytest

from inventory.labels.actions import label_pdf
from inventory.labels.rules.sheets import SHEETS
from inventory.ledger.queries import bins
from inventory.management.commands.load_demo import FIXTURES
from inventory.ordering.actions import opening
from inventory.people.models import User


@pytest.mark.unmeasured
@pytest.mark.slow
def test_every_demo_bin_has_a_readable_label(owner: User, now: datetime) -> None:
    """On every sheet; each symbol is read back inside `label_pdf`."""
    stock = opening.preview(
        name="stock.csv", data=(FIXTURES / "stock.csv").read_bytes()
    )
    opening.apply(found=stock, by=owner, now=now)
    every = list(bins())
    assert len(every) >= 75
    for key in ("a4", "letter", "single"):
        pdf = label_pdf(bins=every, sheet=key, shop_url="http://192.168.178.201:8040")
        pages = -(-len(every) // SHEETS[key].per_page)
        assert len(pypdfium2.PdfDocument(pdf)) == pages, key
