"""Starts an installed program away from the checkout and asks it for a page, a static file and a verdict.

Run as: python tests/repo/wheel_run.py PROGRAM (from an empty folder)
"""

import json
import os
import re
import subprocess
import sys
import tempfile
import urllib.request


def read(url: str) -> tuple[int, str]:
    """Status and text of an address of this machine."""
    with urllib.request.urlopen(url, timeout=10) as answer:
        return answer.status, answer.read().decode("utf-8", "replace")


def run(program: str, folder: str) -> None:
    """Serve the demo on a free port and look at it."""
    environment = {**os.environ, "XDG_DATA_HOME": folder, "PYTHONUNBUFFERED": "1"}
    command = [program, "demo", "--port", "0", "--no-open"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as server:
        try:
            url = next(found[0] for line in server.stdout or () if (found := re.search(r"http://\S+/", line)))
            status, page = read(url)
            assert status == 200, status
            sheet = re.search(r'href="/?(static/[^"]+\.css[^"]*)"', page)
            assert sheet, "the page names no style sheet"
            assert read(url + sheet[1])[0] == 200
            verdict = json.loads(read(url + "api/fit?engine=plover-50-s&asked=669-18-30")[1])
            assert verdict["outcome"] == "fits", verdict["outcome"]
            print(f"Installed program answers: {verdict['engine']} {verdict['outcome']}.")
        finally:
            server.terminate()
            server.wait(15)


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as temporary:
        run(sys.argv[1], temporary)
