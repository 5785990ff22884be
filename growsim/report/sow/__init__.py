"""What to sow, when: the answer of `growsim sow`."""
