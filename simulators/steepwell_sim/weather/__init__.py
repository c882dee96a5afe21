"""The weather of the simulated garden: read from a record or invented, hour by hour."""
