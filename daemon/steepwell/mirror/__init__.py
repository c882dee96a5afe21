"""Sends a copy of readings, days and outlooks to a time series database; loaded by the worker."""
