"""Cases that stand beside the rules: what must come out, run by `lugwright rules test` and by pytest."""
