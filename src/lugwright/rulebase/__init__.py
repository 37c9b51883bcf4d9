"""The rule base: what a trainer writes in YAML, loaded strictly, checked whole, then frozen."""
