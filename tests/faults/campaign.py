"""All that is broken on purpose: gathers the campaigns, each of which prints its table."""

from __future__ import annotations

import argparse
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]
# Each is a module that prints its table, takes --quick, and ends with 1 where a mark is missed.
CAMPAIGNS = ("garbage", "detection", "mirror", "kills", "machine", "delivery", "soak")


def main() -> int:
    """Run what is asked for, all of it unless some is named."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("campaigns", nargs="*", metavar="CAMPAIGN", help=", ".join(CAMPAIGNS))
    parser.add_argument("--quick", action="store_true", help="a taste of each")
    options = parser.parse_args()
    unknown = set(options.campaigns) - set(CAMPAIGNS)
    if unknown:
        parser.error(f"no campaign {', '.join(sorted(unknown))}; there are {', '.join(CAMPAIGNS)}")
    missed = 0
    for name in options.campaigns or CAMPAIGNS:
        print(f"## {name}\n", flush=True)  # noqa: T201 - the report
        command = [sys.executable, "-m", f"tests.faults.{name}"]
        done = subprocess.run([*command, *(["--quick"] * options.quick)], check=False, cwd=ROOT)
        missed += done.returncode != 0
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
