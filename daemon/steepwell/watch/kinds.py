"""The kinds of notice about what is broken; here, for who tells them needs no arithmetic."""

from __future__ import annotations

LEAK = "leak"
DOWNPIPE = "downpipe-blocked"
GAUGE = "gauge-blocked"
GAUGE_TOO_HIGH = "gauge-counts-too-much"
DRIFT = "probe-drifts"
DRAW_OFF = "draw-off-guessed"
DOUBTFUL = "sensor-doubtful"

FAULTS = frozenset({LEAK, DOWNPIPE, GAUGE, GAUGE_TOO_HIGH, DRIFT, DRAW_OFF, DOUBTFUL})
