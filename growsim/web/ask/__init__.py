"""Asking a question on the page."""
