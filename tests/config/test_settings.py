"""The settings: what they say before anything else is loaded."""

import os
import subprocess
import sys

import pytest
from django.conf import settings

PRODUCT = """
import os, sys
import inventory.config.settings
import numpy as np
square = np.ones((600, 600))
square @ square
print(len(os.listdir("/proc/self/task")))
"""


@pytest.mark.slow
def test_the_forecasts_products_start_no_threads():
    plain = {k: v for k, v in os.environ.items() if not k.startswith("OPENBLAS_")}
    line = [sys.executable, "-c", PRODUCT]
    done = subprocess.run(
        line, cwd=settings.ROOT, env=plain, capture_output=True, text=True, check=True
    )
    assert done.stdout.split() == ["1"]
