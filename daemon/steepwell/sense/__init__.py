"""From an MQTT message to a stored reading."""
