"""What a funder may be shown: the answer of `growsim funder`."""
