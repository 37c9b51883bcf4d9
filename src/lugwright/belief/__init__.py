"""How likely: exact posteriors of causes that share signs. The mathematics needs numpy only."""
