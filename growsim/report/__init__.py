"""Answers: sentences, tables, figures, pages, provenance. Import nothing heavy here."""
