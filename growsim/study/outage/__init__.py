"""What does a failed machine cost, and what is worth buying?"""
