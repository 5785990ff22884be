"""What can hurt whoever works in the room. What is said of each stands in growsim.report.cautions."""

from __future__ import annotations

from typing import Literal

Danger = Literal["water and power", "lifting", "chemicals", "glare", "hot room", "carbon dioxide", "food"]
