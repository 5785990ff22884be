"""What the team does this week: the sheets of `growsim sheet`."""
