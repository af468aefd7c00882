"""What a body of JSON may be."""

from collections.abc import Mapping
from typing import IO, Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import JSONParser


class PlainJSON(JSONParser):
    """JSON that is not nested beyond what any program means."""

    def parse(
        self,
        stream: IO[Any],
        media_type: str | None = None,
        parser_context: Mapping[str, Any] | None = None,
    ) -> Any:
        """Errors: a body that is no JSON, or nested too deep to be read."""
        try:
            return super().parse(stream, media_type, parser_context)
        except RecursionError as error:
            raise ParseError("The body is nested too deep: send plain JSON.") from error
