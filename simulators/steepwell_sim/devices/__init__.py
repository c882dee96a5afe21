"""Simulated hardware: it measures the true garden and speaks MQTT."""
