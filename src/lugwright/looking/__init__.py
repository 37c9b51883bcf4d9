"""Looking ahead: what to look at next, what other findings would change, how steady the first place is."""
