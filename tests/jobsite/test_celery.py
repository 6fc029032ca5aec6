"""Every process sends its tasks to our broker."""

import subprocess
import sys
from pathlib import Path

TOP = Path(__file__).resolve().parent.parent.parent
ASK = """
from jobsite.wsgi import application
from inspections.intake.tasks import read
from django.conf import settings
print(read.app.main, read.app.conf.broker_url == (settings.REDIS_URL or "filesystem://localhost//"))
"""


def test_a_task_sent_by_the_web_server_goes_to_our_broker() -> None:
    said = subprocess.run([sys.executable, "-c", ASK], cwd=TOP, capture_output=True, text=True, check=True)
    assert said.stdout.split() == ["jobsite", "True"]
