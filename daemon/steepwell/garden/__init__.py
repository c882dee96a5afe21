"""What the gardener declared: models, units at the edge, reference tables."""
