"""Drives the real daemon through a weather record with a simulated garden."""
