"""What may be promised from what stands on the shelves today?"""
