"""The labels form as a browser sends it: its own checks must let the usual sizes pass."""

import pytest

from tests.browser import open_page

pytestmark = [
    pytest.mark.browser,
    pytest.mark.slow,
    pytest.mark.django_db(transaction=True),
]


def test_a_browser_sends_the_form_as_it_stands(live_server, owner, rivets):
    with open_page(live_server, owner) as page:
        page.goto(f"{live_server.url}/labels/")
        page.check("input[name=bin]")
        with page.expect_download(timeout=15000) as made:
            page.get_by_role("button", name="Make the PDF").click()
        assert made.value.suggested_filename == "labels.pdf"
