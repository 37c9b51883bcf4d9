"""The page a manager can audit: one list of sections, shown as HTML, Markdown or PDF."""
