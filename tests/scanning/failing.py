"""What may come back for a scan and is no answer to it."""

import json


def problem(status, code, **more):
    """An answer as the shop's own door gives one."""
    body = {"status": status, "code": code, "detail": "So it is.", **more}
    return {
        "status": status,
        "body": json.dumps(body),
        "content_type": "application/problem+json",
    }


PAGE = "<!doctype html><title>Sign in to the hangar's network</title>"
ANSWERS = {
    "error": problem(500, "api.error"),
    "error with its number": {
        **problem(500, "api.error"),
        "headers": {"Fault": "3f9a01bc"},
    },
    "error of an older kind": {"status": 500, "body": "Server Error (500)"},
    "gateway": {"status": 502, "body": PAGE, "content_type": "text/html"},
    "storage": problem(507, "api.storage"),
    "page": {"status": 200, "body": PAGE, "content_type": "text/html"},
    "other words": {"status": 200, "body": '{"ok": true}'},
    "nothing": {"status": 204},
    "half an answer": {"status": 200, "body": '{"kind": "opened", "tone": "ta'},
    "signed out": problem(401, "api.not_authenticated"),
    "not allowed": problem(403, "api.permission_denied"),
    "another address": problem(404, "api.not_found"),
    "a page that is not there": {"status": 404, "body": PAGE},
    "refused by no room": {"status": 400, "body": '{"detail": "Bad request"}'},
    "another program's words": {
        **problem(400, "scan.long"),
        "content_type": "application/json",
    },
    "garbled on its way": problem(400, "api.parse_error"),
    "too slow": {"status": 408, "body": ""},
    "too large": {"status": 413, "body": PAGE},
    "too many": problem(429, "api.throttled"),
}
