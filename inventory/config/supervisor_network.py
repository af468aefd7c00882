"""Addresses, ports, and whether the first page answers. Standard library only."""

import fcntl
import http.client
import ipaddress
import socket
import struct

SIOCGIFADDR = 0x8915  # Linux: the address of one network interface
EVERY_ADDRESS = {"0.0.0.0": "127.0.0.1", "::": "::1"}


def is_loopback(host: str) -> bool:
    """Whether a server on `host` is reached from this machine only."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def near_address(host: str) -> str:
    """Where this machine itself reaches a server that listens on `host`."""
    return EVERY_ADDRESS.get(host, host)


def url(host: str, port: int) -> str:
    """The address as a person types it."""
    shown = f"[{host}]" if ":" in host else host
    return f"http://{shown}:{port}"


def port_is_free(host: str, port: int) -> bool:
    """Whether nothing listens there yet."""
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        # As the server does, so that a port just left by one counts as free.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((host, port))
        except OSError:
            return False
    return True


def lan_addresses() -> list[str]:
    """This machine's addresses, the one that leads out first."""
    found = [
        _leading_out(),
        *(_of_interface(name) for _, name in socket.if_nameindex()),
    ]
    real = [each for each in found if each and not is_loopback(each)]
    return list(dict.fromkeys(real))


def lan_names() -> list[str]:
    """What other machines may call this one."""
    name = socket.gethostname()
    return [name, f"{name}.local"]


def answers(host: str, port: int) -> bool:
    """Whether the first page is served; a redirection to the sign-in counts."""
    link = http.client.HTTPConnection(near_address(host), port, timeout=5)
    try:
        link.request("GET", "/", headers={"Host": "localhost"})
        return link.getresponse().status < 500
    except (OSError, http.client.HTTPException):
        return False
    finally:
        link.close()


def _leading_out() -> str | None:
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            # Sends nothing: it only asks which way this documentation address lies.
            probe.connect(("192.0.2.1", 9))
        except OSError:
            return None
        return str(probe.getsockname()[0])


def _of_interface(name: str) -> str | None:
    request = struct.pack("256s", name.encode()[:15])
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            answer = fcntl.ioctl(probe.fileno(), SIOCGIFADDR, request)
        except OSError:
            return None
    return socket.inet_ntoa(answer[20:24])
