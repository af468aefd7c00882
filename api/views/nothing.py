"""What no endpoint answers."""

from django.http import Http404
from drf_spectacular.utils import extend_schema
from rest_framework.permissions import AllowAny
from rest_framework.request import Request
from rest_framework.views import APIView


@extend_schema(exclude=True)
class NothingView(APIView):
    """An address of the API that means nothing: a problem, not a page."""

    permission_classes = [AllowAny]

    def initial(self, request: Request, *args: object, **kwargs: object) -> None:
        """Whatever the method."""
        raise Http404
