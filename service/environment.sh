# Shell functions that the run command and the test command share; read with ". service/environment.sh".

say() { printf '%s\n' "$*" >&2; }

# apt PACKAGE...: install Debian packages where that is allowed; fail where it is not.
apt() {
  command -v apt-get >/dev/null || return 1
  if [ "$(id -u)" = 0 ]; then as_root=env
  elif command -v sudo >/dev/null && sudo -n true 2>/dev/null; then as_root="sudo env"
  else return 1
  fi
  say "Installing: $*"
  # A package list that is missing or old makes the first try fail; then fetch it and try once more.
  $as_root DEBIAN_FRONTEND=noninteractive apt-get install -qq -y --no-install-recommends "$@" >/dev/null 2>&1 && return
  $as_root apt-get update -qq >/dev/null &&
    $as_root DEBIAN_FRONTEND=noninteractive apt-get install -qq -y --no-install-recommends "$@" >/dev/null
}

# find_python: print the first Python in PATH that is new enough.
find_python() {
  for candidate in python3 python3.14 python3.13 python3.12 python3.11; do
    if command -v "$candidate" >/dev/null &&
      "$candidate" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
      printf '%s\n' "$candidate"
      return
    fi
  done
  return 1
}

# make_environment DIR: a virtual environment in DIR, unless a working one is there.
make_environment() {
  if [ -x "$1/bin/python" ] && "$1/bin/python" -c 'import pip' 2>/dev/null; then return; fi
  if ! python=$(find_python); then
    apt python3 python3-venv && python=$(find_python) || {
      say "Python 3.11 or newer is needed. On Debian or Ubuntu: sudo apt-get install python3 python3-venv"
      exit 1
    }
  fi
  # Debian parts venv from Python; without it "python3 -m venv" fails half-way.
  if ! "$python" -c 'import ensurepip, venv' 2>/dev/null; then
    package=$("$python" -c 'import sys; print("python3.%d-venv" % sys.version_info[1])')
    { apt "$package" || apt python3-venv; } && "$python" -c 'import ensurepip, venv' 2>/dev/null || {
      say "This Python cannot make virtual environments yet. Please run: sudo apt-get install $package"
      exit 1
    }
  fi
  rm -rf "$1"
  "$python" -m venv "$1"
}

# digest PATH...: one sum over the contents of all files under the paths.
digest() {
  find "$@" -type f ! -path '*/__pycache__/*' ! -path 'service/lampwright/site/*' |
    LC_ALL=C sort | tr '\n' '\0' | xargs -0 sha256sum | sha256sum | cut -d' ' -f1
}

# unchanged STAMP SUM: true where the stamp file holds this sum.
unchanged() { [ -f "$1" ] && [ "$(cat "$1")" = "$2" ]; }

# install_here DIR EXTRAS: install this checkout, editable, with extras, when pyproject.toml changed.
install_here() {
  sum=$(digest pyproject.toml service/environment.sh)-$2
  if unchanged "$1/installed" "$sum"; then return; fi
  say "Installing Python packages into $1 (the first time takes a minute or two)..."
  "$1/bin/python" -m pip install --quiet --disable-pip-version-check --no-input -e ".[$2]"
  printf '%s\n' "$sum" >"$1/installed"
}

# build_site DIR: build the documentation when it, the program or the examples changed.
build_site() {
  sum=$(digest site_docs examples openapi service/lampwright pyproject.toml)
  if unchanged service/lampwright/site/.sources "$sum"; then return; fi
  say "Building the documentation..."
  "$1/bin/python" site_docs/hooks/build.py >"$1/site.log" 2>&1 || {
    cat "$1/site.log" >&2
    exit 1
  }
  printf '%s\n' "$sum" >service/lampwright/site/.sources
}
