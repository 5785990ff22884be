"""What does the record show of a time?"""
