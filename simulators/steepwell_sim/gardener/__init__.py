"""A simulated gardener: what he does in the evening, and what he says of it."""
