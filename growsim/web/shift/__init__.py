"""Writing a shift down on the page."""
