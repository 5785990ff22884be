"""growsim: a rehearsal room for a small indoor hydroponic grow room.

Public names are loaded on first use, so that `import growsim` and `growsim --help` stay quick.
"""

__version__ = "0.1.0"
