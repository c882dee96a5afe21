"""Rationing and feeding: pure decisions."""
