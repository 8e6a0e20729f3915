"""The valvetrain toolkit: from what a shop can measure to what to do at every valve."""

__all__: list[str] = []
