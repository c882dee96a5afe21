"""The page for the phone: what to do now, and the journal by two taps."""
