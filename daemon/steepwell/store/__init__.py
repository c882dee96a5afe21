"""Tables, journal, migrations: what the program remembers."""
