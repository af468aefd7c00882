"""What a label's QR holds: an address that outlives the label, or the bare code."""

from ipaddress import ip_address
from urllib.parse import urlsplit


def lasts(shop_url: str) -> bool:
    """Whether a shop's address is likely still its own in years.

    A name is; this machine's own name is nobody else's, and a number is lent by a router.
    """
    try:
        host = (urlsplit(shop_url).hostname or "").rstrip(".")
    except ValueError:
        return False
    if not host or host == "localhost" or host.endswith(".localhost"):
        return False
    try:
        ip_address(host)
    except ValueError:
        return True
    return False


def bin_address(shop_url: str, code: str) -> str:
    """What a label's QR holds: all capitals, which packs tighter.

    The bench reads the code out of either, whatever the shop's address is by then.
    """
    return f"{shop_url.rstrip('/')}/S/{code}".upper() if lasts(shop_url) else code
