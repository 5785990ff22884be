"""The rooms of a folder."""
