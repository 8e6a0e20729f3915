"""Where the engines are on which tests work: the project's samples, and the tests' own under tests/engines.

What a user sees may change without a test of something else having to follow: tests that want an engine with
known figures take `plain_six` (healthy) or `faulted_six` (faults planted), both invented.
"""

from pathlib import Path

ENGINES = Path(__file__).parent / "engines"
SAMPLES = Path(__file__).parents[1] / "sample_geometry"


def engine_folder(name: str) -> Path:
    """Folder of a test engine or of a sample, by name."""
    return ENGINES / name if (ENGINES / name).is_dir() else SAMPLES / name
