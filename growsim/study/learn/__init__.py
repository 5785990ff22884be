"""What does the room's own record say?"""
