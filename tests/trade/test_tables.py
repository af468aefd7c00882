"""Tables: every row says where it comes from and how sure it is."""

import pytest

from inventory.trade import tables


@pytest.mark.parametrize("name", tables.names())
def test_every_row_has_a_source_and_a_mark(name):
    assert tables.rows(name)
    for row in tables.rows(name):
        assert row["source"]
        assert row["certainty"] in tables.MARKS
        assert None not in row
        assert None not in row.values()
