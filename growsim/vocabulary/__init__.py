"""Closed vocabularies: one table each, a row for each word, and in the row everything that is true of it."""
