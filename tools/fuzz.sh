#!/usr/bin/env bash
# Fuzzes every Fuzz target of the module for a short while: FUZZTIME seconds
# each (default 8), and never more than 20 seconds for the targets of one
# package together. With FUZZRUNS=N it is N inputs each instead, however long
# they take: a worker that is late at the end of its seconds is no failure of
# the code, and go test calls it one. FUZZONLY, an extended regular expression of names without
# Fuzz, chooses among them. Run from the root of the module.
set -euo pipefail

each=${FUZZTIME:-8}
found=0
while read -r dir; do
	mapfile -t names < <(grep -hoE "^func Fuzz(${FUZZONLY:-[A-Za-z0-9_]*})\(" "$dir"/*_test.go | sed 's/^func //; s/($//')
	((${#names[@]} > 0)) || continue
	seconds=$((20 / ${#names[@]}))
	((seconds <= each)) || seconds=$each
	((seconds >= 1)) || seconds=1
	budget=${FUZZRUNS:+${FUZZRUNS}x}
	budget=${budget:-${seconds}s}
	for name in "${names[@]}"; do
		echo "fuzz $dir $name $budget"
		go test -run='^$' -fuzz="^$name\$" -fuzztime="$budget" -fuzzminimizetime=1x -parallel=2 "$dir"
		found=$((found + 1))
	done
done < <(grep -rlE '^func Fuzz' --include='*_test.go' --exclude-dir=testdata . | xargs -r -n1 dirname | sort -u)

if ((found == 0)); then
	echo "fuzz: no target found" >&2
	exit 1
fi
echo "fuzz: $found targets"
