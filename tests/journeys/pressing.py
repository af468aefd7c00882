"""What a person does on a page: fill a form by its labels, press, unfold, read."""

from playwright.sync_api import expect


def card(page, button):
    """The form that a button sends."""
    return page.locator("form", has=page.get_by_role("button", name=button, exact=True))


def send(page, button, **fields):
    """Fill a form by its labels and press its button."""
    form = card(page, button).first
    for label, value in fields.items():
        field = form.get_by_label(label.replace("_", " ")).first
        if field.evaluate("each => each.tagName") == "SELECT":
            field.select_option(label=value)
        else:
            field.fill(value)
    form.get_by_role("button", name=button, exact=True).click()


def opened(page, summary):
    """Open what is folded away."""
    page.locator("summary", has_text=summary).first.click()


def says(page, words):
    """What the page says was done."""
    expect(page.locator(".band")).to_contain_text(words)
