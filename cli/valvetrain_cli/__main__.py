"""`python -m valvetrain_cli`, where the command is not on the path."""

from valvetrain_cli.start import start

if __name__ == "__main__":
    start()
