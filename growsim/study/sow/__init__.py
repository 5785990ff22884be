"""What shall be sown, when?"""
