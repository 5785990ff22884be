"""A second, deliberately plain model of the room, written from the text of "The model, exactly" alone."""
