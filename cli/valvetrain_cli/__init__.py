"""The `valvetrain` command."""
