#!/usr/bin/env bash
# Every check of the program, from a clone to a verdict: formatting, lints, documentation, the Rust tests with the
# checks against the outside world, and the Python checks. Stops at the first that fails.
#
# Needs the Rust toolchain with rustfmt and clippy, git, and Python 3.11 or newer with its `venv` module. The Python
# packages are pinned in tests/requirements.txt and go to tests/.venv, which is made anew when that file changes.
set -euo pipefail
cd "$(dirname "${BASH_SOURCE[0]}")/.."

say() { printf '\n== %s\n' "$*"; }
stop() { printf 'all-checks: %s\n' "$*" >&2; exit 1; }

python=${PYTHON:-python3}
venv=tests/.venv
wanted=$(cat tests/requirements.txt; "$python" --version 2>&1) || stop "no '$python': install Python 3.11 or newer"
"$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' || stop "$("$python" --version) is too old: 3.11 or newer"
for part in fmt clippy; do
    cargo "$part" --version >/dev/null 2>&1 || stop "no 'cargo $part': rustup component add rustfmt clippy"
done

make_venv() { rm -rf "$venv" && "$python" -m venv "$venv"; }

if [ "$(cat "$venv/made-from" 2>/dev/null || true)" != "$wanted" ]; then
    say "Python packages"
    if ! make_venv; then
        # Debian and Ubuntu leave ensurepip out of Python itself.
        if [ -n "${CI:-}" ] && [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
            apt-get update -q && apt-get install -qy python3-venv
            make_venv || stop "'$python -m venv' still fails after installing python3-venv"
        else
            stop "'$python -m venv' fails; on Debian or Ubuntu: apt-get install python3-venv"
        fi
    fi
    "$venv/bin/python" -m pip install --quiet --disable-pip-version-check -r tests/requirements.txt
    printf '%s\n' "$wanted" >"$venv/made-from"
fi
DRYSPELL_PYTHON=$PWD/$venv/bin/python
export DRYSPELL_PYTHON
# A snapshot that differs fails; none is written.
export INSTA_UPDATE=no

began=$SECONDS
say "cargo fmt" && cargo fmt --all -- --check
# The lint against unwrap() does not see that the functions beside a test are part of it.
say "cargo clippy"
cargo clippy --workspace --quiet -- -D warnings
cargo clippy --workspace --all-targets --quiet -- -D warnings -A clippy::unwrap_used
say "cargo doc" && RUSTDOCFLAGS="-D warnings" cargo doc --workspace --no-deps --quiet
say "cargo test" && cargo test --workspace
say "pytest" && "$DRYSPELL_PYTHON" -m pytest -q tests

say "all checks passed in $((SECONDS - began)) s: formatting, lints, documentation, Rust tests, Python checks"
