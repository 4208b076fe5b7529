"""Compares a built wheel with the files that git tracks: exactly these packages, nothing left out.

Run as: python tests/repo/wheel_check.py WHEEL CHECKOUT
"""

import subprocess
import sys
import zipfile
from pathlib import Path

PACKAGES = ("api", "importers", "kb", "demo_catalog")


def find_differences(wheel: Path, checkout: Path) -> list[str]:
    """Files of the checkout's packages that the wheel lacks, and files that it should not have."""
    tracked = subprocess.run(
        ["git", "ls-files", *PACKAGES], cwd=checkout, check=True, capture_output=True, text=True
    ).stdout.split("\n")
    wanted = {name for name in tracked if name}
    with zipfile.ZipFile(wheel) as archive:
        found = {name for name in archive.namelist() if ".dist-info/" not in name}
    missing = [f"missing from the wheel: {name}" for name in sorted(wanted - found)]
    return missing + [f"not tracked but in the wheel: {name}" for name in sorted(found - wanted)]


if __name__ == "__main__":
    differences = find_differences(Path(sys.argv[1]), Path(sys.argv[2]))
    print("\n".join(differences) or "The wheel holds exactly the tracked files of its packages.")
    sys.exit(1 if differences else 0)
