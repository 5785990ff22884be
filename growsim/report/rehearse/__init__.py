"""What the room gives in a year: the answer of `growsim rehearse`, and the story of one year."""
