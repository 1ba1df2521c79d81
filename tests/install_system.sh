#!/bin/sh
# Installs what the tests need from the system's package manager: Chromium (page tests) and
# poppler (reads the PDFs back as pictures). Does nothing where both are there.
set -eu
find_browser() { command -v chromium || command -v chromium-browser || command -v google-chrome; }
if find_browser >/dev/null && command -v pdftoppm >/dev/null; then exit 0; fi
if ! command -v apt-get >/dev/null; then
  echo "Please install Chromium and poppler-utils with your package manager, then run this again." >&2
  exit 1
fi
SUDO=""
if [ "$(id -u)" -ne 0 ]; then SUDO="sudo"; fi
export DEBIAN_FRONTEND=noninteractive
$SUDO apt-get update -qq
$SUDO apt-get install -y -qq --no-install-recommends chromium poppler-utils fonts-dejavu-core
find_browser >/dev/null
