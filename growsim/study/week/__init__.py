"""What does the team do this week?"""
