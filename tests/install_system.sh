#!/bin/sh
# Makes sure that the browser of the tests starts, with its driver. Where root is at hand it installs
# what is missing; else it ends with 1 and says which packages to ask for.
set -eu
cd "$(dirname "$0")/.."
# Chromium, letters to draw with, and a library that the driver's own node wants.
packages="chromium fonts-dejavu-core libatomic1"

said=$(mktemp)
trap 'rm -f "$said"' EXIT
starts() {
  .venv/bin/python -m playwright --version >"$said" 2>&1 && .venv/bin/python -m tests.chromium >"$said" 2>&1
}
show() {
  echo "The browser of the tests does not start. What it says:" >&2
  tail -n 12 "$said" | sed 's/^/  /' >&2
}
ask() {
  show
  echo "Only root can install what is missing. Ask for: apt-get install $packages" >&2
  exit 1
}

if starts; then exit 0; fi
if ! command -v apt-get >/dev/null; then
  show
  echo "Install Chromium, letters (DejaVu) and libatomic with your package manager, then run this again." >&2
  exit 1
fi
if [ "$(id -u)" -eq 0 ]; then
  as_root=""
elif ! command -v sudo >/dev/null; then
  ask
elif [ -t 0 ] && [ -z "${CI:-}" ]; then
  as_root="sudo"
else
  as_root="sudo -n"
fi
[ -z "$as_root" ] || $as_root true 2>/dev/null || ask
echo "Installing what the browser of the tests needs: $packages" >&2
$as_root apt-get update -qq &&
  $as_root env DEBIAN_FRONTEND=noninteractive \
    apt-get install -y -qq --no-install-recommends $packages >"$said" 2>&1 || {
  tail -n 12 "$said" >&2
  echo "The packages could not be installed; what apt-get says stands above." >&2
  exit 1
}
if starts; then exit 0; fi
show
exit 1
