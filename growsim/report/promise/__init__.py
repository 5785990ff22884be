"""What may be promised: the answer of `growsim promise`."""
