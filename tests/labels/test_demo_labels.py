"""Labels of every bin of the demo."""

import pypdfium2
import pytest

from inventory.labels.actions import label_pdf
from inventory.labels.rules.sheets import SHEETS
from inventory.ledger.queries import bins
from tests.fixtures_demo.loaded import loaded


@pytest.mark.slow
def test_every_demo_bin_has_a_readable_label(db: None) -> None:
    """On every sheet; each symbol is read back inside `label_pdf`."""
    loaded()
    every = list(bins())
    assert len(every) >= 75
    for key in ("a4", "letter", "single"):
        pdf = label_pdf(bins=every, sheet=key, shop_url="http://192.168.178.201:8040")
        pages = -(-len(every) // SHEETS[key].per_page)
        assert len(pypdfium2.PdfDocument(pdf)) == pages, key
