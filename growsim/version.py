"""The version, below all floors: each of them writes it into files."""

VERSION = "0.1.0"
