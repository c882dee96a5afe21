"""Outbox, mail, posted figures, the letter and its charts."""
