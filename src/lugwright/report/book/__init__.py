"""The book of a rule base: everything it holds as one Markdown page, for reading and for arguing about."""
