"""The closed lists of words, one table each: a row holds all that is true of the thing it names.

Everything else (choices of a room file, labels, sentences, words a record may use) is derived from its row.
"""
