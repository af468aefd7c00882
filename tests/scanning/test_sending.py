"""What ends a scan's wait on a device, and what does not: told in Node."""

import json
import subprocess
from pathlib import Path

from inventory.config import scripts
from tests.scanning.failing import ANSWERS, problem


def came(answers):
    """What the device makes of each answer."""
    done = subprocess.run(
        [scripts.node(), str(Path(__file__).with_name("sending.js"))],
        input=json.dumps(answers),
        capture_output=True,
        text=True,
        check=True,
    )
    return json.loads(done.stdout)


def test_no_failure_ends_a_scans_wait():
    for name, said in zip(ANSWERS, came(list(ANSWERS.values())), strict=True):
        assert set(said) <= {"failure", "signedOut"}, name
        assert said["failure"], name


def test_a_rooms_refusal_ends_it():
    codes = ["ledger.scan_id_reused", "scan.long", "planning.closed", "api.shape"]
    said = came([problem(409, code) for code in codes])
    assert [each["refusal"]["code"] for each in said] == codes


TAKEN = {
    "kind": "opened",
    "tone": "taken",
    "sentence": "So it is.",
    "loud": False,
    "bench": {"state": {"verb": "pull"}},
}


def test_only_an_answer_of_the_right_shape_ends_it():
    lacking = [
        {name: value for name, value in TAKEN.items() if name != missing}
        for missing in TAKEN
    ]
    bodies = [TAKEN, *lacking, {**TAKEN, "tone": "loud"}, {**TAKEN, "bench": {}}]
    said = came([{"status": 200, "body": json.dumps(body)} for body in bodies])
    assert ["answer" in each for each in said] == [True, *[False] * 5, False, False]


def test_the_number_of_a_fault_is_said_from_body_or_header():
    plain = problem(500, "api.error", data={"fault": "0a1b2c3d"})
    headed = problem(500, "api.error") | {"headers": {"Fault": "0a1b2c3d"}}
    for said in came([plain, headed]):
        assert said["failure"] == "The server fails (500, fault 0a1b2c3d)"
