"""State now and a weather record become an ensemble and its summary."""
