"""Tables, journal, migrations."""
