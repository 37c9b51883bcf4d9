"""Views of a `Diagnosis`: text for the terminal, JSON, and the reasoning as a graph. No view decides anything."""
