"""From one released schema of the store to the next."""
