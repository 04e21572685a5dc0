#!/bin/sh
# The browser tests need a Chromium. One that is there is used; else the browser tool's own download is
# tried, then the system's package. Without any the browser tests skip and say so.
set -eu
bin=$1
for name in chromium chromium-browser google-chrome; do
    command -v "$name" >/dev/null && exit 0
done
if timeout 120 "$bin/playwright" install chromium >/dev/null 2>&1; then
    exit 0
fi
if [ "$(id -u)" = 0 ] && command -v apt-get >/dev/null; then
    apt-get update -qq && apt-get install -y -qq --no-install-recommends chromium >/dev/null && exit 0
fi
echo "no Chromium found: the browser tests will be skipped (install the package 'chromium')" >&2
