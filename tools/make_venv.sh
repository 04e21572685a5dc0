#!/bin/sh
# Makes the virtual environment. Debian keeps the `venv` module in a package of its own: with the right
# to install it, install it; without, say so in one line.
set -eu
target=$1
python=${PYTHON:-python3}
"$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' || {
    echo "Passagework needs Python 3.11 or newer; set PYTHON=/path/to/python3.11" >&2
    exit 1
}
[ -x "$target/bin/python" ] && "$target/bin/python" -m pip --version >/dev/null 2>&1 && exit 0
if ! "$python" -c 'import ensurepip, venv' 2>/dev/null; then
    if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
        apt-get update -qq && apt-get install -y -qq python3-venv >/dev/null
    else
        echo "Python's venv module is missing; on Debian: sudo apt-get install python3-venv" >&2
        exit 1
    fi
fi
"$python" -m venv "$target"
