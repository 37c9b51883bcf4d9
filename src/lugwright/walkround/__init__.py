"""The walk-round: questions in the order in which one walks, every answer saved at once."""
