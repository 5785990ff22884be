"""Cross-checks of a room: what cannot be, and what is surely not meant."""
