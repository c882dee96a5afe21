"""Looks after the rainwater and the home-made plant feeds of a kitchen garden."""
