"""Memory is flat in seasons: ten times as many need at most a fifth more at their peak (what the kernel of the operating
system says of the finished process). The demo farm, with its tables written."""

import json
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def program():
    """The program as the Rust tests built it."""
    metadata = subprocess.run(
        ["cargo", "metadata", "--format-version", "1", "--no-deps"], cwd=ROOT, check=True, capture_output=True
    )
    built = Path(json.loads(metadata.stdout)["target_directory"]) / "debug" / "dryspell-under-test"
    if not built.exists():
        subprocess.run(["cargo", "build", "--quiet", "-p", "outside-checks", "--bins"], cwd=ROOT, check=True)
    return built


# Runs a command and prints its peak resident memory. A process of its own: a child's peak counts from the memory of
# whoever started it, and this one is smaller than the program.
MEASURE = """
import os, sys
child = os.posix_spawn(sys.argv[1], sys.argv[1:], os.environ, file_actions=[(os.POSIX_SPAWN_OPEN, 1, os.devnull, os.O_WRONLY, 0)])
_, status, used = os.wait4(child, 0)
print(used.ru_maxrss)
sys.exit(os.waitstatus_to_exitcode(status))
"""


def peak_mb(seasons):
    """Peak resident memory of a run in MB (Linux counts in KiB, macOS in bytes)."""
    with tempfile.TemporaryDirectory() as folder:
        command = [program(), "run", "--seasons", str(seasons), "--threads", "2", "--out", Path(folder) / "out"]
        measured = subprocess.run(
            [sys.executable, "-S", "-c", MEASURE, *map(str, command)], check=True, capture_output=True, text=True
        )
        with open(Path(folder) / "out" / "seasons.csv", encoding="utf-8") as rows:
            assert sum(1 for _ in rows) > seasons, "every season has its rows"
        return int(measured.stdout) / (1024 if sys.platform.startswith("linux") else 1024 * 1024)


def test_memory_is_flat_in_seasons():
    few, many = peak_mb(1_000), peak_mb(10_000)
    print(f"peak memory: {few:.1f} MB at 1 000 seasons, {many:.1f} MB at 10 000")
    assert many <= 1.2 * few
