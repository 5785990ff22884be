"""What the record says: the answer of `growsim learn`."""
