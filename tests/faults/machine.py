"""What happens to a machine in a shed, beside kills and full disks: network, parts, files.

Run ``python -m tests.faults.machine [--quick]``.
"""

from __future__ import annotations

import argparse
import logging
import sys

from tests.faults import network, parts, unit
from tests.faults.faults_table import print_faults


def main() -> int:
    """Print the table; return 1 if a row came out otherwise."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="each fault for a shorter time")
    parser.add_argument("--only", metavar="WORDS", default="", help="rows with these words")
    options = parser.parse_args()
    logging.disable(logging.ERROR)
    rows = [
        *network.rows(quick=options.quick),
        *parts.rows(quick=options.quick),
        *unit.rows(quick=options.quick),
    ]
    return 1 if print_faults([row for row in rows if options.only in row.what]) else 0


if __name__ == "__main__":
    sys.exit(main())
