"""A second, deliberately plain model of the room, written from growsim/room/MODEL.md alone."""
