"""The short room file: what is alike said once, usual values named, written out in full before it is checked."""
