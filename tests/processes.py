"""Programs that tests start in processes of their own."""

from collections.abc import Mapping


def unmeasured(environ: Mapping[str, str]) -> dict[str, str]:
    """The same environment for what is measured elsewhere: to measure doubles its time."""
    return {k: v for k, v in environ.items() if not k.startswith("COVERAGE_")}
