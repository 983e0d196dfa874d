#!/bin/sh
# Builds the program in the folder given, unless it is there, and runs it.
set -eu
here=$(dirname "$0")
[ -x "$1/maxflow_boost" ] || g++ -O2 -std=c++17 -o "$1/maxflow_boost" "$here/maxflow_boost.cpp"
exec "$1/maxflow_boost"
