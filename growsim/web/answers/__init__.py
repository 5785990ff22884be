"""Answers on the page."""
