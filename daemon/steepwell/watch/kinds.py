"""The kinds of notice; here, for who tells them needs no arithmetic."""

from __future__ import annotations

LEAK = "leak"
DOWNPIPE = "downpipe-blocked"
GAUGE = "gauge-blocked"
GAUGE_TOO_HIGH = "gauge-counts-too-much"
DRIFT = "probe-drifts"
DRAW_OFF = "draw-off-guessed"
DOUBTFUL = "sensor-doubtful"

FROST = "frost-tonight"
OVERFLOW = "overflow-ahead"
BUTTS_FULL = "butts-full"
BATTERY = "battery-low"
NEXT_RUNG = "next-rung"
STEEP_ENDED = "steep-ended"
TOP_UP = "top-up-due"
WARM_WATER = "warm-water"
CHORE = "chore"

MAIL_FAILING = "mail-failing"
PUSH_FAILING = "push-failing"
BACKUP_OLD = "backup-old"
STORE_FULL = "store-full"
STORE_RESTORED = "store-restored"

FAULTS = frozenset({LEAK, DOWNPIPE, GAUGE, GAUGE_TOO_HIGH, DRIFT, DRAW_OFF, DOUBTFUL})
# What is looked for once a day, beside what is broken.
SEASONAL = frozenset(
    {OVERFLOW, BUTTS_FULL, BATTERY, NEXT_RUNG, STEEP_ENDED, TOP_UP, WARM_WATER, CHORE}
)
MACHINE = frozenset({MAIL_FAILING, PUSH_FAILING, BACKUP_OLD, STORE_RESTORED})
