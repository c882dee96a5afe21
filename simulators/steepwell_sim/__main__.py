from __future__ import annotations

import sys

from steepwell_sim.cli import main

sys.exit(main())
