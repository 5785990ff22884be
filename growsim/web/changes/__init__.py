"""Changes to try out, on the page."""
