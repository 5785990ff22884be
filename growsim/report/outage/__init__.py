"""What a failed machine costs: the answer of `growsim outage`, its wall chart and its sheets."""
