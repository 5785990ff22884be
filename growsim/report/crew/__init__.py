"""How many people, when: the answer of `growsim crew`."""
