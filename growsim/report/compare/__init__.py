"""What a change brings: the answer of `growsim compare`."""
