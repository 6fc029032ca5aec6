"""How a web server begins, in a process of its own."""

import json
import os
import subprocess
import sys
from pathlib import Path

TOP = Path(__file__).resolve().parents[2]
BEGIN = """
import gc, json, sys
import jobsite.wsgi
print(json.dumps([gc.get_freeze_count(), list(gc.get_threshold()), "remedials.desk.views" in sys.modules]))
"""


def test_it_has_loaded_every_page_and_searches_none_of_that_for_garbage() -> None:
    settings = {"DJANGO_SETTINGS_MODULE": "tests.settings"}
    ran = subprocess.run(
        [sys.executable, "-c", BEGIN], cwd=TOP, env=os.environ | settings, capture_output=True, text=True, check=False
    )
    assert ran.returncode == 0, ran.stderr
    frozen, thresholds, loaded = json.loads(ran.stdout.splitlines()[-1])
    assert loaded
    assert frozen > 100_000
    assert thresholds == [50_000, 20, 20]
