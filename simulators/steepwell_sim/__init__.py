"""A simulated garden: weather, water, plants, vessels, devices and a gardener."""
