"""How many volunteers, on which day, in which month?"""
