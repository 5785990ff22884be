"""What does a change bring?"""
