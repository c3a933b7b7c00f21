#!/bin/sh
# A command that stands alone, its module for PDF and PNG not beside it: it says so before anything is read, and
# SVG works. usage: picture_without_module.sh BINARY RUN
set -e
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cp "$1" "$folder/ovenproof"
cd "$folder"
fail() {
    echo "picture_without_module: $1" >&2
    exit 1
}
status=0
./ovenproof trace no-such-run.csv --picture run.png >out 2>err || status=$?
[ "$status" = 4 ] || fail "status $status instead of 4"
grep -q '^ovenproof: no PDF or PNG here' err || fail "$(cat err)"
grep -q '^hint: a picture that ends in .svg works without; .*apt-get install' err || fail "$(cat err)"
[ ! -s out ] && [ ! -e run.png ] || fail "something was written"
./ovenproof trace "$2" --picture run.svg >out
grep -q '</svg>' run.svg || fail "no SVG"
: >ovenproof-picture.so # a module that is none
status=0
./ovenproof trace "$2" --picture run.png >out 2>err || status=$?
[ "$status" = 4 ] && [ ! -e run.png ] || fail "status $status with a broken module"
echo "1 passed, 0 failed"
