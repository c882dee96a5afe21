"""The true garden: roofs, butts, vessels and beds, hour by hour."""
