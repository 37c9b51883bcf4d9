"""The case file: what a person saw, looked for and measured on one machine, read strictly and checked whole."""
